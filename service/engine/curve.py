"""Full-load curves: one simulated cycle at each speed, friction, and how sure we are.

Bounds come from running the model again with each stated uncertainty moved by one
standard deviation, at a few speeds, and adding the changes as squares; the model's own
error is added in the same way. They are those of one engine on its own: what two kits
share cancels in their difference, and is not subtracted here.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from service.engine.cycle import CycleResult, simulate_cycle
from service.engine.friction import Machinery, friction
from service.engine.fuels import FUELS
from service.engine.geometry import swept_volume
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.power import power_from_torque, torque_from_mean_effective_pressure
from service.engine.uncertainty import BOUND_WIDTH, MODEL_ERROR, UNCERTAINTIES, Uncertainty

PROBES = 3
"""Speeds at which the uncertainties are run, spread evenly over the curve."""


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
    changes: FloatArray
    """Relative change of torque with each of `UNCERTAINTIES`, shape (inputs, n)."""
    points: tuple[OperatingPoint, ...]

    @property
    def relative_error(self) -> FloatArray:
        """Half width of the bounds as a share of torque."""
        return np.asarray(BOUND_WIDTH * np.sqrt((self.changes**2).sum(axis=0) + MODEL_ERROR**2))


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
    return brake_point(spec, ambient, angular_speed, cycle)


def brake_point(
    spec: EngineSpec, ambient: Ambient, angular_speed: float, cycle: CycleResult
) -> OperatingPoint:
    """Take friction off a simulated cycle.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    cycle : CycleResult
        Of this engine; friction changes nothing about it.

    Returns
    -------
    OperatingPoint
        Torque and power at the flywheel, with the engine-driven auxiliaries at work; not
        a number where the cycle has none.
    """
    ratio = cycle.pressures.gallery / ambient.dry_pressure
    if not math.isfinite(cycle.indicated_work + ratio):
        return OperatingPoint(
            angular_speed=angular_speed,
            torque=math.nan,
            power=math.nan,
            friction_pressure=math.nan,
            brake_efficiency=math.nan,
            cycle=cycle,
        )
    displacement = float(swept_volume(spec.bore, spec.stroke))
    lost = friction_pressure(spec, angular_speed, pressure_ratio=ratio)
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
    tasks = [Task(spec, ambient, float(speed)) for speed in angular_speeds]
    probes = np.linspace(0, angular_speeds.size - 1, PROBES).round().astype(int)
    moved = [each.moved(spec) for each in UNCERTAINTIES if not each.leaves_cycle]
    probed = [
        Task(variant, ambient, tasks[probe].angular_speed) for variant in moved for probe in probes
    ]
    done = list(run(run_task, [*tasks, *probed]))
    points, simulated = tuple(done[: len(tasks)]), iter(done[len(tasks) :])
    torque = np.array([point.torque for point in points])
    shifted = [
        _with_other_friction(each, spec, ambient, points[probe])
        if each.leaves_cycle
        else next(simulated).torque
        for each in UNCERTAINTIES
        for probe in probes
    ]
    changes = np.reshape(shifted, (-1, PROBES)) / torque[probes] - 1.0
    between = [np.interp(angular_speeds, angular_speeds[probes], row) for row in changes]
    return PowerCurve(
        angular_speed=angular_speeds,
        torque=torque,
        power=torque * angular_speeds,
        changes=np.array(between),
        points=points,
    )


def _with_other_friction(
    uncertainty: Uncertainty, spec: EngineSpec, ambient: Ambient, point: OperatingPoint
) -> float:
    """Torque of a point that is known, with an input moved that its gas does not notice."""
    return brake_point(uncertainty.moved(spec), ambient, point.angular_speed, point.cycle).torque


def run_task(task: Task) -> OperatingPoint:
    """Simulate the point that a task describes."""
    return operating_point(task.spec, task.ambient, task.angular_speed)
