"""A cycle of a four-stroke engine with its gas dynamics, resolved by crank angle.

The model that is trusted. Runner and primary are pipes in which waves run; plenum,
gallery and collector are well-mixed volumes; the cylinder burns in one zone. What it
knows and what it does not stands in DEVELOPERS.md.
"""

from dataclasses import dataclass

import numpy as np

from service.engine import kernels
from service.engine.flow import gas_density
from service.engine.fuels import FUELS
from service.engine.gas import gas_table
from service.engine.model import Ambient, EngineSpec
from service.engine.pipes import primary_of, runner_of
from service.engine.plant import first_guess, gas_of, plant_of, step_count, track_of

KERNEL_VERSION = "waves-4"
"""Changes with every change that moves a number; cached results carry it."""

CONVERGED = 1e-3
"""Largest change of work and of trapped mass from one cycle to the next, and largest
difference of what enters and what passes further down the path, relative."""
ATTEMPTS: tuple[tuple[float, int], ...] = ((0.6, 40), (0.3, 40), (0.07, 120))
"""Share of each cycle that replaces the neighbours' history [-], and the most cycles. Found by
trial over the seed parts, as `plant.LAG_LENGTHS`: the first converges for nearly all of them;
where it does not, as with some long runners and with hardly any plenum, the next is tried from
the start."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PathPressures:
    """Mean pressures along the path in Pa, weighted by the mass that passes."""

    plenum: float
    gallery: float
    """Equal to the plenum's where nothing narrows the path below it."""
    mouth: float
    """In the runner's mouth, brought to rest."""
    outlet: float
    """In the primary's end, brought to rest."""
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
    steps: int
    """In one cycle."""
    mass_imbalance: float
    """Largest difference of what passes runner mouth, intake valve or exhaust system from
    what enters, over what enters. [-]"""
    energy_imbalance: float
    """What enters less what leaves, over the fuel's heat. [-]"""


def simulate_cycle(
    spec: EngineSpec, ambient: Ambient, angular_speed: float, *, refinement: int = 1
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
    refinement : int, optional
        How many cells to make of one; steps are cut alike. For studies of the method's
        error.

    Returns
    -------
    CycleResult
        With `converged` false where the last of `ATTEMPTS` was not enough.

    Notes
    -----
    Pipes are marched by an explicit method of second order, the cylinder by the mean of
    two pressures, with a fixed step; within it the pipes walk in strides that no signal
    outruns. Energy and mass are summed beside the state, so what the balances miss is how
    far the cycle still is from repeating itself.
    """
    gas = gas_of(gas_table(FUELS[spec.fuel], spec.air_fuel_ratio))
    runner = runner_of(spec.runner, gas, refinement=refinement)
    primary = primary_of(spec.primary, gas, refinement=refinement)
    steps = step_count(spec, angular_speed, refinement=refinement)
    track = track_of(spec, angular_speed, steps)
    plant = plant_of(spec, ambient, angular_speed, gas, track)
    for weight, most_cycles in ATTEMPTS:
        run = _Run(spec, ambient, plant, gas, track, runner, primary)
        cycles, converged = run.repeat(weight, most_cycles)
        if converged:
            break
    return run.result(cycles=cycles, converged=converged)


def _stand_still(now: tuple[float, float], past: list[tuple[float, float]]) -> bool:
    """Return whether work and trapped mass are those of the last two cycles.

    They swing in as waves between the cylinders settle: of two cycles alone, some are alike
    where a swing turns round.
    """
    return len(past) > 1 and all(
        abs(then - value) < share * CONVERGED * abs(value)
        for before, share in ((past[-1], 1.0), (past[-2], 2.0))
        for then, value in zip(before, now, strict=True)
    )


class _Run:
    """A simulation: what it works with, and what the march leaves."""

    def __init__(
        self,
        spec: EngineSpec,
        ambient: Ambient,
        plant: kernels.Plant,
        gas: kernels.Gas,
        track: kernels.Track,
        runner: kernels.Pipe,
        primary: kernels.Pipe,
    ) -> None:
        self.spec, self.ambient, self.plant = spec, ambient, plant
        self.gas, self.track, self.runner, self.primary = gas, track, runner, primary
        self.contents = first_guess(plant, gas, track, runner, primary)

    def repeat(self, new_cycle_weight: float, most_cycles: int) -> tuple[int, bool]:
        """March until cycles are alike; return how many it took, and whether they were."""
        contents, totals = self.contents, self.contents.totals
        past: list[tuple[float, float]] = []
        for cycle in range(1, most_cycles + 1):
            totals[:] = 0.0
            weight = 1.0 if cycle == 1 else new_cycle_weight
            kernels.march(
                contents, self.plant, self.gas, self.track, self.runner, self.primary, weight
            )
            if not np.isfinite(totals).all():
                return cycle, False
            now = float(totals[kernels.WORK]), float(contents.memory[kernels.TRAPPED_MASS])
            if self.mass_imbalance() < CONVERGED and _stand_still(now, past):
                return cycle, True
            past.append(now)
        return most_cycles, False

    def result(self, *, cycles: int, converged: bool) -> CycleResult:
        totals, memory = self.contents.totals, self.contents.memory
        trapped = float(memory[kernels.TRAPPED_MASS])
        air = float(totals[kernels.THROTTLE_MASS]) / self.plant.cylinders
        collector = self.contents.trace[:, kernels.TRACE_COLLECTOR_TEMPERATURE]
        return CycleResult(
            converged=converged,
            cycles=cycles,
            indicated_work=float(totals[kernels.WORK]),
            pumping_work=float(totals[kernels.PUMPING_WORK]),
            trapped_mass=trapped,
            residual_fraction=float(memory[kernels.TRAPPED_BURNED]) / trapped,
            air_mass=air,
            fuel_mass=float(totals[kernels.FUEL_MASS]),
            volumetric_efficiency=air / self._ambient_filling(),
            peak_pressure=float(totals[kernels.PEAK_PRESSURE]),
            wall_heat=float(totals[kernels.CYLINDER_HEAT]),
            exhaust_temperature=float(collector.mean()),
            pressures=self._path_pressures(),
            steps=self.plant.steps,
            mass_imbalance=self.mass_imbalance(),
            energy_imbalance=self._energy_imbalance(),
        )

    def mass_imbalance(self) -> float:
        """Return the largest share of what enters that is amiss further down the path."""
        plant, totals = self.plant, self.contents.totals
        air = totals[kernels.THROTTLE_MASS] / plant.cylinders
        entered = air + totals[kernels.FUEL_MASS]
        missing = (
            air - totals[kernels.MOUTH_MASS],
            entered - totals[kernels.INTAKE_MASS],
            entered - totals[kernels.SYSTEM_MASS] / plant.cylinders_per_collector,
        )
        return float(max(map(abs, missing)) / entered)

    def _energy_imbalance(self) -> float:
        plant, totals = self.plant, self.contents.totals
        entered = (
            totals[kernels.THROTTLE_ENTHALPY] / plant.cylinders
            + totals[kernels.FUEL_ENTHALPY]
            + totals[kernels.RUNNER_HEAT]
        )
        left = (
            totals[kernels.WORK]
            + totals[kernels.CYLINDER_HEAT]
            + totals[kernels.PRIMARY_HEAT]
            + totals[kernels.SYSTEM_ENTHALPY] / plant.cylinders_per_collector
        )
        heat = totals[kernels.FUEL_MASS] * FUELS[self.spec.fuel].heating_value
        return float((entered - left) / heat)

    def _ambient_filling(self) -> float:
        """Return the mass of ambient dry air that the swept volume holds, in kg."""
        density = gas_density(
            self.ambient.dry_pressure,
            self.ambient.temperature,
            gas_constant=self.gas.air_gas_constant,
        )
        return float(density) * self.plant.chamber.displacement

    def _path_pressures(self) -> PathPressures:
        trace = self.contents.trace

        def mean(column: int, flow_column: int) -> float:
            flow = np.maximum(trace[:, flow_column], 0.0)
            return float(np.average(trace[:, column], weights=flow))

        return PathPressures(
            plenum=mean(kernels.TRACE_PLENUM, kernels.TRACE_THROTTLE_FLOW),
            gallery=mean(kernels.TRACE_GALLERY, kernels.TRACE_MOUTH_FLOW),
            mouth=mean(kernels.TRACE_MOUTH, kernels.TRACE_MOUTH_FLOW),
            outlet=mean(kernels.TRACE_OUTLET, kernels.TRACE_OUTLET_FLOW),
            collector=mean(kernels.TRACE_COLLECTOR, kernels.TRACE_SYSTEM_FLOW),
        )
