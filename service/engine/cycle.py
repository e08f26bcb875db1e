"""Filling and emptying of a four-stroke engine, resolved by crank angle, to convergence.

The first tier of the model: every volume is well mixed, flow between them is that of
compressible restrictions, so it knows what areas, volumes, cam timing, compression,
heat and mixture do, and nothing of waves or of the inertia of the air. Its place in
the chain of tiers and its known errors stand in DEVELOPERS.md.
"""

from dataclasses import dataclass

import numpy as np

from service.engine import kernels
from service.engine.flow import gas_density
from service.engine.fuels import FUELS
from service.engine.gas import gas_table
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, EngineSpec
from service.engine.plant import first_guess, gas_of, plant_of, step_count, track_of

KERNEL_VERSION = "filling-1"
"""Changes with every change that moves a number; cached results carry it."""

CONVERGED = 1e-4
"""Largest change of work and of trapped mass from one cycle to the next, relative."""
MOST_CYCLES = 60
REFERENCE_SIZE = 6
"""Numbers that the march keeps between steps: state at intake closing, charge to burn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPressures:
    """Mean pressures along the path in Pa, weighted by the mass that passes."""

    plenum: float
    gallery: float
    """Equal to the plenum's where nothing narrows the path below it."""
    runner: float
    cylinder_filling: float
    """In the cylinder while it fills."""
    cylinder_emptying: float
    """In the cylinder while it empties."""
    primary: float
    collector: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleResult:
    """One converged cycle; the numbers are those of one cylinder unless said otherwise."""

    converged: bool
    cycles: int
    """Cycles marched until work and trapped mass stood still."""
    indicated_work: float
    """Net, pumping included. [J]"""
    pumping_work: float
    """Of the exhaust and intake strokes; negative costs work. [J]"""
    trapped_mass: float
    """In the cylinder when the intake valve closes. [kg]"""
    residual_fraction: float
    """Burned share of the trapped mass. [-]"""
    air_mass: float
    """Through the throttle, per cylinder and cycle. [kg]"""
    fuel_mass: float
    """[kg]"""
    volumetric_efficiency: float
    """Air mass over what the swept volume holds at ambient dry density. [-]"""
    peak_pressure: float
    """[Pa]"""
    wall_heat: float
    """From the cylinder's gas to its walls. [J]"""
    exhaust_temperature: float
    """Of the collector, mean. [K]"""
    pressures: PathPressures
    mass_imbalance: float
    """What enters less what leaves, over what enters. [-]"""
    energy_imbalance: float
    """What enters less what leaves, over the fuel's heat. [-]"""


def simulate_cycle(
    spec: EngineSpec, ambient: Ambient, angular_speed: float, *, steps: int | None = None
) -> CycleResult:
    """Simulate one operating point at full load until it repeats itself.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.
    angular_speed : float
        Of the crank. [rad s⁻¹]
    steps : int, optional
        Steps of a cycle, a multiple of `plant.STEP_MULTIPLE`; by default what
        `plant.step_count` says. For studies of the method's error.

    Returns
    -------
    CycleResult
        With `converged` false where `MOST_CYCLES` were not enough.

    Notes
    -----
    Classical fourth-order Runge-Kutta with a fixed step; valve events are kinks, so the
    observed order over a whole cycle lies between two and four. Energy and mass are
    integrated as totals beside the state, so what the balances miss is how far the
    cycle still is from repeating itself.
    """
    steps = steps or step_count(angular_speed)
    track = track_of(spec, angular_speed, steps)
    gas = gas_of(gas_table(FUELS[spec.fuel], spec.air_fuel_ratio))
    plant = plant_of(spec, ambient, angular_speed, track)
    state, props = first_guess(plant, gas, float(track.volume[0]))
    run = _Run(
        spec=spec,
        ambient=ambient,
        plant=plant,
        gas=gas,
        track=track,
        state=state,
        props=props,
        history=np.zeros((steps, kernels.PER_STEP_TOTALS)),
        reference=np.zeros(REFERENCE_SIZE),
        trace=np.zeros((steps, kernels.TRACE_COLUMNS)),
    )
    cycles, converged = _repeat(run)
    return _result(run, cycles=cycles, converged=converged)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """A simulation: what it works with, and the arrays in which the march leaves its marks."""

    spec: EngineSpec
    ambient: Ambient
    plant: kernels.Plant
    gas: kernels.Gas
    track: kernels.Track
    state: FloatArray
    props: FloatArray
    history: FloatArray
    reference: FloatArray
    trace: FloatArray


def _repeat(run: _Run) -> tuple[int, bool]:
    """March cycle after cycle until two are alike; return how many, and whether they were."""
    work = trapped = 0.0
    for cycle in range(1, MOST_CYCLES + 1):
        run.state[kernels.STATE_SIZE :] = 0.0
        kernels.march(
            run.state,
            0,
            run.plant.steps,
            run.history,
            run.reference,
            run.props,
            run.plant,
            run.gas,
            run.track,
            run.trace,
        )
        before, work = work, float(run.state[kernels.WORK])
        trapped_before, trapped = trapped, float(run.reference[kernels.TRAPPED_MASS])
        work_stands = abs(work - before) < CONVERGED * abs(work)
        if work_stands and abs(trapped - trapped_before) < CONVERGED * trapped:
            return cycle, True
    return MOST_CYCLES, False


def _result(last: _Run, *, cycles: int, converged: bool) -> CycleResult:
    state, trapped = last.state, float(last.reference[kernels.TRAPPED_MASS])
    air = float(state[kernels.THROTTLE_MASS]) / last.plant.cylinders
    collector = last.trace[:, kernels.TRACE_COLLECTOR_TEMPERATURE]
    return CycleResult(
        converged=converged,
        cycles=cycles,
        indicated_work=float(state[kernels.WORK]),
        pumping_work=_pumping_work(last),
        trapped_mass=trapped,
        residual_fraction=float(last.reference[kernels.TRAPPED_BURNED]) / trapped,
        air_mass=air,
        fuel_mass=float(state[kernels.FUEL_MASS]),
        volumetric_efficiency=air / _ambient_filling(last),
        peak_pressure=float(last.trace[:, kernels.TRACE_CYLINDER].max()),
        wall_heat=float(state[kernels.CYLINDER_HEAT]),
        exhaust_temperature=float(collector.mean()),
        pressures=_path_pressures(last),
        mass_imbalance=_mass_imbalance(last),
        energy_imbalance=_energy_imbalance(last),
    )


def _ambient_filling(last: _Run) -> float:
    """Return the mass of ambient dry air that the swept volume holds, in kg."""
    density = gas_density(
        last.ambient.dry_pressure,
        last.ambient.temperature,
        gas_constant=last.gas.air_gas_constant,
    )
    return float(density) * last.plant.chamber.displacement


def _pumping_work(last: _Run) -> float:
    """Return the work between the exhaust's and the intake's bottom dead centre, in J."""
    steps = last.plant.steps
    rate = last.trace[:, kernels.TRACE_CYLINDER] * last.track.volume_rate[:-1:2]
    return float(rate[steps // 2 :].sum() * last.plant.time_step)


def _path_pressures(last: _Run) -> PathPressures:
    trace = last.trace

    def mean(column: int, flow_column: int) -> float:
        flow = np.maximum(trace[:, flow_column], 0.0)
        return float(np.average(trace[:, column], weights=flow))

    return PathPressures(
        plenum=mean(kernels.TRACE_PLENUM, kernels.TRACE_THROTTLE_FLOW),
        gallery=mean(kernels.TRACE_GALLERY, kernels.TRACE_MOUTH_FLOW),
        runner=mean(kernels.TRACE_RUNNER, kernels.TRACE_INTAKE_FLOW),
        cylinder_filling=mean(kernels.TRACE_CYLINDER, kernels.TRACE_INTAKE_FLOW),
        cylinder_emptying=mean(kernels.TRACE_CYLINDER, kernels.TRACE_EXHAUST_FLOW),
        primary=mean(kernels.TRACE_PRIMARY, kernels.TRACE_EXHAUST_FLOW),
        collector=mean(kernels.TRACE_COLLECTOR, kernels.TRACE_SYSTEM_FLOW),
    )


def _mass_imbalance(last: _Run) -> float:
    plant, state = last.plant, last.state
    entered = state[kernels.THROTTLE_MASS] / plant.cylinders + state[kernels.FUEL_MASS]
    left = state[kernels.SYSTEM_MASS] / plant.cylinders_per_collector
    return float((entered - left) / entered)


def _energy_imbalance(last: _Run) -> float:
    plant, state = last.plant, last.state
    entered = (
        state[kernels.THROTTLE_ENTHALPY] / plant.cylinders
        + state[kernels.FUEL_ENTHALPY]
        + state[kernels.RUNNER_HEAT]
    )
    left = (
        state[kernels.WORK]
        + state[kernels.CYLINDER_HEAT]
        + state[kernels.PRIMARY_HEAT]
        + state[kernels.SYSTEM_ENTHALPY] / plant.cylinders_per_collector
    )
    heat = state[kernels.FUEL_MASS] * FUELS[last.spec.fuel].heating_value
    return float((entered - left) / heat)
