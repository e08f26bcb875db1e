"""The surfaces of the demo: fitted to this model and this catalogue, and as good as they say.

What is claimed is compared with fresh simulations: of engines of another design than the one
that was fitted, and of the kits of the demo's story.
"""

from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np
import pytest
from sqlmodel import Session

from service.catalog.parts import PartStatus
from service.catalog.slots import KIT_SLOTS, Slot
from service.engine.curve import Task as Point
from service.engine.curve import run_task
from service.engine.design import is_inside
from service.engine.parameters import parameters_of
from service.engine.study import simulated, study_speeds
from service.engine.surface import brake_pressure, responses, surface_curves
from service.kits.fitted import FittedSurface
from service.kits.translation import engine_spec
from service.surfaces.catalogue import FamilyAirflow, family_airflow
from service.surfaces.fitting import design_of
from service.surfaces.schemas import read_surfaces
from service.surfaces.store import find_surface, put_surface
from tests.kits.assembled import STANDARD_AIR, assembled
from tests.seed import (
    FAMILIES,
    HEADER_KIT,
    OPEN_KIT,
    QUAY_BIG,
    SEED,
    STOCK_LOOK_KIT,
    families,
    of,
)

FRESH_ENGINES, FRESH_SPEEDS = 4, 3
DESIGN_SAMPLE = (0, 101, 255)
"""Engines of the stored design that are simulated again."""
MEDIAN_TORQUE, P95_PEAK_POWER, PEAK_POWER_RANK = 0.012, 0.025, 0.99
"""What a surface of the demo has to reach on engines that it was not fitted to."""


@cache
def surfaces() -> dict[str, FittedSurface]:
    return {each.family: each for each in read_surfaces((SEED / "surfaces.json").read_bytes())}


@cache
def airflow(family: str) -> FamilyAirflow:
    current = {
        slot: [part for part in of(family, slot) if part.status is PartStatus.CURRENT]
        for slot in KIT_SLOTS
    }
    return family_airflow(families()[family], current)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_file_is_of_this_model_and_this_catalogue(family: str) -> None:
    """Run `kitwright fit-surfaces --save seed_data/surfaces.json` where this fails."""
    fitted = surfaces()[family]

    assert fitted.is_of_this_version
    assert fitted.catalog_digest == airflow(family).digest
    assert is_inside(fitted.surface.box, airflow(family).rows).all()


@pytest.mark.parametrize("family", FAMILIES)
def test_every_surface_is_as_good_as_the_shop_is_told(family: str) -> None:
    """Measured on engines that the fit had not seen."""
    fitted = surfaces()[family]

    for errors in (fitted.errors, fitted.kit_errors):
        assert errors.torque_median <= MEDIAN_TORQUE
        assert errors.peak_power_p95 <= P95_PEAK_POWER
        assert errors.peak_power_rank >= PEAK_POWER_RANK


@pytest.mark.parametrize("family", FAMILIES)
def test_engines_of_another_design_lie_within_the_stated_error(family: str) -> None:
    """Of 12 errors of which 95 % lie below the 95th percentile, 4 above it are 2 in 1000."""
    fitted, generator = surfaces()[family], np.random.default_rng(77)
    box, base = fitted.surface.box, fitted.surface.base
    rows = design_of(airflow(family), engines=FRESH_ENGINES, seed=78).rows
    speeds = study_speeds(box, FRESH_ENGINES, FRESH_SPEEDS, generator)

    with ThreadPoolExecutor(2) as pool:
        true = brake_pressure(simulated(base, rows, speeds, run=pool.map), rows)

    read = brake_pressure(responses(fitted.surface, rows, speeds), rows)
    error = np.abs(read / true - 1.0)
    assert (error > fitted.errors.torque_p95).sum() < 4
    assert np.median(error) < 3.0 * fitted.errors.torque_median


@pytest.mark.parametrize("chosen", [{}, STOCK_LOOK_KIT, HEADER_KIT, OPEN_KIT])
def test_kits_of_the_story_are_read_within_the_bounds_of_an_answer(
    chosen: dict[Slot, str],
) -> None:
    """Catalogue kits, simulated as they are: what a row loses of a kit counts too.

    The open kit is tuned most sharply and read worst, a tenth low at one speed
    (DEVELOPERS.md); the bounds that an answer shows have to hold it.
    """
    fitted = surfaces()[QUAY_BIG]
    spec = engine_spec(assembled(QUAY_BIG, chosen))
    speeds = np.linspace(fitted.surface.box.slowest, fitted.surface.box.fastest, 4)[1:]
    row = parameters_of(spec, STANDARD_AIR)[None, :]

    read = surface_curves(fitted.surface, row, speeds).torque[0]

    with ThreadPoolExecutor(2) as pool:
        tasks = [Point(spec, STANDARD_AIR, float(speed)) for speed in speeds]
        true = np.array([point.torque for point in pool.map(run_task, tasks)])
    error = np.abs(read / true - 1.0)
    assert (error < fitted.relative_error(speeds)).all()
    assert np.median(error) < fitted.kit_errors.torque_p95


def test_the_design_that_was_fitted_can_be_made_again() -> None:
    """Its seed and the catalogue are all that it depends on."""
    fitted = surfaces()[QUAY_BIG]
    design = design_of(airflow(QUAY_BIG), seed=fitted.seed)
    sample = list(DESIGN_SAMPLE)

    rows, speeds = design.rows[sample], design.angular_speed[sample][:, :2]
    with ThreadPoolExecutor(2) as pool:
        true = simulated(fitted.surface.base, rows, speeds, run=pool.map)

    read = responses(fitted.surface, rows, speeds)
    error = np.abs(read[..., 0] / true[..., 0] - 1.0)
    assert np.median(error) < 3.0 * fitted.errors.torque_median


def test_the_surfaces_of_the_demo_are_taken_in_by_both_databases(session: Session) -> None:
    for fitted in surfaces().values():
        put_surface(session, fitted)

    assert all(find_surface(session, family) is not None for family in FAMILIES)
