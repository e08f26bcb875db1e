"""Points and curves of the cycle simulation, uncached."""

import os
import time
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

from service.catalog.slots import Slot, UseClass
from service.engine.cycle import simulate_cycle
from service.engine.example import compile_kernels
from service.kits.kit import AssessmentRequest, Kit, kit_of
from service.kits.power import power_answer
from service.kits.translation import ambient, engine_spec
from service.units import rpm_to_rad_per_s
from tests.bench.figures import REPEATS, spread, timed_ms
from tests.seed import MODIFIED_TWIN, QUAY_BIG, families, parts, stock_kit

POINT_RPM = (2000.0, 4000.0, 6000.0)


def engine_figures(_: Path) -> dict[str, Any]:
    compile_kernels()
    kit = bench_kit()
    spec, air = engine_spec(kit), ambient(kit.request.weather)
    points, steps = [], []
    for rpm in POINT_RPM * REPEATS:
        speed = float(rpm_to_rad_per_s(rpm))
        start = time.perf_counter()
        cycle = simulate_cycle(spec, air, speed)
        seconds = time.perf_counter() - start
        points.append(seconds * 1e3)
        steps.append(seconds * 1e9 / (cycle.cycles * cycle.steps))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        pooled = [timed_ms(partial(power_answer, kit, run=pool.map)) for _ in range(REPEATS)]
    alone = [timed_ms(partial(power_answer, kit, run=map)) for _ in range(REPEATS)]
    return {
        "uncached_curve_ms": spread(pooled),
        "uncached_curve_one_thread_ms": spread(alone),
        "point_ms": spread(points),
        "step_ns": spread(steps),
    }


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
