"""The job that fits a surface again, on both databases, with a formula for a simulation."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pytest

from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part, load_part, save_part
from service.database import Database
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.jobs.job import Job, JobState
from service.jobs.kinds import Pool
from service.jobs.store.jobs import add_job, find_items, load_job
from service.jobs.worker import Worker
from service.surfaces import refit as refitting
from service.surfaces.api import load_airflow, refit_if_due, refit_order
from service.surfaces.fitting import KIND
from service.surfaces.refit import refit
from service.surfaces.store import find_surface, put_surface
from tests.engine.made_studies import formula
from tests.factories import FAMILY_KEY, make_family
from tests.surfaces.made import ENGINES, HOT_CAM, all_parts, made_surface, with_spec

simulated_engines: list[int] = []


def made_piece(_base: EngineSpec, rows: FloatArray, speeds: FloatArray) -> Any:  # noqa: ANN401 - as the real one.
    """Stands in for the simulation; one point does not converge."""
    simulated_engines.append(len(rows))
    found = formula(rows, speeds)
    found[0, 0] = np.nan
    return found.tolist()


def made_bounds(*_: object) -> tuple[float, ...]:
    return (0.16, 0.15, 0.17)


@pytest.fixture(autouse=True)
def no_simulation(monkeypatch: pytest.MonkeyPatch) -> None:
    simulated_engines.clear()
    monkeypatch.setattr(refitting, "simulated_piece", made_piece)
    monkeypatch.setattr(refitting, "simulated_bounds", made_bounds)


@pytest.fixture
def filled(database: Database) -> Database:
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in all_parts():
            add_part(session, part)
        save_family(session, make_family(), version=1)
    return database


def ordered(database: Database) -> Job:
    with database.writing() as session:
        order = refit_order(FAMILY_KEY, load_airflow(session, FAMILY_KEY), engines=ENGINES)
        return add_job(session, order)


def worked(database: Database, job: Job) -> Job:
    with ThreadPoolExecutor(1) as executor:
        kinds = {KIND: partial(refit, database=database)}
        pool = Pool(executor=executor, width=1)
        Worker(database=database, kinds=kinds, pool=pool).work_once()
    with database.reading() as session:
        return load_job(session, job.id)


def test_a_refit_keeps_the_surface_and_says_where_it_is_read(filled: Database) -> None:
    done = worked(filled, ordered(filled))

    assert (done.state, done.result_url) == (JobState.DONE, f"/v1/surfaces/{FAMILY_KEY}")
    with filled.reading() as session:
        found = find_surface(session, FAMILY_KEY)
    assert found is not None
    assert found.catalog_digest == made_surface().catalog_digest
    assert found.errors.not_converged == done.item_count - 1
    assert sum(simulated_engines) == ENGINES


def test_pieces_that_an_earlier_attempt_simulated_are_taken_over(
    filled: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = ordered(filled)
    with monkeypatch.context() as broken:
        broken.setattr(refitting, "fitted", lambda *_: 1 / 0)
        assert worked(filled, job).state is JobState.QUEUED
    with filled.reading() as session:
        assert len(find_items(session, job.id)) == job.item_count
    simulated_engines.clear()

    done = worked(filled, job)

    assert (done.state, done.attempts) == (JobState.DONE, 2)
    assert simulated_engines == []


def test_the_same_parts_under_the_same_model_are_one_job(filled: Database) -> None:
    first = ordered(filled)

    assert ordered(filled).id == first.id
    assert ordered(filled).item_count == ENGINES // 8 + 1


def test_a_catalogue_that_moved_since_the_order_ends_it(filled: Database) -> None:
    job = ordered(filled)
    _swap_camshaft(filled, intake_centreline_deg=100.0)

    done = worked(filled, job)

    assert done.state is JobState.FAILED
    assert done.problem is not None
    assert "changed since the refit was ordered" in done.problem.detail


def test_a_part_that_leaves_the_range_makes_a_refit_due(filled: Database) -> None:
    with filled.writing() as session:
        put_surface(session, made_surface())
    assert refit_if_due(filled, FAMILY_KEY) is None
    _swap_camshaft(filled, intake_centreline_deg=106.5)
    assert refit_if_due(filled, FAMILY_KEY) is None

    _swap_camshaft(filled, intake_centreline_deg=98.0)

    job = refit_if_due(filled, FAMILY_KEY)
    assert job is not None
    assert (job.kind, job.state) == (KIND, JobState.QUEUED)


def test_another_model_makes_a_refit_due(filled: Database) -> None:
    with filled.writing() as session:
        put_surface(session, replace(made_surface(), model_version="of last year"))

    assert refit_if_due(filled, FAMILY_KEY) is not None


def test_a_family_without_a_surface_has_nothing_to_refit(filled: Database) -> None:
    assert refit_if_due(filled, FAMILY_KEY) is None


def _swap_camshaft(database: Database, **changes: float) -> None:
    with database.writing() as session:
        version = load_part(session, HOT_CAM).version
        save_part(session, with_spec(Slot.CAMSHAFT, HOT_CAM, **changes), version=version)
