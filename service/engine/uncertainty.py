"""What is not known exactly of an engine and of the model, and by how much.

Each input stands here once, with one standard deviation, where that size comes from, and
the engine that results when the input is moved by it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from service.engine.cams import YARDSTICK_CHECKING_HEIGHT, LobeShape, lobe_shape
from service.engine.model import Assumptions, Duct, EngineSpec, FlowElement, ValveTrain

BOUNDS_VERSION = "bounds-2"
"""Changes with every change of a size or a rule below; cached results carry it."""

BOUND_WIDTH = 1.96
"""Standard deviations on either side: about 95 % where errors are normal. [-]"""

MODEL_ERROR = 0.08
"""Standard deviation of what the model itself misses, as a share of torque: the mean square
of predicted over rated power of 158 production engines, less the spread of their own mean
effective pressures, which nobody could predict from size and speed. That gives 0.076
(`tests/engine/test_population.py` works it out). [-]"""

MODEL_ERROR_SOURCE = (
    "misses on 158 production engines of two open data sets, less the spread among the engines "
    "themselves; no measured run of this family has corrected it"
)

EFFECT_ERROR = 0.3
"""Standard deviation of what the model misses of the effect of a change, as a share of that
effect. [-]"""

EFFECT_ERROR_SOURCE = (
    "documented assumption, no source: about twice the miss on the one effect that the trade "
    "knows, the share of a purpose-made manifold's gain that an opened throat recovers; no pair "
    "of kits has been measured one after the other"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """One input that is not known exactly.

    Attributes
    ----------
    name : str
        In words of the trade, with underscores.
    size : str
        One standard deviation, for people.
    source : str
        Where the size comes from.
    moved : callable
        Returns the engine with this input one standard deviation higher.
    leaves_cycle : bool
        Whether the gas does not notice: the cycle need not be simulated again.
    """

    name: str
    size: str
    source: str
    moved: Callable[[EngineSpec], EngineSpec]
    leaves_cycle: bool = False


PORT_FLOW, PATH_DISCHARGE = 0.03, 0.05
FRICTION, HEAT_TRANSFER, BURN_DURATION = 0.15, 0.20, 0.15
CLEARANCE_VOLUME = 0.02
CHECKING_HEIGHT = 0.025e-3
"""[m]"""
USUAL_SEAT_HEIGHT = 0.15e-3
"""Where a lobe is read to move its checking height from. [m]"""


def _multiplied(assumptions: Assumptions, name: str, factor: float) -> Assumptions:
    return replace(assumptions, **{name: getattr(assumptions, name) * factor})


def _assuming(name: str, deviation: float) -> Callable[[EngineSpec], EngineSpec]:
    """Move one of the engine's assumptions."""

    def moved(spec: EngineSpec) -> EngineSpec:
        return replace(spec, assumptions=_multiplied(spec.assumptions, name, 1.0 + deviation))

    return moved


def _wider(elements: tuple[FlowElement, ...]) -> tuple[FlowElement, ...]:
    factor = 1.0 + PATH_DISCHARGE
    return tuple(
        replace(element, effective_area=element.effective_area * factor) for element in elements
    )


def _wider_end(duct: Duct) -> Duct:
    return replace(
        duct, far_end_effective_area=duct.far_end_effective_area * (1.0 + PATH_DISCHARGE)
    )


def _wider_intake(spec: EngineSpec) -> EngineSpec:
    return replace(
        spec,
        above_plenum=_wider(spec.above_plenum),
        below_plenum=_wider(spec.below_plenum),
        runner=_wider_end(spec.runner),
    )


def _wider_exhaust(spec: EngineSpec) -> EngineSpec:
    return replace(spec, system=_wider(spec.system), primary=_wider_end(spec.primary))


def _checked_higher(train: ValveTrain) -> ValveTrain:
    """Return the train whose seat duration was taken a little higher on the lobe."""
    lobe = train.lobe
    higher = lobe_shape(
        seat_duration=_duration(lobe, USUAL_SEAT_HEIGHT),
        seat_checking_height=USUAL_SEAT_HEIGHT + CHECKING_HEIGHT,
        duration_at_1_27_mm=_duration(lobe, YARDSTICK_CHECKING_HEIGHT),
        lobe_lift=lobe.lift,
    )
    return replace(train, lobe=higher)


def _duration(lobe: LobeShape, height: float) -> float:
    """Return the crank angle above a tappet lift: the lobe's form solved for it, in deg."""
    share = 1.0 - np.sqrt(height / lobe.lift)
    return float(2.0 * lobe.half_span * share ** (1.0 / lobe.exponent))


def _checked_both_higher(spec: EngineSpec) -> EngineSpec:
    return replace(spec, intake=_checked_higher(spec.intake), exhaust=_checked_higher(spec.exhaust))


def _less_clearance(spec: EngineSpec) -> EngineSpec:
    ratio = 1.0 + (spec.compression_ratio - 1.0) / (1.0 - CLEARANCE_VOLUME)
    return replace(spec, compression_ratio=ratio)


UNCERTAINTIES = (
    Uncertainty(
        name="port_bench_flow",
        size=f"{PORT_FLOW:.0%} of the flow of both ports",
        source="repeatability between flow benches; common practice, no source",
        moved=_assuming("flow_multiplier", PORT_FLOW),
    ),
    Uncertainty(
        name="intake_discharge",
        size=f"{PATH_DISCHARGE:.0%} of every effective area ahead of the ports",
        source=(
            "half the range of 0.85 to 0.95 of wide-open throttles; from memory, and taken for "
            "the whole path"
        ),
        moved=_wider_intake,
    ),
    Uncertainty(
        name="exhaust_discharge",
        size=f"{PATH_DISCHARGE:.0%} of every effective area after the ports",
        source="as for the intake (documented assumption)",
        moved=_wider_exhaust,
    ),
    Uncertainty(
        name="friction",
        size=f"{FRICTION:.0%} of rubbing and auxiliaries",
        source="scatter of motored friction about a correlation; from memory",
        moved=_assuming("friction_multiplier", FRICTION),
        leaves_cycle=True,
    ),
    Uncertainty(
        name="heat_transfer",
        size=f"{HEAT_TRANSFER:.0%} of the coefficient at the cylinder's walls",
        source="scatter between heat-transfer correlations; from memory",
        moved=_assuming("heat_transfer_multiplier", HEAT_TRANSFER),
    ),
    Uncertainty(
        name="burn_duration",
        size=f"{BURN_DURATION:.0%} of the angle from 10 to 90 % burned",
        source="spread of 10-90 % burn angles; from memory",
        moved=_assuming("burn_duration", BURN_DURATION),
    ),
    Uncertainty(
        name="cam_checking_height",
        size=f"{1e3 * CHECKING_HEIGHT:.3f} mm of tappet lift at which the seat duration is taken",
        source=(
            "half the distance between the two heights that grinders use, .006 and .008 in, since "
            "cards do not always say which; a trade magazine on cam durations"
        ),
        moved=_checked_both_higher,
    ),
    Uncertainty(
        name="compression",
        size=f"{CLEARANCE_VOLUME:.0%} of the clearance volume",
        source="chambers, gasket and deck as measured in a shop; common practice, no source",
        moved=_less_clearance,
    ),
)
