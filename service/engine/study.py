"""Simulated engines of a design: what a surface is fitted to, and what it is judged by."""

from dataclasses import dataclass

import numpy as np

from service.engine.curve import OperatingPoint, PointRunner, Task, power_curve, run_task
from service.engine.design import DesignRange
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import engine_at
from service.engine.power import mean_effective_pressure
from service.engine.surface import (
    FRICTION_UNIT,
    WORK_UNIT,
    air_share,
    brake_pressure,
    displacement_of,
)

SPEED_KNOTS = 3
"""Speeds, spread evenly over a range, between which errors are interpolated."""
CROWDING = 0.7
"""Power of the place in a range that becomes a speed: below one, most speeds are fast.

Waves bend torque most where the gas moves fastest, and a slow point costs more to simulate.
"""
NOTHING = (np.nan, np.nan, np.nan)
"""Stands for the responses of a point that did not converge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Simulated engines.

    Attributes
    ----------
    rows : ndarray, shape (n, p)
        The engines, in the order of `parameters.PARAMETERS`.
    angular_speed : ndarray, shape (n, s)
        Speeds of each, rising. [rad s⁻¹]
    response : ndarray, shape (n, s, 3)
        As `surface.responses` gives them; not a number where a point did not converge.
    """

    rows: FloatArray
    angular_speed: FloatArray
    response: FloatArray

    def first(self, count: int) -> "Study":
        """Return the first engines of the study."""
        return Study(
            rows=self.rows[:count],
            angular_speed=self.angular_speed[:count],
            response=self.response[:count],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceErrors:
    """How far a surface is off on engines that it was not fitted to; shares of the value.

    Attributes
    ----------
    engines, points : int
        How many it was judged by.
    not_converged : int
        Points that the simulation gave up, left out.
    torque_median, torque_p95 : float
        Of the absolute error of torque at a speed. [-]
    torque_rms : tuple of float
        Root of the mean square, about each of the `SPEED_KNOTS`. [-]
    peak_power_median, peak_power_p95 : float
        Of the absolute error of the highest power of an engine. [-]
    peak_power_rank : float
        Rank correlation of the highest power, after Spearman. [-]
    """

    engines: int
    points: int
    not_converged: int
    torque_median: float
    torque_p95: float
    torque_rms: tuple[float, ...]
    peak_power_median: float
    peak_power_p95: float
    peak_power_rank: float


def study_speeds(
    box: DesignRange, engines: int, each: int, generator: np.random.Generator
) -> FloatArray:
    """Speeds at which the engines of a design are simulated.

    Parameters
    ----------
    box : DesignRange
        Holds the slowest and the fastest.
    engines, each : int
        How many engines, and speeds for each.
    generator : numpy.random.Generator
        Shifts the speeds of every engine, so that together they leave no gap.

    Returns
    -------
    ndarray, shape (engines, each)
        Rising, and closer together the faster they are. [rad s⁻¹]
    """
    places = ((np.arange(each) + generator.random((engines, 1))) / each) ** CROWDING
    return box.slowest + places * (box.fastest - box.slowest)


def simulated(
    base: EngineSpec, rows: FloatArray, angular_speed: FloatArray, *, run: PointRunner
) -> FloatArray:
    """Responses of engines by simulation.

    Parameters
    ----------
    base : EngineSpec
        Gives what no parameter carries.
    rows : ndarray, shape (n, p)
        The engines.
    angular_speed : ndarray, shape (n, s)
        Speeds of each. [rad s⁻¹]
    run : callable
        `map` or an executor's.

    Returns
    -------
    ndarray, shape (n, s, 3)
        Not a number where a point did not converge.
    """
    tasks = [
        Task(*engine_at(base, row), float(speed))
        for row, speeds in zip(rows, angular_speed, strict=True)
        for speed in speeds
    ]
    displacement = displacement_of(base)
    points = run(run_task, tasks)
    found = np.array([_responses_of(point, displacement) for point in points])
    found = found.reshape(*angular_speed.shape, -1)
    found[..., 0] /= air_share(rows)
    return found


def _responses_of(point: OperatingPoint, displacement: float) -> tuple[float, float, float]:
    """Gross work in this air, filling, friction."""
    if not point.cycle.converged:
        return NOTHING
    brake = float(mean_effective_pressure(point.torque, displacement))
    return (
        (brake + point.friction_pressure) / WORK_UNIT,
        point.cycle.volumetric_efficiency,
        point.friction_pressure / FRICTION_UNIT,
    )


def speed_knots(box: DesignRange) -> FloatArray:
    """Speeds between which errors are interpolated, shape (`SPEED_KNOTS`,) [rad s⁻¹]."""
    return np.linspace(box.slowest, box.fastest, SPEED_KNOTS)


def input_errors(
    base: EngineSpec, rows: FloatArray, box: DesignRange, *, run: PointRunner
) -> tuple[float, ...]:
    """Half width of the simulation's own bounds, the widest among some engines.

    Parameters
    ----------
    base : EngineSpec
        Gives what no parameter carries.
    rows : ndarray, shape (n, p)
        A few engines of the range.
    box : DesignRange
        Holds the slowest and the fastest.
    run : callable
        `map` or an executor's.

    Returns
    -------
    tuple of float
        At the `speed_knots`, as a share of torque. [-]
    """
    knots = speed_knots(box)
    curves = [power_curve(*engine_at(base, row), knots, run=run) for row in rows]
    widest = np.max([curve.relative_error for curve in curves], axis=0)
    return tuple(widest.tolist())


def errors_of(study: Study, found: FloatArray, box: DesignRange) -> SurfaceErrors:
    """Compare responses with those of a study.

    Parameters
    ----------
    study : Study
        Simulated engines.
    found : ndarray, shape (n, s, 3)
        What a surface says of the same.
    box : DesignRange
        Holds the slowest and the fastest.

    Returns
    -------
    SurfaceErrors
        The highest power is compared for engines of which every point converged.
    """
    from scipy.stats import spearmanr  # noqa: PLC0415 - 30 MB that only a fit needs.

    true, read = (brake_pressure(each, study.rows) for each in (study.response, found))
    known = np.isfinite(true)
    error = np.abs(read / true - 1.0)
    whole = known.all(axis=1)
    highest, read_highest = (
        (pressure * study.angular_speed)[whole].max(axis=1) for pressure in (true, read)
    )
    peak_error = np.abs(read_highest / highest - 1.0)
    knots = speed_knots(box)
    nearest = np.abs(study.angular_speed[..., None] - knots).argmin(axis=-1)
    squares = [error[known & (nearest == knot)] ** 2 for knot in range(SPEED_KNOTS)]
    return SurfaceErrors(
        engines=int(whole.sum()),
        points=int(known.sum()),
        not_converged=int((~known).sum()),
        torque_median=float(np.median(error[known])),
        torque_p95=float(np.percentile(error[known], 95.0)),
        torque_rms=tuple(float(np.sqrt(square.mean())) for square in squares),
        peak_power_median=float(np.median(peak_error)),
        peak_power_p95=float(np.percentile(peak_error, 95.0)),
        peak_power_rank=float(spearmanr(highest, read_highest).statistic),
    )
