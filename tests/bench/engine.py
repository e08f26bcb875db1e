"""Points and curves of the cycle simulation, uncached, and how their cost grows.

So that runs on two machines can be compared, the cost of a cell is told against that of a
square root by numpy, timed in the same run.
"""

import os
import time
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from statistics import mean, median
from typing import Any

import numpy as np

from service.catalog.slots import Slot, UseClass
from service.engine import cycle as simulation
from service.engine.curve import Task, power_curve, run_task
from service.engine.cycle import simulate_cycle
from service.engine.example import compile_kernels
from service.engine.fuels import FUELS
from service.engine.gas import gas_table
from service.engine.model import Ambient, EngineSpec
from service.engine.pipes import primary_of, runner_of
from service.engine.plant import gas_of
from service.kits.kit import AssessmentRequest, Kit, kit_of
from service.kits.power import power_answer
from service.kits.translation import ambient, engine_spec
from service.units import rpm_to_rad_per_s
from tests.bench.figures import REPEATS, spread, timed_ms
from tests.seed import MODIFIED_TWIN, QUAY_BIG, families, parts, stock_kit

POINT_RPM = tuple(range(2000, 6501, 500))
"""The issue asks for the mean over these."""
MIDDLE_RPM = 4000.0
REFINEMENTS = (1, 2, 4)
CYCLES = (1, 2, 4)
CURVE_SIZES = (6, 12, 24)
ROOTS = 1_000_000


def engine_figures(_: Path) -> dict[str, Any]:
    compile_kernels()
    kit = bench_kit()
    spec, air = engine_spec(kit), ambient(kit.request.weather)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        pooled = [timed_ms(partial(power_answer, kit, run=pool.map)) for _ in range(REPEATS)]
    alone = [timed_ms(partial(power_answer, kit, run=map)) for _ in range(REPEATS)]
    return {
        **point_figures(spec, air),
        "uncached_curve_ms": spread(pooled),
        "uncached_curve_one_thread_ms": spread(alone),
        "curves_per_minute": spread([60e3 / ms for ms in pooled]),
        "points_per_s_by_threads": scaling(spec, air),
        "point_ms_by_refinement": by_refinement(spec, air),
        "point_ms_by_cycles": by_cycles(spec, air),
        "curve_ms_by_speeds": by_speeds(spec, air),
    }


def point_figures(spec: EngineSpec, air: Ambient) -> dict[str, Any]:
    """Milliseconds of a point by speed, and nanoseconds of a cell's update."""
    by_speed, updates = {}, []
    cells = cell_count(spec)
    for rpm in POINT_RPM:
        speed, taken = float(rpm_to_rad_per_s(rpm)), []
        for _ in range(REPEATS):
            start = time.perf_counter()
            point = simulate_cycle(spec, air, speed)
            taken.append(time.perf_counter() - start)
            updates.append(taken[-1] * 1e9 / (point.cycles * point.steps * cells))
        by_speed[rpm] = median(taken) * 1e3
    roots = [timed_ms(partial(np.sqrt, np.arange(ROOTS) + 1.0)) for _ in range(REPEATS)]
    root_ns = median(roots) * 1e6 / ROOTS
    return {
        "point_ms_by_rpm": rounded(by_speed),
        "point_ms_mean": rounded({"mean": mean(by_speed.values())})["mean"],
        "cells": cells,
        "cell_update_ns": spread(updates),
        "cell_update_in_square_roots": spread([each / root_ns for each in updates]),
    }


def cell_count(spec: EngineSpec, refinement: int = 1) -> int:
    """Cells of runner and primary together."""
    gas = gas_of(gas_table(FUELS[spec.fuel], spec.air_fuel_ratio))
    pipes = (
        runner_of(spec.runner, gas, refinement=refinement),
        primary_of(spec.primary, gas, refinement=refinement),
    )
    return sum(pipe.cell_area.size for pipe in pipes)


def scaling(spec: EngineSpec, air: Ambient) -> dict[str, float]:
    """Points a second by the number of threads, and over that of one thread."""
    tasks = [Task(spec, air, float(rpm_to_rad_per_s(rpm))) for rpm in POINT_RPM] * REPEATS
    rates = {}
    for threads in range(1, (os.cpu_count() or 1) + 1):
        with ThreadPoolExecutor(threads) as pool:
            taken = timed_ms(lambda pool=pool: list(pool.map(run_task, tasks)))  # type: ignore[misc]
        rates[str(threads)] = len(tasks) * 1e3 / taken
    return rounded({**rates, "most_over_one": max(rates.values()) / rates["1"]})


def by_refinement(spec: EngineSpec, air: Ambient) -> dict[str, Any]:
    """Cells cut into so many; steps are cut alike, so that cost grows as the square."""
    speed = float(rpm_to_rad_per_s(MIDDLE_RPM))
    return {
        str(each): {
            "cells": cell_count(spec, each),
            "point_ms": typical(partial(simulate_cycle, spec, air, speed, refinement=each)),
        }
        for each in REFINEMENTS
    }


def by_cycles(spec: EngineSpec, air: Ambient) -> dict[str, float]:
    """What a start and so many cycles cost."""
    speed, attempts = float(rpm_to_rad_per_s(MIDDLE_RPM)), simulation.ATTEMPTS
    first_cycles = partial(simulate_cycle, spec, air, speed)
    taken = {}
    try:
        for cycles in CYCLES:
            simulation.ATTEMPTS = ((attempts[0][0], cycles),)
            taken[str(cycles)] = typical(first_cycles)
    finally:
        simulation.ATTEMPTS = attempts
    return rounded(taken)


def by_speeds(spec: EngineSpec, air: Ambient) -> dict[str, float]:
    """A curve with its bounds, whose part does not grow, by the number of its speeds."""
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return {
            str(size): typical(
                partial(
                    power_curve,
                    spec,
                    air,
                    np.asarray(rpm_to_rad_per_s(np.linspace(2000.0, 6500.0, size))),
                    run=pool.map,
                )
            )
            for size in CURVE_SIZES
        }


def typical(work: partial[Any]) -> float:
    """Median of some runs in milliseconds, to three digits."""
    return float(f"{median(timed_ms(work) for _ in range(REPEATS)):.3g}")


def rounded(figures: dict[Any, float]) -> dict[str, float]:
    return {str(name): float(f"{value:.3g}") for name, value in figures.items()}


def bench_kit() -> Kit:
    """The question of the HTTP part, as the engine gets it."""
    family = families()[QUAY_BIG]
    chosen = stock_kit(QUAY_BIG, intake_manifold=MODIFIED_TWIN)
    request = AssessmentRequest(
        family=QUAY_BIG, use=UseClass.ROAD, place="us-ca", model_year=1997, parts=chosen
    )
    found = {slot: parts()[sku] for slot, sku in chosen.items()}
    heads = parts()[family.stock_parts[Slot.CYLINDER_HEADS]]
    return kit_of(request, family, found, heads)
