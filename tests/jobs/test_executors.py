"""A sweep on a Dask cluster of this machine, through the interface that threads have too."""

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import LocalCluster

from service.catalog.slots import Slot
from service.database import Database
from service.jobs import executors
from service.jobs.executors import ClusterMissing, open_pool
from service.jobs.job import JobState
from service.jobs.worker import Worker
from service.kits.api import Assessor
from service.simulations.api import simulation_items, take_in
from service.workers import job_kinds
from tests.jobs.counting import loaded
from tests.kits.assembled import question
from tests.kits.simulated import TOGETHER, factory_power, twin_power
from tests.seed import MODIFIED_TWIN, QUAY_BIG
from tests.served import HOST, fill, sqlite_url


@pytest.fixture(scope="module")
def scheduler() -> Iterator[str]:
    """A scheduler with two worker processes, on a free port."""
    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host=HOST,
        dashboard_address=f"{HOST}:0",
    ) as cluster:
        yield cluster.scheduler_address


def nothing_is_simulated_here(*_: object, **__: object) -> None:
    pytest.fail("It was simulated in this process.")


@pytest.mark.xdist_group(TOGETHER)
def test_a_sweep_is_simulated_on_the_cluster_and_answers_as_it_does_here(
    scheduler: str, tmp_path: Path, sqlite_template: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Same peaks as `power_answer` gives in this process, to the six digits of an answer."""
    shutil.copy(sqlite_template, tmp_path / "kw.db")
    database = Database.open(sqlite_url(tmp_path / "kw.db"), pool_size=3)
    fill(database)
    twin = question(QUAY_BIG, parts={Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})
    job = take_in(database, [question(QUAY_BIG), twin])

    expected = [factory_power().peaks.power.power_kw, twin_power().peaks.power.power_kw]
    # The processes of the cluster have imports of their own.
    monkeypatch.setattr("service.kits.assessment.power_answer", nothing_is_simulated_here)
    with open_pool(scheduler) as pool:
        assessor = Assessor(database=database, run=map)
        worker = Worker(database=database, kinds=job_kinds(assessor), pool=pool)
        assert pool.width == 2 * executors.PIECES_PER_CORE
        assert worker.work_once()

    assert loaded(database, job.id).state is JobState.DONE
    with database.reading() as session:
        kits = [item["kit"] for item in simulation_items(session, job.id)]
    database.close()
    found = [kit["peaks"]["power"]["power_kw"] for kit in kits]
    assert found == pytest.approx(expected, rel=1e-5)


def test_without_the_client_the_message_names_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)

    with pytest.raises(ClusterMissing, match=r"kitwright\[dask\]"), open_pool("tcp://nowhere:1"):
        pass


def test_without_a_scheduler_the_cores_of_this_machine_are_the_pool() -> None:
    with open_pool(None) as pool:
        assert list(pool.executor.map(abs, [-1, -2])) == [1, 2]
        assert pool.width >= executors.PIECES_PER_CORE
