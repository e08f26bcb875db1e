"""Where the air is held up: each restriction's loss at peak power, and what it costs.

Losses are read from the simulated cycle and shared out among elements in series as the
inverse squares of their areas. What an element costs is found by simulating the engine
again with a tenth more of its area: pascals before and after the cylinder do not cost
the same, and a loss that tuning pays back costs nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from service.catalog.slots import Slot
from service.engine.curve import OperatingPoint, PointRunner, Task, run_task
from service.engine.cycle import PathPressures
from service.engine.model import Duct, EngineSpec, FlowElement
from service.kits.kit import Kit
from service.kits.power import PowerAnswer
from service.kits.translation import PathElement, exhaust_path, intake_path
from service.quantities import EDGE_CONFIG
from service.units import w_to_hp

PROBE = 1.1
"""How much larger each element is made to see what it costs."""
RUNNER_MOUTH = "runner mouth"
PRIMARY_OUTLET = "primary outlet"


class PathSide(StrEnum):
    """Before or after the cylinders."""

    INTAKE = "intake"
    EXHAUST = "exhaust"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One restriction of the path at peak power."""

    __pydantic_config__ = EDGE_CONFIG

    name: str
    side: PathSide
    slot: Slot
    sku: str
    effective_area_mm2: float
    """Of all its openings together. [mm²]"""
    pressure_loss_kpa: float
    share_of_loss: float
    """Of the losses on its side of the cylinders."""
    power_gain_kw: float
    """What a tenth more area would add at peak power, simulated. [kW]"""
    power_gain_hp: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RestrictionLadder:
    """The path from the air inlet to the heads and from the heads to the open.

    The ports with their valves are not rungs: they open and close, and are judged by the
    inlet Mach index and by `port_power_gain_kw`.
    """

    __pydantic_config__ = EDGE_CONFIG

    speed_rpm: float
    intake: tuple[Rung, ...]
    """Largest loss first: the first rung is where to spend money."""
    exhaust: tuple[Rung, ...]
    port_power_gain_kw: float
    """What a tenth more flow through both ports of every cylinder would add. [kW]"""


@dataclass(frozen=True, slots=True)
class _Place:
    """An element and the engine in which it is a little larger."""

    path: PathElement
    side: PathSide
    openings: int
    larger: EngineSpec


def restriction_ladder(kit: Kit, answer: PowerAnswer, *, run: PointRunner) -> RestrictionLadder:
    """Simulate what each element costs at peak power and order them by their loss."""
    spec, air, speed = answer.spec, answer.ambient, answer.peak_power_rad_per_s
    places = _places(kit, spec)
    ports = replace(spec, assumptions=replace(spec.assumptions, flow_multiplier=PROBE))
    engines = [spec, *(place.larger for place in places), ports]
    # The peak lies between two points of the curve, so that it is simulated too; all at once.
    base, *probed = run(run_task, [Task(engine, air, speed) for engine in engines])
    losses = _losses(spec, base.cycle.pressures, air.dry_pressure)
    gains = [_gain(base, point, answer.basis.correction_factor) for point in probed]
    rungs = [
        _rung(place, gain, losses[place.path.element], _side_loss(places, losses, place.side))
        for place, gain in zip(places, gains, strict=False)
    ]
    rungs.sort(key=lambda rung: -rung.pressure_loss_kpa)
    return RestrictionLadder(
        speed_rpm=answer.peaks.power.speed_rpm,
        intake=tuple(rung for rung in rungs if rung.side is PathSide.INTAKE),
        exhaust=tuple(rung for rung in rungs if rung.side is PathSide.EXHAUST),
        port_power_gain_kw=gains[-1],
    )


def _gain(base: OperatingPoint, probed: OperatingPoint, correction: float) -> float:
    return (probed.power - base.power) * correction / 1e3


def _side_loss(
    places: Iterable[_Place], losses: Mapping[FlowElement, float], side: PathSide
) -> float:
    return sum(losses[place.path.element] for place in places if place.side is side)


def _rung(place: _Place, gain_kw: float, loss: float, side_loss: float) -> Rung:
    element = place.path.element
    return Rung(
        name=element.name,
        side=place.side,
        slot=place.path.slot,
        sku=place.path.sku,
        effective_area_mm2=element.effective_area * place.openings * 1e6,
        pressure_loss_kpa=loss / 1e3,
        share_of_loss=loss / side_loss if side_loss > 0.0 else 0.0,
        power_gain_kw=gain_kw,
        power_gain_hp=w_to_hp(gain_kw * 1e3),
    )


def _places(kit: Kit, spec: EngineSpec) -> list[_Place]:
    """Every element of both paths."""
    mouth = _duct_end(kit, Slot.INTAKE_MANIFOLD, _mouth(spec))
    outlet = _duct_end(kit, Slot.EXHAUST_MANIFOLD, _outlet(spec))
    wider_runner = replace(spec, runner=_wider(spec.runner))
    wider_primary = replace(spec, primary=_wider(spec.primary))
    return [
        *(_Place(p, PathSide.INTAKE, 1, _grown(spec, p.element)) for p in intake_path(kit)),
        *(_Place(p, PathSide.EXHAUST, 1, _grown(spec, p.element)) for p in exhaust_path(kit)),
        _Place(mouth, PathSide.INTAKE, spec.cylinders, wider_runner),
        _Place(outlet, PathSide.EXHAUST, spec.cylinders, wider_primary),
    ]


def _losses(
    spec: EngineSpec, pressures: PathPressures, ambient_pressure: float
) -> dict[FlowElement, float]:
    """Every element with its share of the loss between the volumes on its two sides."""
    return {
        **_shared_out(spec.above_plenum, ambient_pressure - pressures.plenum),
        **_shared_out(spec.below_plenum, pressures.plenum - pressures.gallery),
        _mouth(spec): pressures.gallery - pressures.mouth,
        _outlet(spec): pressures.outlet - pressures.collector,
        **_shared_out(spec.system, pressures.collector - ambient_pressure),
    }


def _shared_out(elements: tuple[FlowElement, ...], loss: float) -> dict[FlowElement, float]:
    weights = {element: element.effective_area**-2 for element in elements}
    total = sum(weights.values())
    return {element: loss * weight / total for element, weight in weights.items()}


def _mouth(spec: EngineSpec) -> FlowElement:
    return FlowElement(name=RUNNER_MOUTH, effective_area=spec.runner.far_end_effective_area)


def _outlet(spec: EngineSpec) -> FlowElement:
    return FlowElement(name=PRIMARY_OUTLET, effective_area=spec.primary.far_end_effective_area)


def _duct_end(kit: Kit, slot: Slot, element: FlowElement) -> PathElement:
    return PathElement(slot=slot, sku=kit.parts[slot].sku, element=element)


def _grown(spec: EngineSpec, element: FlowElement) -> EngineSpec:
    """Return the engine with one element of its paths a little larger."""
    larger = replace(element, effective_area=element.effective_area * PROBE)

    def swapped(elements: tuple[FlowElement, ...]) -> tuple[FlowElement, ...]:
        return tuple(larger if each == element else each for each in elements)

    return replace(
        spec,
        above_plenum=swapped(spec.above_plenum),
        below_plenum=swapped(spec.below_plenum),
        system=swapped(spec.system),
    )


def _wider(duct: Duct) -> Duct:
    return replace(duct, far_end_effective_area=duct.far_end_effective_area * PROBE)
