"""Full-load curves: one simulated cycle at each speed, friction, and how sure we are.

Bounds come from running the model again with each stated uncertainty moved by one
standard deviation, at a few speeds, and adding the changes as squares; the model's own
error is added in the same way. They are wider than any difference between two kits:
what two kits share cancels there, and is not subtracted here.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from service.engine.cycle import CycleResult, simulate_cycle
from service.engine.friction import Machinery, friction
from service.engine.fuels import FUELS
from service.engine.geometry import swept_volume
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.power import power_from_torque, torque_from_mean_effective_pressure

MODEL_ERROR = 0.08
"""Standard deviation of what the model itself misses, as a share of torque: the medians of
two open sets of production engines lie 4 and 9 % below their ratings, with breathing that
had to be guessed (`tests/engine/test_population.py`). Documented assumption until
measured runs correct it. [-]"""

PROBES = 3
"""Speeds at which the uncertainties are run, spread evenly over the curve."""

BOUND_WIDTH = 1.96
"""Standard deviations on either side: about 95 % where errors are normal. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """One input that is not known exactly.

    Attributes
    ----------
    name : str
        Field of `Assumptions` that carries it.
    deviation : float
        One standard deviation, as a share of the value. [-]
    source : str
        Where the size comes from.
    """

    name: str
    deviation: float
    source: str


UNCERTAINTIES = (
    Uncertainty(
        name="flow_multiplier",
        deviation=0.03,
        source="repeatability between flow benches; common practice, no source",
    ),
    Uncertainty(
        name="friction_multiplier",
        deviation=0.15,
        source="scatter of motored friction about a correlation; from memory",
    ),
    Uncertainty(
        name="heat_transfer_multiplier",
        deviation=0.20,
        source="scatter between heat-transfer correlations; from memory",
    ),
    Uncertainty(
        name="burn_duration",
        deviation=0.15,
        source="spread of 10-90 % burn angles; from memory",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """One speed at full load."""

    angular_speed: float
    """Of the crank, in rad/s."""
    torque: float
    """At the flywheel, in N m."""
    power: float
    """At the flywheel, in W."""
    friction_pressure: float
    """Rubbing and auxiliaries as mean effective pressure, in Pa."""
    brake_efficiency: float
    """Brake power over the fuel's heat."""
    cycle: CycleResult


@dataclass(frozen=True, slots=True)
class Task:
    """One point to run, whole in itself."""

    spec: EngineSpec
    ambient: Ambient
    angular_speed: float


PointRunner = Callable[[Callable[[Task], OperatingPoint], Iterable[Task]], Iterable[OperatingPoint]]
"""`map`, or an executor's: how independent points are run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCurve:
    """A full-load curve with its bounds; arrays share their shape (n,)."""

    angular_speed: FloatArray
    """In rad/s."""
    torque: FloatArray
    """In N m."""
    power: FloatArray
    """In W."""
    relative_error: FloatArray
    """Half width of the bounds as a share of torque."""
    points: tuple[OperatingPoint, ...]


def operating_point(spec: EngineSpec, ambient: Ambient, angular_speed: float) -> OperatingPoint:
    """Simulate one speed and take friction off.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.
    angular_speed : float
        Of the crank. [rad s⁻¹]

    Returns
    -------
    OperatingPoint
        Torque and power at the flywheel, with the engine-driven auxiliaries at work.
    """
    cycle = simulate_cycle(spec, ambient, angular_speed)
    displacement = float(swept_volume(spec.bore, spec.stroke))
    lost = friction_pressure(
        spec, angular_speed, pressure_ratio=cycle.pressures.gallery / ambient.dry_pressure
    )
    brake_pressure = cycle.indicated_work / displacement - lost
    torque = float(
        torque_from_mean_effective_pressure(brake_pressure, displacement * spec.cylinders)
    )
    heat = cycle.fuel_mass * FUELS[spec.fuel].heating_value
    return OperatingPoint(
        angular_speed=angular_speed,
        torque=torque,
        power=float(power_from_torque(torque, angular_speed)),
        friction_pressure=lost,
        brake_efficiency=brake_pressure * displacement / heat,
        cycle=cycle,
    )


def friction_pressure(spec: EngineSpec, angular_speed: float, *, pressure_ratio: float) -> float:
    """Friction mean effective pressure of this engine.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    pressure_ratio : float
        Intake over ambient pressure. [-]

    Returns
    -------
    float
        Rubbing and auxiliaries, no pumping. [Pa]
    """
    lifts = [
        train.lobe.lift * train.rocker_ratio - train.lash for train in (spec.intake, spec.exhaust)
    ]
    machinery = Machinery(
        bore=spec.bore,
        stroke=spec.stroke,
        cylinders=spec.cylinders,
        compression_ratio=spec.compression_ratio,
        main_bearings=spec.main_bearings,
        valves=spec.cylinders * (spec.intake.valve_count + spec.exhaust.valve_count),
        valve_lift=sum(lifts) / len(lifts),
        roller_tappets=spec.roller_tappets,
    )
    total = friction(machinery, angular_speed, intake_pressure_ratio=pressure_ratio).total
    return float(total) * spec.assumptions.friction_multiplier


def power_curve(
    spec: EngineSpec, ambient: Ambient, angular_speeds: FloatArray, *, run: PointRunner = map
) -> PowerCurve:
    """Simulate a full-load curve and its bounds.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.
    angular_speeds : ndarray, shape (n,)
        Of the crank, rising. [rad s⁻¹]
    run : callable
        `map` or an executor's: every point is independent and releases the GIL.

    Returns
    -------
    PowerCurve
        Arrays of shape (n,).
    """
    probes = np.linspace(0, angular_speeds.size - 1, PROBES).round().astype(int)
    variants = [_shifted(spec, uncertainty) for uncertainty in UNCERTAINTIES]
    tasks = [Task(spec, ambient, float(speed)) for speed in angular_speeds]
    tasks += [
        Task(variant, ambient, float(angular_speeds[probe]))
        for variant in variants
        for probe in probes
    ]
    done = list(run(run_task, tasks))
    points = tuple(done[: angular_speeds.size])
    torque = np.array([point.torque for point in points])
    shifted = np.array([point.torque for point in done[angular_speeds.size :]])
    changes = shifted.reshape(len(variants), PROBES) / torque[probes] - 1.0
    spread = np.sqrt((changes**2).sum(axis=0) + MODEL_ERROR**2)
    return PowerCurve(
        angular_speed=angular_speeds,
        torque=torque,
        power=torque * angular_speeds,
        relative_error=BOUND_WIDTH * np.interp(angular_speeds, angular_speeds[probes], spread),
        points=points,
    )


def run_task(task: Task) -> OperatingPoint:
    """Simulate the point that a task describes."""
    return operating_point(task.spec, task.ambient, task.angular_speed)


def _shifted(spec: EngineSpec, uncertainty: Uncertainty) -> EngineSpec:
    """Return the engine with one assumption moved by one standard deviation."""
    value = getattr(spec.assumptions, uncertainty.name) * (1.0 + uncertainty.deviation)
    return replace(spec, assumptions=replace(spec.assumptions, **{uncertainty.name: value}))
