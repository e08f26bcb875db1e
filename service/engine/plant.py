"""From an engine's description to the arrays that the compiled march works on."""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from service.engine import kernels
from service.engine.cams import valve_lift
from service.engine.flow import AIR_GAMMA
from service.engine.gas import GasTable
from service.engine.geometry import (
    circle_area,
    cylinder_volume,
    mean_piston_speed,
    swept_volume,
)
from service.engine.heat import burn_progress_at, burn_rate
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec, FlowElement, ValveTrain
from service.engine.pipes import filled

STANDARD_TEMPERATURE = 298.15
"""At which heats of formation are tabulated. [K]"""
CYCLE_DEGREES = 720.0
FIRING_CENTRE = 180.0
"""Where firing top dead centre lies on a track that starts at bottom dead centre. [deg]"""
GAS_EXCHANGE_CENTRE = 540.0
"""Where gas-exchange top dead centre lies on it. [deg]"""
LONGEST_STEP_DEGREES = 2.5
SHARED_SHARE, CYLINDER_SHARE = 0.35, 0.6
"""Of the time in which sound would fill a volume through the pipes that open on it, the share
that a step may take. By trial, all three: over the seed's parts, torque then lies within 1 %
of that with cells and steps four times finer (`tests/engine/test_cycle.py`). [-]"""
ANSWER_OVER_OPENING = 8.0
"""What an opening passes more of a small difference of pressure than sound would carry through
it: the root of gamma p / (2 dp), at one percent. [-]"""
SMALLEST_AREA = 1e-9
LAG_LENGTHS = 3.0
"""How many times sound runs along a neighbour's pipe before its answer has died out: by
trial, 3 converges in fewest cycles over the seed parts; the converged cycle does not
depend on it (`tests/engine/test_cycle.py`). [-]"""
RUNNER_SOUND, PRIMARY_SOUND = 350.0, 650.0
"""Round values at 305 K and 1,100 K. [m s⁻¹]"""
AIR_FILL, CHARGE_FILL, BURNED_FILL = kernels.AIR, kernels.CHARGE, 2
"""What a volume is filled with before the first cycle."""
CROWN_AND_CHAMBER = 2.1
"""Area of piston crown and chamber over the bore's circle: flat crown, chamber a little
more than flat (documented assumption). [-]"""


def series_area(elements: tuple[FlowElement, ...]) -> float:
    r"""Effective area of restrictions in series while losses are small.

    Parameters
    ----------
    elements : tuple of FlowElement
        In any order.

    Returns
    -------
    float
        :math:`(\sum A_i^{-2})^{-1/2}`. [m²]

    Notes
    -----
    The losses add as the squares of the flow, each with the density upstream of the
    first; for the few percent that an intake path loses, the compressible answer of
    `service.engine.series` differs by less than the loss times itself.

    Examples
    --------
    >>> halves = (FlowElement(name="a", effective_area=2.0),) * 4
    >>> series_area(halves)
    1.0
    """
    return float(sum(element.effective_area**-2 for element in elements) ** -0.5)


def step_count(spec: EngineSpec, angular_speed: float, *, refinement: int = 1) -> int:
    """Return how many steps a cycle takes at this speed.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    refinement : int, optional
        How many steps to make of one.

    Returns
    -------
    int
        A multiple of the number of cylinders and of those that share a collector, so that
        neighbours are whole steps apart.
    """
    runners = spec.cylinders * spec.runner.area_at_far_end * RUNNER_SOUND
    primaries = spec.cylinders_per_collector * spec.primary.area_at_far_end * PRIMARY_SOUND
    feeder = spec.gallery_volume if spec.below_plenum else spec.plenum_volume
    longest = min(
        math.radians(LONGEST_STEP_DEGREES) / angular_speed,
        SHARED_SHARE * feeder / runners,
        SHARED_SHARE * spec.collector_volume / primaries,
        CYLINDER_SHARE * _clearance_filling(spec),
    )
    multiple = math.lcm(spec.cylinders, spec.cylinders_per_collector, 2)
    return math.ceil(refinement * 4.0 * math.pi / angular_speed / longest / multiple) * multiple


def _clearance_filling(spec: EngineSpec) -> float:
    """Return how long sound takes to fill the cylinder at gas-exchange dead centre, in s."""
    volume = swept_volume(spec.bore, spec.stroke) / (spec.compression_ratio - 1.0)
    runner = _answering_area(spec.intake, spec.runner.area_at_valve)
    primary = _answering_area(spec.exhaust, spec.primary.area_at_valve)
    return float(volume) / (runner * RUNNER_SOUND + primary * PRIMARY_SOUND)


def _answering_area(train: ValveTrain, pipe_area: float) -> float:
    """Return the area of a pipe behind its valve as a small difference of pressure sees it."""
    centre = np.array([GAS_EXCHANGE_CENTRE])
    opening = float(effective_valve_area(centre, train, flow_multiplier=1.0)[0])
    return 1.0 / (1.0 / pipe_area + 1.0 / max(ANSWER_OVER_OPENING * opening, SMALLEST_AREA))


def effective_valve_area(
    track_angle: FloatArray, train: ValveTrain, *, flow_multiplier: float
) -> FloatArray:
    """Effective area of a port with its valve along the cycle.

    Parameters
    ----------
    track_angle : ndarray, shape (n,)
        Crank angle from bottom dead centre before compression. [deg]
    train : ValveTrain
        Lobe, rocker and bench readings.
    flow_multiplier : float
        On the bench readings. [-]

    Returns
    -------
    ndarray, shape (n,)
        [m²]

    Notes
    -----
    The readings are joined by a monotone cubic through zero lift (Fritsch & Carlson,
    *SIAM J. Numer. Anal.* 17:238-246, 1980) and stay level above the last one: nothing
    was measured there. The same area serves flow in both directions.
    """
    nose = GAS_EXCHANGE_CENTRE + train.centreline
    half = CYCLE_DEGREES / 2.0
    from_nose = (track_angle - nose + half) % CYCLE_DEGREES - half
    lift = valve_lift(from_nose, train.lobe, train.rocker_ratio, train.lash)
    area = _bench_curve(train.lifts, train.effective_areas)(np.minimum(lift, train.lifts[-1]))
    return np.where(lift > 0.0, area * flow_multiplier, 0.0)


@lru_cache
def _bench_curve(lifts: tuple[float, ...], areas: tuple[float, ...]) -> PchipInterpolator:
    """Every speed of a curve asks for the same one."""
    return PchipInterpolator((0.0, *lifts), (0.0, *areas))


def burn_rate_along(track_angle: FloatArray, spec: EngineSpec, angular_speed: float) -> FloatArray:
    """Share of the charge that burns per second, along the cycle.

    Parameters
    ----------
    track_angle : ndarray, shape (n,)
        Crank angle from bottom dead centre before compression. [deg]
    spec : EngineSpec
        Says when half has burned and how long it takes.
    angular_speed : float
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray, shape (n,)
        [s⁻¹]
    """
    duration, start = burn_window(spec)
    progress = (track_angle - start) / duration
    burning = (progress > 0.0) & (progress < 1.0)
    rate = burn_rate(np.where(burning, progress, 0.0))
    return np.where(burning, rate / np.deg2rad(duration) * angular_speed, 0.0)


def burn_window(spec: EngineSpec) -> tuple[float, float]:
    """Return length and start of the burn on the track, in degrees."""
    tenth, half, nine_tenths = burn_progress_at((0.1, 0.5, 0.9))
    duration = spec.assumptions.burn_duration / float(nine_tenths - tenth)
    return duration, FIRING_CENTRE + spec.burn_centre - float(half) * duration


def track_of(spec: EngineSpec, angular_speed: float, steps: int) -> kernels.Track:
    """Tabulate everything that depends on crank angle only, at every half step.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    steps : int
        In one cycle.

    Returns
    -------
    kernels.Track
        Arrays of shape (2 steps + 1,).
    """
    angle = np.linspace(0.0, CYCLE_DEGREES, 2 * steps + 1)
    crank = angle - FIRING_CENTRE
    bore_area = float(circle_area(spec.bore))
    volume = cylinder_volume(crank, spec.bore, spec.stroke, spec.rod_length, spec.compression_ratio)
    flow = spec.assumptions.flow_multiplier
    return kernels.Track(
        volume=volume,
        wall_area=CROWN_AND_CHAMBER * bore_area + 4.0 * (volume - volume.min()) / spec.bore,
        intake_area=effective_valve_area(angle, spec.intake, flow_multiplier=flow),
        exhaust_area=effective_valve_area(angle, spec.exhaust, flow_multiplier=flow),
        burn_rate=burn_rate_along(angle, spec, angular_speed),
    )


def gas_of(table: GasTable) -> kernels.Gas:
    """Hand the property tables to the compiled march.

    Parameters
    ----------
    table : GasTable
        Of the engine's fuel and mixture.

    Returns
    -------
    kernels.Gas
        The same numbers. The fuel arrives as vapour at the reference temperature: sprayed
        at the back of a hot valve it takes its latent heat from metal (documented
        assumption; the other limit would cool the charge by some 20 K).
    """
    temperatures = table.temperature_start + table.temperature_step * np.arange(
        table.air_energy.size
    )
    arriving = np.interp(STANDARD_TEMPERATURE, temperatures, table.fuel_enthalpy_vapour)
    return kernels.Gas(
        temperature_start=table.temperature_start,
        temperature_step=table.temperature_step,
        fresh_energy=np.stack((table.air_energy, table.charge_energy)),
        burned_energy=table.burned_energy,
        burned_gas_constant=table.burned_gas_constant,
        air_gas_constant=table.air_gas_constant,
        charge_gas_constant=table.charge_gas_constant,
        log_density_start=table.log_density_start,
        log_density_step=table.log_density_step,
        fuel_air_ratio=table.fuel_air_ratio,
        fuel_enthalpy=float(arriving),
    )


def plant_of(
    spec: EngineSpec,
    ambient: Ambient,
    angular_speed: float,
    gas: kernels.Gas,
    track: kernels.Track,
) -> kernels.Plant:
    """Gather what stays the same during a cycle.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    gas : kernels.Gas
        Its working fluid.
    track : kernels.Track
        Of this engine at this speed.

    Returns
    -------
    kernels.Plant
        Volumes, areas, walls and the steps at which something happens.
    """
    steps = (track.volume.size - 1) // 2
    return kernels.Plant(
        steps=steps,
        time_step=4.0 * np.pi / angular_speed / steps,
        cylinders=spec.cylinders,
        cylinders_per_collector=spec.cylinders_per_collector,
        has_gallery=bool(spec.below_plenum),
        open_air=np.array(
            (ambient.temperature, gas.air_gas_constant, AIR_GAMMA, ambient.dry_pressure)
        ),
        volumes=kernels.Volumes(
            plenum=spec.plenum_volume,
            gallery=spec.gallery_volume,
            collector=spec.collector_volume,
        ),
        openings=_openings(spec),
        chamber=_chamber(spec, angular_speed),
        events=_events(spec, track),
        runner_lag=LAG_LENGTHS * spec.runner.length / RUNNER_SOUND,
        primary_lag=LAG_LENGTHS * spec.primary.length / PRIMARY_SOUND,
    )


def _openings(spec: EngineSpec) -> kernels.Openings:
    share_of_system = spec.cylinders_per_collector / spec.cylinders
    return kernels.Openings(
        throttle=series_area(spec.above_plenum),
        section=series_area(spec.below_plenum) if spec.below_plenum else 0.0,
        mouth=spec.runner.far_end_effective_area,
        outlet=spec.primary.far_end_effective_area,
        system=series_area(spec.system) * share_of_system,
    )


def _chamber(spec: EngineSpec, angular_speed: float) -> kernels.Chamber:
    return kernels.Chamber(
        bore=spec.bore,
        displacement=float(swept_volume(spec.bore, spec.stroke)),
        mean_piston_speed=float(mean_piston_speed(spec.stroke, angular_speed)),
        wall_temperature=spec.assumptions.cylinder_wall_temperature,
        heat_multiplier=spec.assumptions.heat_transfer_multiplier,
        combustion_efficiency=spec.assumptions.combustion_efficiency,
    )


def _events(spec: EngineSpec, track: kernels.Track) -> kernels.Events:
    steps = (track.volume.size - 1) // 2
    return kernels.Events(
        intake_closes=_first_step(track.intake_area[::2] == 0.0, after=0),
        burn_starts=int(burn_window(spec)[1] / CYCLE_DEGREES * steps),
        exhaust_opens=_first_step(track.exhaust_area[::2] > 0.0, after=steps // 4),
    )


def _first_step(happens: NDArray[np.bool_], *, after: int) -> int:
    """Return the first step at or past `after` where it happens."""
    return after + int(np.argmax(happens[after:]))


def first_guess(
    plant: kernels.Plant,
    gas: kernels.Gas,
    track: kernels.Track,
    runner: kernels.Pipe,
    primary: kernels.Pipe,
) -> kernels.Contents:
    """Fill everything with something plausible to start the first cycle from.

    Parameters
    ----------
    plant : kernels.Plant
        The engine.
    gas : kernels.Gas
        Its working fluid.
    track : kernels.Track
        Its cycle.
    runner, primary : kernels.Pipe
        Its pipes.

    Returns
    -------
    kernels.Contents
        At ambient pressure and at rest.
    """
    pressure = float(plant.open_air[kernels.VOLUME_PRESSURE])
    volumes, props = _filled_volumes(plant, gas, float(track.volume[0]))
    history = np.zeros((plant.steps, kernels.HISTORY_COLUMNS))
    history[:, (kernels.DRAWN_PRESSURE, kernels.GIVEN_PRESSURE)] = pressure
    return kernels.Contents(
        volumes=volumes,
        props=props,
        runner=filled(runner, pressure, 310.0, 0.0),
        primary=filled(primary, pressure, 1000.0, 1.0),
        history=history,
        lag=np.zeros(2),
        before=np.zeros(3),
        memory=np.zeros(kernels.MEMORY),
        totals=np.zeros(kernels.TOTALS),
        trace=np.zeros((plant.steps, kernels.TRACE_COLUMNS)),
    )


def _filled_volumes(
    plant: kernels.Plant, gas: kernels.Gas, cylinder_volume_now: float
) -> tuple[FloatArray, FloatArray]:
    """Return what the volumes hold, and what that comes to."""
    volumes = np.zeros((kernels.SHARED + 1, 3))
    props = np.zeros((kernels.SHARED + 1, 4))
    fills = (
        (plant.volumes.plenum, 300.0, AIR_FILL),
        (plant.volumes.gallery, 300.0, AIR_FILL),
        (plant.volumes.collector, 900.0, BURNED_FILL),
        (cylinder_volume_now, 350.0, CHARGE_FILL),
    )
    pressure = float(plant.open_air[kernels.VOLUME_PRESSURE])
    for place, (volume, temperature, fill) in enumerate(fills):
        energy, constant = _filling(gas, fill, temperature)
        mass = pressure * volume / (constant * temperature)
        burned = mass if fill == BURNED_FILL else 0.0
        volumes[place] = mass, mass * energy, burned
        props[place] = temperature, constant, AIR_GAMMA, pressure
    return volumes, props


def _filling(gas: kernels.Gas, fill: int, temperature: float) -> tuple[float, float]:
    """Return specific energy and gas constant of a pure gas."""
    middle = gas.burned_energy.shape[0] // 2
    energies = gas.burned_energy[middle] if fill == BURNED_FILL else gas.fresh_energy[fill]
    constant = (
        gas.air_gas_constant,
        gas.charge_gas_constant,
        float(gas.burned_gas_constant[middle, 0]),
    )[fill]
    position = (temperature - gas.temperature_start) / gas.temperature_step
    return float(np.interp(position, np.arange(energies.size), energies)), constant
