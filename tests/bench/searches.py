"""How long searches take, against other ways to the same answer, and how it grows."""

import json
import sqlite3
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from service.catalog.slots import KIT_SLOTS
from service.kits.fitted import FittedSurface
from service.money import Price
from service.searches.api.memory import CurveMemory
from service.searches.curves import read_curves
from service.searches.field import Field, field_of, price_cents
from service.searches.joining import Screen, listing, passing_count, raw_count
from service.searches.question import Limits, SearchRequest
from service.searches.search import search
from service.searches.task import Task
from service.surfaces.schemas import read_surfaces
from tests.bench import resident
from tests.kits.assembled import around, assembled, level_torque, question
from tests.searches.solver import solved
from tests.searches.test_screens import offer_of
from tests.seed import QUAY_BIG, SEED, shop_rules

REPEATS = 9
SLOTS = len(KIT_SLOTS)
GROWTH = (3, 4, 6, 7, 8, 10)
"""Members of each slot: 3 to the 9th is 2e4, 10 to the 9th is 1e9."""
SYNTHETIC = (7, 7, 7, 7, 7, 7, 8, 8, 8)
"""60 million."""
COMPARED = (5,) * SLOTS
"""Two million, which the slowest of the others still gets through."""


def search_figures(folder: Path) -> dict[str, Any]:
    """Figures of the demo, of made catalogues, and of other ways."""
    del folder
    return {"demo": _demo(), "growth": _growth(), "against": _against()}


def _demo() -> dict[str, Any]:
    content = (SEED / "surfaces.json").read_bytes()
    fitted = next(one for one in read_surfaces(content) if one.family == QUAY_BIG)
    read = CurveMemory(2).read
    build = partial(
        field_of, assembled(QUAY_BIG), offer_of(QUAY_BIG), shop_rules(), fitted, read=read
    )
    cold, field = _timed(build)
    relisted, _ = _timed(build)
    asks = {
        "everything": Limits(),
        "by_price": Limits(price_at_most=Price(amount="5000", currency="USD")),
        "stock_outside": Limits(keeps_stock_exterior=True, power_at_least_kw=240.0),
        "nothing_fits": Limits(keeps_stock_exterior=True, power_at_least_kw=390.0),
    }
    warm = {name: _warm_ms(field, fitted, limits) for name, limits in asks.items()}
    brute, _ = _timed(partial(_every_kit_by_itself, field))
    return {
        "raw_combinations": field.combinations,
        "going_together": len(field.rows),
        "curves": int(field.curves.limit.size),
        "cold_s": cold,
        "after_a_new_price_s": relisted,
        "warm_ms_median": warm,
        "numpy_over_what_goes_together": {
            "s": brute,
            "times_ours": brute * 1e3 / warm["everything"],
        },
        "resident_mb": _resident_mb(),
    }


def _every_kit_by_itself(field: Field) -> list[int]:
    """Read each kit's curve, add its price up, and sort: nothing shared, nothing remembered."""
    low, high = 2000.0, field.kit.rev_limit_rpm
    torque = field.curves.torque[field.curve_of]
    limit = field.curves.limit[field.curve_of]
    curves = read_curves(torque, limit, field.curves.limits_rpm, 0.9)
    mean = curves.mean_torque(low, high)
    cents = np.zeros(len(field.rows), dtype=np.int64)
    for place, parts in enumerate(field.offer.members.values()):
        own = np.array([price_cents(field.kit, part) for part in parts])
        cents += own[field.rows[:, place]]
    return [int(row) for row in np.lexsort((-mean, cents, -curves.peak_power))[:10]]


def _resident_mb() -> dict[str, float]:
    """Of a process of its own: this one holds the solver and all that the bench made."""
    command = [sys.executable, "-m", resident.__name__]
    told = subprocess.run(command, check=True, capture_output=True).stdout  # noqa: S603 - Ours.
    found: dict[str, float] = json.loads(told)
    return found


def _warm_ms(field: Field, fitted: FittedSurface, limits: Limits) -> float:
    asked = SearchRequest(question=question(QUAY_BIG), limits=limits)
    surroundings = replace(around(QUAY_BIG), surface=fitted)
    task = Task(field=field, asked=asked, around=surroundings, fitted=fitted, run=level_torque)
    # On one core, as the server searches: its linear algebra has one thread.
    with threadpool_limits(1):
        return float(np.median([_timed(partial(search, task))[0] for _ in range(REPEATS)]) * 1e3)


def _growth() -> list[dict[str, Any]]:
    found = []
    for sizes in [*((size,) * SLOTS for size in GROWTH), SYNTHETIC]:
        screens = _screens(sizes)
        counting, count = _timed(partial(passing_count, sizes, screens))
        figures = {"raw": raw_count(sizes), "going_together": count, "count_s": counting}
        figures["search_s"], _ = _timed(partial(_whole, sizes, screens))
        found.append(figures)
    return found


def _screens(sizes: tuple[int, ...], share: float = 0.4) -> list[Screen]:
    """Pairs of neighbouring slots, of which a share go together: two in five as in the demo."""
    generator = np.random.default_rng(sum(sizes))
    return [
        Screen(
            name=str(place),
            places=(place, place + 1),
            allowed=generator.random((sizes[place], sizes[place + 1])) < share,
        )
        for place in range(len(sizes) - 1)
    ]


def _values(sizes: tuple[int, ...]) -> list[np.ndarray]:
    generator = np.random.default_rng(1)
    return [generator.integers(1, 1000, size=size) for size in sizes]


def _whole(sizes: tuple[int, ...], screens: list[Screen]) -> list[int]:
    """List what passes, add a value up, and take the ten best."""
    rows = listing(sizes, screens, 20_000_000).rows
    total = np.zeros(len(rows), dtype=np.int64)
    for place, values in enumerate(_values(sizes)):
        total += values[rows[:, place]]
    best = np.argpartition(-total, min(9, len(total) - 1))[:10]
    return sorted(total[best].tolist(), reverse=True)


def _against() -> dict[str, Any]:
    sizes = COMPARED
    screens = _screens(sizes, 0.55)
    ours, best = _timed(partial(_whole, sizes, screens))
    ours = min(ours, *(_timed(partial(_whole, sizes, screens))[0] for _ in range(REPEATS)))
    others = {"numpy": _by_numpy, "sqlite": _by_sqlite, "constraint_solver": _by_solver}
    found: dict[str, Any] = {"raw": raw_count(sizes), "ours_s": ours}
    for name, way in others.items():
        seconds, answer = _timed(partial(way, sizes, screens))
        found[name] = {"s": seconds, "times_ours": seconds / ours, "agrees": answer == best}
    return found


def _by_numpy(sizes: tuple[int, ...], screens: list[Screen]) -> list[int]:
    """Every combination in one array."""
    grid = np.indices(sizes, dtype=np.uint8).reshape(len(sizes), -1)
    passing = np.ones(grid.shape[1], dtype=bool)
    for screen in screens:
        passing &= screen.allowed[tuple(grid[place] for place in screen.places)]
    total = sum(values[grid[place]] for place, values in enumerate(_values(sizes)))
    return sorted(np.asarray(total)[passing].tolist(), reverse=True)[:10]


def _by_sqlite(sizes: tuple[int, ...], screens: list[Screen]) -> list[int]:
    """A cross join in memory, with a table for each slot and each pair that goes together."""
    base = sqlite3.connect(":memory:")  # Only numbers of this file go into its statements.
    for place, values in enumerate(_values(sizes)):
        base.execute(f"create table s{place} (m integer primary key, v integer)")
        rows = list(enumerate(values.tolist()))
        base.executemany(f"insert into s{place} values (?, ?)", rows)  # noqa: S608
    pairs = []
    for number, screen in enumerate(screens):
        base.execute(f"create table p{number} (a integer, b integer, primary key (a, b))")
        together = np.argwhere(screen.allowed).tolist()
        base.executemany(f"insert into p{number} values (?, ?)", together)  # noqa: S608
        first, second = screen.places
        pairs.append(f"p{number}.a = s{first}.m and p{number}.b = s{second}.m")
    tables = [f"s{place}" for place in range(len(sizes))]
    tables += [f"p{number}" for number in range(len(screens))]
    total = " + ".join(f"s{place}.v" for place in range(len(sizes)))
    asked = f"select {total} t from {', '.join(tables)} where {' and '.join(pairs)}"  # noqa: S608
    return [int(row[0]) for row in base.execute(f"{asked} order by t desc limit 10")]


def _by_solver(sizes: tuple[int, ...], screens: list[Screen]) -> list[int]:
    return sorted(solved(sizes, screens, _values(sizes)).totals, reverse=True)[:10]


def _timed(function: Any) -> tuple[float, Any]:  # noqa: ANN401 - whatever is timed.
    start = perf_counter()
    found = function()
    return perf_counter() - start, found
