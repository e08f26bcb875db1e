"""One adiabatic cylinder that fills from a large reservoir: the set-up of table Z6.

The real march with everything but the intake valve made trivial: a perfect gas, volumes
that nothing can change, a pipe too wide for waves to matter, no heat, no burning, one
cylinder.
"""

from typing import NamedTuple

import numpy as np

from service.engine import kernels
from service.engine.flow import AIR_GAMMA, AIR_GAS_CONSTANT
from service.engine.geometry import (
    cylinder_volume,
    mean_piston_speed,
    swept_volume,
)
from service.engine.pipes import filled
from service.engine.plant import first_guess

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
WIDE, WIDE_CELLS = 1.0, 4
"""Cross-section of the pipe between the two, in m²."""
MACH_INDICES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.4)
Z6 = {
    180: (
        *(0.9781, 0.9501, 0.9173, 0.8801, 0.8382, 0.7907),
        *(0.7374, 0.6811, 0.6250, 0.5720, 0.4812, 0.4125),
    ),
    200: (
        *(0.9930, 0.9833, 0.9640, 0.9366, 0.9022, 0.8596),
        *(0.8078, 0.7497, 0.6902, 0.6332, 0.5346, 0.4587),
    ),
    220: (
        *(0.9704, 0.9673, 0.9563, 0.9413, 0.9223, 0.8958),
        *(0.8567, 0.8049, 0.7471, 0.6894, 0.5863, 0.5045),
    ),
    240: (
        *(0.9190, 0.9267, 0.9209, 0.9093, 0.8954, 0.8801),
        *(0.8601, 0.8288, 0.7853, 0.7348, 0.6339, 0.5490),
    ),
    260: (
        *(0.8359, 0.8590, 0.8620, 0.8565, 0.8475, 0.8375),
        *(0.8266, 0.8104, 0.7849, 0.7506, 0.6686, 0.5884),
    ),
}
"""Volumetric efficiency by closing angle after top dead centre and Mach index.

Computed outside the project with an adaptive integrator of another library (relative
tolerance 1e-8); no measured points could be read.
"""


class March(NamedTuple):
    """Everything that `kernels.march` is called with, in its order."""

    contents: kernels.Contents
    plant: kernels.Plant
    gas: kernels.Gas
    track: kernels.Track
    runner: kernels.Pipe
    primary: kernels.Pipe
    weight: float


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
    swept = float(swept_volume(BORE, STROKE))
    sound = np.sqrt(AIR_GAMMA * AIR_GAS_CONSTANT * TEMPERATURE)
    mean_area = swept * ANGULAR_SPEED / (np.pi * mach_index * sound)
    opening = np.clip(angle / intake_closing, 0.0, 1.0)
    nothing = np.zeros_like(angle)
    return kernels.Track(
        volume=volume,
        wall_area=nothing,
        intake_area=2.0 * mean_area * np.sin(np.pi * opening) ** 2,
        exhaust_area=nothing,
        burn_rate=nothing,
    )


def filling_plant(steps: int) -> kernels.Plant:
    """Nothing but the cylinder has a finite volume; no way has an area but the valve."""
    never = 10 * steps
    return kernels.Plant(
        steps=steps,
        time_step=4.0 * np.pi / ANGULAR_SPEED / steps,
        cylinders=1,
        cylinders_per_collector=1,
        has_gallery=False,
        open_air=np.array((TEMPERATURE, AIR_GAS_CONSTANT, AIR_GAMMA, PRESSURE)),
        volumes=kernels.Volumes(plenum=ENDLESS, gallery=ENDLESS, collector=ENDLESS),
        openings=kernels.Openings(throttle=0.0, section=0.0, mouth=WIDE, outlet=0.0, system=0.0),
        chamber=kernels.Chamber(
            bore=BORE,
            displacement=float(swept_volume(BORE, STROKE)),
            mean_piston_speed=float(mean_piston_speed(STROKE, ANGULAR_SPEED)),
            wall_temperature=TEMPERATURE,
            heat_multiplier=0.0,
            combustion_efficiency=1.0,
        ),
        events=kernels.Events(intake_closes=never, burn_starts=never, exhaust_opens=never),
        runner_lag=1.0,
        primary_lag=1.0,
    )


def wide_pipe() -> kernels.Pipe:
    """So wide beside the valve that no wave in it matters."""
    faces = np.full(WIDE_CELLS + 1, WIDE)
    air = kernels.PipeGas(
        fresh_constant=AIR_GAS_CONSTANT,
        burned_constant=AIR_GAS_CONSTANT,
        fresh_heat=ISOCHORIC_HEAT_CAPACITY,
        burned_heat=ISOCHORIC_HEAT_CAPACITY,
        fresh_formation=0.0,
        burned_formation=0.0,
        viscosity=0.0,
    )
    return kernels.Pipe(
        cell_length=0.1,
        face_area=faces,
        cell_area=faces[1:],
        diameter=np.sqrt(4.0 * faces[1:] / np.pi),
        wall_temperature=0.0,
        gas=air,
    )


def filling_march(mach_index: float, intake_closing: float, *, steps: int) -> March:
    """The clearance gas as it is at top dead centre, and all that it is marched with."""
    track, plant = filling_track(mach_index, intake_closing, steps), filling_plant(steps)
    pipe, gas = wide_pipe(), perfect_gas()
    contents = first_guess(plant, gas, track, pipe, pipe)
    for place, volume in enumerate((ENDLESS, ENDLESS, ENDLESS, float(track.volume[0]))):
        mass = PRESSURE * volume / (AIR_GAS_CONSTANT * TEMPERATURE)
        contents.volumes[place] = mass, mass * ISOCHORIC_HEAT_CAPACITY * TEMPERATURE, 0.0
    still = filled(pipe, PRESSURE, TEMPERATURE, 0.0)
    contents.runner.state[:], contents.runner.ends[:] = still.state, still.ends
    return March(contents, plant, gas, track, pipe, pipe, 1.0)


def filling(mach_index: float, intake_closing: float, *, steps: int = 1440) -> float:
    """March from top dead centre on and return the volumetric efficiency."""
    march = filling_march(mach_index, intake_closing, steps=steps)
    cylinder = march.contents.volumes[kernels.CYLINDER]
    before = cylinder[kernels.MASS]

    kernels.march(*march)

    full = PRESSURE / (AIR_GAS_CONSTANT * TEMPERATURE) * march.plant.chamber.displacement
    return float((cylinder[kernels.MASS] - before) / full)
