"""What every section measures with, and the machine it ran on."""

import os
import platform
import sqlite3
import statistics
import time
from collections.abc import Callable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any

from service.database import Database
from service.schema import upgrade_schema

REPEATS = 5


def machine() -> dict[str, Any]:
    described = Path("/proc/cpuinfo")
    names = [
        line.partition(":")[2].strip()
        for line in (described.read_text().splitlines() if described.exists() else ())
        if line.startswith("model name")
    ]
    packages = ("fastapi", "uvicorn", "pydantic", "sqlalchemy", "numpy", "numba")
    return {
        "processor": names[0] if names else platform.processor(),
        "cores": os.cpu_count(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "sqlite": sqlite3.sqlite_version,
        **{name: version(name) for name in packages},
    }


def spread(values: Sequence[float]) -> dict[str, Any]:
    """Median and range, to three digits."""
    figures = {"median": statistics.median(values), "low": min(values), "high": max(values)}
    rounded = {name: float(f"{value:.3g}") for name, value in figures.items()}
    return {**rounded, "repetitions": len(values)}


def timed_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1e3


def migrated(url: str) -> Database:
    database = Database.open(url, pool_size=4)
    upgrade_schema(database.engine)
    return database
