"""Workers at work, on both databases: threads, processes, and processes that are killed."""

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Event, Thread

import pytest
from sqlmodel import update

from service.chores import doing_chores
from service.database import Database
from service.errors import RuleBroken
from service.jobs.job import Job, JobState, Value
from service.jobs.kinds import JobContext
from service.jobs.store.jobs import (
    cancel_job,
    find_events,
    find_items,
    find_jobs,
    remove_finished_jobs,
)
from service.jobs.tables import JobRow
from service.jobs.worker import Worker
from service.settings import Settings
from service.workers import chores_of, forget_some
from tests.jobs.counting import COUNT, added, count_order, loaded, worker_on

SOON_S = 30.0


def wait_until(happened: Callable[[], bool], within_s: float = SOON_S) -> None:
    give_up = time.monotonic() + within_s
    while not happened():
        assert time.monotonic() < give_up, "it does not happen"
        time.sleep(0.02)


def assert_done_exactly_once(database: Database, job_id: int, items: int) -> None:
    assert loaded(database, job_id).state is JobState.DONE
    with database.reading() as session:
        states = Counter(event.state for event in find_events(session, job_id))
        positions = [item.position for item in find_items(session, job_id)]
    assert states[JobState.DONE] == 1
    assert positions == list(range(items))


def process_on(database_url: str, lease_s: float) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "tests.jobs.counting", database_url, str(lease_s)]
    return subprocess.Popen(command)  # noqa: S603 - Every word is ours.


def test_a_job_is_done_with_its_result_and_the_progress_of_its_pieces(database: Database) -> None:
    job = added(database, count_order(items=3))

    with worker_on(database) as worker:
        assert worker.work_once()
        assert not worker.work_once()

    assert_done_exactly_once(database, job.id, items=3)
    assert loaded(database, job.id).result_url == f"/counted/{job.id}"


def test_workers_in_threads_do_every_job_once(database: Database) -> None:
    ids = [added(database, count_order(items=2)).id for _ in range(12)]
    with worker_on(database) as worker, ThreadPoolExecutor(3) as threads:
        for _ in range(3):
            threads.submit(worker.run)
        wait_until(lambda: all(loaded(database, i).state is JobState.DONE for i in ids))
        worker.stopping.set()

    for job_id in ids:
        assert_done_exactly_once(database, job_id, items=2)
        assert loaded(database, job_id).attempts == 1


def test_every_job_is_done_exactly_once_when_a_worker_process_is_killed(
    database: Database, database_url: str
) -> None:
    """Two processes work; one is killed (SIGKILL cannot be caught) in the middle of a job."""
    ids = [added(database, count_order(items=4, each_s=0.1)).id for _ in range(4)]
    processes = [process_on(database_url, lease_s=1.5) for _ in range(2)]
    try:
        wait_until(lambda: any(loaded(database, i).progress > 0.0 for i in ids))
        processes[0].kill()
        wait_until(lambda: all(loaded(database, i).state is JobState.DONE for i in ids))
    finally:
        for process in processes:
            process.kill()
            process.wait()

    for job_id in ids:
        assert_done_exactly_once(database, job_id, items=4)


def test_the_only_worker_is_killed_and_the_next_one_goes_on_where_it_stopped(
    database: Database, database_url: str
) -> None:
    job = added(database, count_order(items=5, each_s=0.2))
    process = process_on(database_url, lease_s=1.0)
    wait_until(lambda: loaded(database, job.id).progress >= 0.4)
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    with database.reading() as session:
        finished = len(find_items(session, job.id))
    assert loaded(database, job.id).state is JobState.RUNNING

    with worker_on(database) as worker:
        wait_until(worker.work_once)

    assert_done_exactly_once(database, job.id, items=5)
    assert loaded(database, job.id).attempts == 2
    with database.reading() as session:
        running = [e for e in find_events(session, job.id) if e.state is JobState.RUNNING]
    # Two beginnings and five pieces: nothing that was finished was done again.
    assert len(running) == 2 + 5
    assert 2 <= finished < 5


def test_a_worker_that_was_thought_dead_throws_away_what_it_found(database: Database) -> None:
    """Its heart stops, another does the job, and then it wants to go on."""
    job = added(database, count_order(items=1))
    began, goes_on = Event(), Event()

    def sleepy(_payload: Value, context: JobContext) -> str:
        began.set()
        goes_on.wait(SOON_S)
        context.finish_item(0, {"square": -1}, "late")
        return "/late"

    with worker_on(database) as worker, pytest.MonkeyPatch.context() as patch:
        patch.setattr("service.jobs.worker.LONGEST_BEAT_S", SOON_S)
        asleep = replace(worker, kinds={COUNT: sleepy}, lease_s=0.3)
        patch.setattr("service.jobs.worker._Held._beat", lambda _held: None)
        thread = Thread(target=asleep.work_once)
        thread.start()
        began.wait(SOON_S)
        wait_until(worker.work_once)
        goes_on.set()
        thread.join()

    assert_done_exactly_once(database, job.id, items=1)
    assert loaded(database, job.id).result_url == f"/counted/{job.id}"


def test_a_long_job_outlives_its_lease_because_its_worker_renews_it(database: Database) -> None:
    job = added(database, count_order(items=1, each_s=1.5))

    with worker_on(database, lease_s=0.6) as worker, ThreadPoolExecutor(1) as thread:
        working = thread.submit(worker.work_once)
        wait_until(lambda: loaded(database, job.id).state is JobState.RUNNING)
        while not working.done():
            assert not worker.work_once()
            time.sleep(0.1)

    assert loaded(database, job.id).attempts == 1
    assert_done_exactly_once(database, job.id, items=1)


def test_a_job_cancelled_while_it_runs_stops_after_the_piece_in_hand(database: Database) -> None:
    job = added(database, count_order(items=50, each_s=0.1))
    with worker_on(database) as worker, ThreadPoolExecutor(1) as thread:
        working = thread.submit(worker.work_once)
        wait_until(lambda: loaded(database, job.id).progress > 0.0)
        with database.writing() as session:
            cancel_job(session, job.id)
            seen = len(find_items(session, job.id))
        assert working.result(SOON_S)

    cancelled = loaded(database, job.id)
    assert (cancelled.state, cancelled.result_url) == (JobState.CANCELLED, None)
    with database.reading() as session:
        assert len(find_items(session, job.id)) <= seen + 1


def test_a_worker_that_is_asked_to_stop_gives_the_job_back_unharmed(database: Database) -> None:
    job = added(database, count_order(items=50, each_s=0.05))
    with worker_on(database) as worker, ThreadPoolExecutor(1) as thread:
        running = thread.submit(worker.run)
        wait_until(lambda: loaded(database, job.id).progress > 0.0)
        worker.stopping.set()
        running.result(SOON_S)

    waiting = loaded(database, job.id)
    assert (waiting.state, waiting.attempts) == (JobState.QUEUED, 0)
    assert 0.0 < waiting.progress < 1.0


def failing_worker(worker: Worker, error: Exception) -> Worker:
    def fails(_payload: Value, _context: JobContext) -> str:
        raise error

    return replace(worker, kinds={COUNT: fails})


def test_an_order_that_is_wrong_fails_at_once_and_says_why(database: Database) -> None:
    job = added(database, count_order())
    with worker_on(database) as worker:
        failing_worker(worker, RuleBroken("The throat is square.")).work_once()

    failed = loaded(database, job.id)
    assert (failed.state, failed.attempts) == (JobState.FAILED, 1)
    assert failed.problem is not None
    assert (failed.problem.status, failed.problem.detail) == (422, "The throat is square.")


def test_an_unforeseen_error_is_tried_again_and_its_words_stay_in_the_log(
    database: Database, caplog: pytest.LogCaptureFixture
) -> None:
    job = added(database, count_order())
    with worker_on(database) as worker:
        broken = failing_worker(worker, ValueError("password=hunter2"))
        while broken.work_once():
            pass

    failed = loaded(database, job.id)
    assert (failed.state, failed.attempts) == (JobState.FAILED, failed.attempt_limit)
    assert failed.problem is not None
    assert failed.problem.status == 500
    assert "hunter2" not in failed.problem.detail
    assert "hunter2" in caplog.text


def test_a_job_that_is_over_is_kept_as_long_as_it_is_wanted_and_one_that_waits_for_good(
    database: Database,
) -> None:
    over, waiting = added(database, count_order(items=2)), added(database, count_order(items=2))
    with worker_on(database) as worker:
        worker.work_once(only=over.id)

    forget_some(database, remove_finished_jobs, retention=timedelta(days=1))
    assert loaded(database, over.id).state is JobState.DONE

    time.sleep(0.01)
    forget_some(database, remove_finished_jobs, retention=timedelta())

    with database.reading() as session:
        assert [job.id for job in find_jobs(session)] == [waiting.id]
        assert find_items(session, over.id) == []
        assert find_events(session, over.id) == []


def test_a_worker_keeps_everything_and_a_chore_forgets_what_is_old(database: Database) -> None:
    over = added(database, count_order(items=1))
    with worker_on(database) as worker:
        while worker.work_once():
            pass
        assert loaded(database, over.id).state is JobState.DONE

    settings = Settings(_env_file=None, job_retention_days=1)
    with doing_chores(chores_of(database, settings), Event()):
        time.sleep(0.1)
        assert loaded(database, over.id).state is JobState.DONE

    with database.writing() as session:
        session.exec(update(JobRow).values(finished_at=datetime.now(UTC) - timedelta(days=2)))
    with doing_chores(chores_of(database, settings), Event()):
        wait_until(lambda: not _all_jobs(database))


def _all_jobs(database: Database) -> list[Job]:
    with database.reading() as session:
        return find_jobs(session)
