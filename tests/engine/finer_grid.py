"""Torque on the default grid against one four times finer, for every seed kit.

Every seed kit is: the factory kit of each family, the kits of the demo's story, and every
kit that differs from a factory one by a single part that the air or the burning meets.
`poe finer-grid` runs them all at nine speeds, which takes minutes, and names the worst;
the suite runs what `test_cycle` picks from the same list.
"""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from itertools import cycle

import numpy as np

from service.catalog.slots import Slot
from service.engine.cycle import simulate_cycle
from service.engine.model import EngineSpec
from service.kits.translation import engine_spec
from service.units import rpm_to_rad_per_s
from tests.kits.assembled import STANDARD_AIR, assembled, point_at
from tests.seed import (
    BOAT_KIT,
    FAMILIES,
    HEADER_KIT,
    OPEN_KIT,
    QUAY_BIG,
    STOCK_LOOK_KIT,
    families,
    of,
)

REFINEMENT = 4
ALLOWED = 0.01
"""Asked for, at every speed. [-]"""
BREATHING = (
    Slot.INTAKE_MANIFOLD,
    Slot.THROTTLE_BODY,
    Slot.CAMSHAFT,
    Slot.CYLINDER_HEADS,
    Slot.EXHAUST_MANIFOLD,
    Slot.EXHAUST_SYSTEM,
    Slot.CALIBRATION,
    Slot.AIR_INLET,
)
STORY = {"boat": BOAT_KIT, "header": HEADER_KIT, "open": OPEN_KIT, "stock look": STOCK_LOOK_KIT}
SWEEP_RPM = tuple(np.linspace(1500.0, 6500.0, 9).tolist())


def seed_kits() -> dict[str, tuple[str, dict[Slot, str]]]:
    """Family and parts of every seed kit, by a name for people."""
    kits: dict[str, tuple[str, dict[Slot, str]]] = {}
    for family in FAMILIES:
        stock = families()[family].stock_parts
        kits[f"{family} factory"] = family, {}
        others = (
            part for slot in BREATHING for part in of(family, slot) if part.sku != stock[slot]
        )
        kits |= {f"{family} {part.sku}": (family, {part.slot: part.sku}) for part in others}
    return kits | {f"{QUAY_BIG} {name} kit": (QUAY_BIG, kit) for name, kit in STORY.items()}


def suite_points() -> list[tuple[str, float]]:
    """Each kit at one of the speeds, in turn."""
    return list(zip(seed_kits(), cycle(SWEEP_RPM), strict=False))


@cache
def engine(name: str) -> EngineSpec:
    """The engine of a seed kit."""
    return engine_spec(assembled(*seed_kits()[name]))


def grid_error(spec: EngineSpec, speed_rpm: float) -> float:
    """Torque on the default grid over that on the finer one, less one."""
    point = point_at(spec, speed_rpm)
    finer = simulate_cycle(
        spec, STANDARD_AIR, float(rpm_to_rad_per_s(speed_rpm)), refinement=REFINEMENT
    )
    brake_work = point.torque * 4.0 * np.pi / spec.cylinders
    missed = point.cycle.indicated_work - finer.indicated_work
    return missed / (brake_work - missed)


def main() -> None:
    tasks = [(name, speed) for name in seed_kits() for speed in SWEEP_RPM]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        errors = list(pool.map(lambda task: grid_error(engine(task[0]), task[1]), tasks))
    found = dict(zip(tasks, errors, strict=True))
    missed = sorted(
        (task for task in tasks if abs(found[task]) > ALLOWED), key=lambda task: -abs(found[task])
    )
    sizes = np.abs(errors)
    sys.stdout.write(
        f"{len(seed_kits())} kits at {len(SWEEP_RPM)} speeds: median {np.median(sizes):.2%}, "
        f"95 % within {np.percentile(sizes, 95.0):.2%}, worst {sizes.max():.2%}; "
        f"{len(missed)} of {len(tasks)} points beyond {ALLOWED:.0%}\n"
    )
    for name, speed in missed:
        sys.stdout.write(f"  {found[name, speed]:+.2%}  {speed:5.0f} rev/min  {name}\n")


if __name__ == "__main__":
    main()
