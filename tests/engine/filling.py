"""One adiabatic cylinder that fills from a large reservoir: the set-up of table Z6.

The real march with everything but the intake valve made trivial: a perfect gas, volumes
that nothing can change, no heat, no burning, one cylinder.
"""

from typing import Any, NamedTuple

import numpy as np

from service.engine import kernels
from service.engine.flow import AIR_GAMMA, AIR_GAS_CONSTANT
from service.engine.geometry import (
    circle_area,
    cylinder_volume,
    mean_piston_speed,
    piston_speed,
    swept_volume,
)

Array = np.ndarray[Any, np.dtype[np.float64]]

PRESSURE, TEMPERATURE = 101_325.0, 300.0
"""Of reservoir and clearance gas; table Z6 holds for any, being free of dimension."""
ISOCHORIC_HEAT_CAPACITY = AIR_GAS_CONSTANT / (AIR_GAMMA - 1.0)
BORE = STROKE = 0.1
"""Table Z6 holds for any size."""
ANGULAR_SPEED = 314.0
"""And for any speed: the valve's area follows from the Mach index."""
ROD_LENGTH = 3.5 * STROKE / 2.0
COMPRESSION_RATIO = 10.0
ENDLESS = 1e6
"""A volume that a cylinder cannot change. [m³]"""


class Filling(NamedTuple):
    """What came in, with what is needed to march it again."""

    volumetric_efficiency: float
    state: Array
    trace: Array


class March(NamedTuple):
    """Everything that `kernels.march` is called with, in its order."""

    state: Array
    first: int
    last: int
    history: Array
    reference: Array
    props: Array
    plant: kernels.Plant
    gas: kernels.Gas
    track: kernels.Track
    trace: Array


def perfect_gas() -> kernels.Gas:
    """Energy linear in temperature, one gas constant for everything."""
    start, step, count = 200.0, 25.0, 137
    energy = ISOCHORIC_HEAT_CAPACITY * (start + step * np.arange(count))
    densities = 12
    burned_energy = np.tile(energy, (densities, 1))
    burned_constant = np.full((densities, count), AIR_GAS_CONSTANT)
    # Read-only as in the service, or the march would be compiled a second time.
    burned_energy.flags.writeable = burned_constant.flags.writeable = False
    return kernels.Gas(
        temperature_start=start,
        temperature_step=step,
        fresh_energy=np.stack((energy, energy)),
        burned_energy=burned_energy,
        burned_gas_constant=burned_constant,
        air_gas_constant=AIR_GAS_CONSTANT,
        charge_gas_constant=AIR_GAS_CONSTANT,
        log_density_start=float(np.log(0.02)),
        log_density_step=float(np.log(3000.0) / (densities - 1)),
        fuel_air_ratio=0.0,
        fuel_enthalpy=0.0,
    )


def filling_track(mach_index: float, intake_closing: float, steps: int) -> kernels.Track:
    """Valve area 2 A sin² from top dead centre to closing, A the mean that the index asks for."""
    angle = np.linspace(0.0, 720.0, 2 * steps + 1)
    volume = cylinder_volume(angle, BORE, STROKE, ROD_LENGTH, COMPRESSION_RATIO)
    speed = piston_speed(angle, STROKE, ROD_LENGTH, ANGULAR_SPEED)
    swept = float(swept_volume(BORE, STROKE))
    sound = np.sqrt(AIR_GAMMA * AIR_GAS_CONSTANT * TEMPERATURE)
    mean_area = swept * ANGULAR_SPEED / (np.pi * mach_index * sound)
    opening = np.clip(angle / intake_closing, 0.0, 1.0)
    nothing = np.zeros_like(angle)
    return kernels.Track(
        volume=volume,
        volume_rate=float(circle_area(BORE)) * speed,
        wall_area=nothing,
        intake_area=2.0 * mean_area * np.sin(np.pi * opening) ** 2,
        exhaust_area=nothing,
        burn_rate=nothing,
    )


def filling_plant(steps: int) -> kernels.Plant:
    """Nothing but the cylinder has a finite volume; no way has an area but the valve."""
    never = 10 * steps
    no_wall = kernels.Duct(diameter=BORE, surface=0.0, wall_temperature=TEMPERATURE)
    return kernels.Plant(
        steps=steps,
        time_step=4.0 * np.pi / ANGULAR_SPEED / steps,
        cylinders=1,
        cylinders_per_collector=1,
        has_gallery=False,
        ambient_pressure=PRESSURE,
        ambient_temperature=TEMPERATURE,
        volumes=kernels.Volumes(
            runner=ENDLESS, primary=ENDLESS, plenum=ENDLESS, gallery=ENDLESS, collector=ENDLESS
        ),
        openings=kernels.Openings(throttle=0.0, section=0.0, mouth=0.0, outlet=0.0, system=0.0),
        runner=no_wall,
        primary=no_wall,
        chamber=kernels.Chamber(
            bore=BORE,
            displacement=float(swept_volume(BORE, STROKE)),
            mean_piston_speed=float(mean_piston_speed(STROKE, ANGULAR_SPEED)),
            wall_temperature=TEMPERATURE,
            heat_multiplier=0.0,
        ),
        events=kernels.Events(intake_closes=never, burn_starts=never, exhaust_opens=never),
    )


def filling_march(mach_index: float, intake_closing: float, *, steps: int) -> March:
    """The clearance gas as it is at top dead centre, and all that it is marched with."""
    track, plant = filling_track(mach_index, intake_closing, steps), filling_plant(steps)
    state = np.zeros(kernels.VECTOR_SIZE)
    volumes = [float(track.volume[0])] + [ENDLESS] * (kernels.VOLUMES - 1)
    for place, volume in enumerate(volumes):
        mass = PRESSURE * volume / (AIR_GAS_CONSTANT * TEMPERATURE)
        state[3 * place] = mass
        state[3 * place + 1] = mass * ISOCHORIC_HEAT_CAPACITY * TEMPERATURE
    return March(
        state=state,
        first=0,
        last=round(intake_closing / 720.0 * steps),
        history=np.zeros((steps, kernels.PER_STEP_TOTALS)),
        reference=np.zeros(6),
        props=np.full((kernels.VOLUMES, 4), TEMPERATURE),
        plant=plant,
        gas=perfect_gas(),
        track=track,
        trace=np.zeros((steps, kernels.TRACE_COLUMNS)),
    )


def filling(mach_index: float, intake_closing: float, *, steps: int = 1440) -> Filling:
    """March from top dead centre until the valve closes."""
    march = filling_march(mach_index, intake_closing, steps=steps)
    before = march.state[kernels.MASS]

    kernels.march(*march)

    full = PRESSURE / (AIR_GAS_CONSTANT * TEMPERATURE) * march.plant.chamber.displacement
    drawn = (march.state[kernels.MASS] - before) / full
    return Filling(float(drawn), march.state, march.trace)
