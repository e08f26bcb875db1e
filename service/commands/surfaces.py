"""Fit response surfaces, keep them, and read them from a file."""

import os
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Annotated

import typer

from service.catalog.store.lists import find_families
from service.database import Database
from service.engine.example import compile_kernels
from service.engine.study import SurfaceErrors
from service.kits.fitted import FittedSurface
from service.settings import get_settings
from service.surfaces.api import load_airflow
from service.surfaces.fitting import design_of, fit_family
from service.surfaces.schemas import read_surfaces, written_surfaces
from service.surfaces.store import put_surface

commands = typer.Typer()


@commands.command()
def fit_surfaces(
    families: Annotated[
        list[str] | None, typer.Argument(help="Keys of engine families; by default all.")
    ] = None,
    *,
    save: Annotated[
        Path | None, typer.Option(help="Write the surfaces to this file as well.")
    ] = None,
) -> None:
    """Simulate the design of each family, fit its surface, and keep it."""
    compile_kernels()
    with closing(Database.open(get_settings().database_url, pool_size=1)) as database:
        with database.reading() as session:
            known = [stored.value.key for stored in find_families(session)]
        fitted = [_fitted(database, family) for family in families or known]
    if save is not None:
        save.write_text(written_surfaces(fitted))


def load_surfaces(file: Path) -> None:
    """Keep the surfaces of a file."""
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.writing() as session,
    ):
        for fitted in read_surfaces(file.read_bytes()):
            put_surface(session, fitted)


def _fitted(database: Database, family: str) -> FittedSurface:
    start = time.perf_counter()
    with database.reading() as session:
        design = design_of(load_airflow(session, family))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        fitted = fit_family(family, design, pool)
    with database.writing() as session:
        put_surface(session, fitted)
    typer.echo(_told(fitted, time.perf_counter() - start))
    return fitted


def _told(fitted: FittedSurface, seconds: float) -> str:
    return (
        f"{fitted.family}, {seconds:.0f} s\n  all engines: {_errors(fitted.errors)}\n"
        f"  catalogue kits: {_errors(fitted.kit_errors)}"
    )


def _errors(errors: SurfaceErrors) -> str:
    return (
        f"{errors.engines} engines, {errors.points} points; "
        f"torque off by {errors.torque_median:.2%} (median), {errors.torque_p95:.2%} (95th "
        f"percentile); peak power {errors.peak_power_median:.2%}, {errors.peak_power_p95:.2%}, "
        f"rank correlation {errors.peak_power_rank:.4f}; {errors.not_converged} not converged"
    )
