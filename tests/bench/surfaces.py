"""Kits scored by a surface of the demo, and the time to build one."""

import os
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from service.catalog.parts import PartStatus
from service.catalog.slots import KIT_SLOTS
from service.engine.surface import surface_curves
from service.kits.fitted import FittedSurface
from service.kits.power import CURVE_POINTS
from service.surfaces.catalogue import FamilyAirflow, catalogue_engines, family_airflow
from service.surfaces.fitting import design_of, fit_family
from service.surfaces.schemas import read_surfaces
from tests.bench.figures import REPEATS, spread, timed_ms
from tests.seed import QUAY_BIG, SEED, families, of

SCORED_KITS = 1 << 15


def surface_figures(_: Path) -> dict[str, Any]:
    """Kits scored by a surface of the demo, and all of the demo's surfaces from nothing."""
    surfaces = {each.family: each for each in read_surfaces((SEED / "surfaces.json").read_bytes())}
    surface = surfaces[QUAY_BIG].surface
    rows = catalogue_engines(airflow_of(QUAY_BIG), SCORED_KITS, np.random.default_rng(0))
    speeds = np.linspace(surface.box.slowest, surface.box.fastest, CURVE_POINTS)
    scored = [timed_ms(partial(surface_curves, surface, rows, speeds)) for _ in range(REPEATS)]
    seconds = {family: timed_ms(partial(built, family)) / 1e3 for family in surfaces}
    return {
        "speeds": CURVE_POINTS,
        "kits_scored_per_s": spread([SCORED_KITS / (ms / 1e3) for ms in scored]),
        "built_from_nothing_s": {**seconds, "all": sum(seconds.values())},
    }


def built(family: str) -> FittedSurface:
    """What `kitwright fit-surfaces` does for one family, with the parts in memory."""
    design = design_of(airflow_of(family))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return fit_family(family, design, pool)


def airflow_of(family: str) -> FamilyAirflow:
    """Range of a family's current parts."""
    current = {
        slot: [part for part in of(family, slot) if part.status is PartStatus.CURRENT]
        for slot in KIT_SLOTS
    }
    return family_airflow(families()[family], current)
