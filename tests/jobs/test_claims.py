"""The job table on both databases: who may take a job, and who may write to it."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest
from sqlmodel import select

from service.database import Database
from service.jobs.job import Claim, JobAlreadyFinished, JobNotFound, JobProblem, JobState, LeaseLost
from service.jobs.store import claims
from service.jobs.store.jobs import (
    add_finished_job,
    cancel_job,
    find_events,
    find_items,
    find_jobs,
)
from service.jobs.tables import JobRow
from tests.jobs.counting import COUNT, added, count_order, loaded

LEASE_S = 30.0
PROBLEM = JobProblem(type="/problems/rule-broken", title="No", status=422, detail="It broke.")


def claimed(database: Database, lease_s: float = LEASE_S) -> Claim | None:
    with database.writing() as session:
        return claims.claim_job(session, [COUNT], lease_s=lease_s)


def taken(database: Database) -> Claim:
    claim = claimed(database)
    assert claim is not None
    return claim


def let_lapse(database: Database, job_id: int) -> None:
    """Let the lease of a job have run out a second ago."""
    with database.writing() as session:
        row = session.exec(select(JobRow).where(JobRow.id == job_id)).one()
        row.lease_until = datetime.now(UTC) - timedelta(seconds=1.0)


def test_many_workers_take_every_job_exactly_once(database: Database) -> None:
    ids = {added(database, count_order()).id for _ in range(40)}
    taken_ids: list[int] = []

    def take_all() -> None:
        while (claim := claimed(database)) is not None:
            taken_ids.append(claim.job_id)

    threads = [Thread(target=take_all) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert Counter(taken_ids) == Counter(dict.fromkeys(ids, 1))


def test_the_oldest_job_is_taken_first_and_other_kinds_are_left_alone(database: Database) -> None:
    first, second = added(database, count_order()), added(database, count_order())

    with database.writing() as session:
        assert claims.claim_job(session, ["another"], lease_s=LEASE_S) is None
    assert [taken(database).job_id, taken(database).job_id] == [first.id, second.id]
    assert claimed(database) is None


def test_a_job_whose_lease_ran_out_is_taken_again_and_its_first_holder_is_refused(
    database: Database,
) -> None:
    job = added(database, count_order())
    first = taken(database)
    let_lapse(database, job.id)
    second = taken(database)

    for late in (
        lambda session: claims.complete_job(session, first, None),
        lambda session: claims.finish_item(session, first, 0, {}, ""),
        lambda session: claims.fail_job(session, first, PROBLEM),
        lambda session: claims.give_back_job(session, first),
        lambda session: claims.renew_lease(session, first, lease_s=LEASE_S),
    ):
        with pytest.raises(LeaseLost), database.writing() as session:
            late(session)
    with database.writing() as session:
        claims.complete_job(session, second, "/here")
        assert find_items(session, job.id) == []
    assert loaded(database, job.id).state is JobState.DONE
    assert loaded(database, job.id).attempts == 2


def test_a_lease_that_ran_out_is_lost_even_when_nobody_took_the_job(database: Database) -> None:
    job = added(database, count_order())
    claim = taken(database)

    let_lapse(database, job.id)
    with pytest.raises(LeaseLost), database.writing() as session:
        claims.complete_job(session, claim, None)

    assert loaded(database, job.id).state is JobState.RUNNING


def test_a_job_that_silences_its_workers_fails_at_the_limit_it_states(database: Database) -> None:
    job = added(database, count_order())
    for _ in range(job.attempt_limit):
        assert taken(database).job_id == job.id
        let_lapse(database, job.id)

    assert claimed(database) is None
    failed = loaded(database, job.id)
    assert failed.state is JobState.FAILED
    assert failed.problem is not None
    assert str(job.attempt_limit) in failed.problem.detail


def test_a_job_given_back_is_whole_and_has_used_no_attempt(database: Database) -> None:
    job = added(database, count_order(items=2))
    claim = taken(database)
    with database.writing() as session:
        claims.finish_item(session, claim, 0, {"square": 0}, "first")
        claims.give_back_job(session, claim)

    waiting = loaded(database, job.id)
    assert (waiting.state, waiting.attempts, waiting.progress) == (JobState.QUEUED, 0, 0.5)
    with database.reading() as session:
        assert [item.position for item in find_items(session, job.id)] == [0]


def test_a_failure_that_may_pass_is_tried_again_until_the_limit(database: Database) -> None:
    job = added(database, count_order())
    for _ in range(job.attempt_limit):
        with database.writing() as session:
            claim = claims.claim_job(session, [COUNT], lease_s=LEASE_S)
            assert claim is not None
            claims.retry_job(session, claim, PROBLEM)

    failed = loaded(database, job.id)
    assert (failed.state, failed.problem) == (JobState.FAILED, PROBLEM)


def test_one_key_is_one_job_until_it_is_cancelled(database: Database) -> None:
    first = added(database, count_order(key="k"))

    assert added(database, count_order(key="k")).id == first.id
    with database.writing() as session:
        cancel_job(session, first.id)
    assert added(database, count_order(key="k")).id != first.id


def test_two_orders_with_one_key_at_once_are_one_job(database: Database) -> None:
    ids: list[int] = []
    threads = [
        Thread(target=lambda: ids.append(added(database, count_order(key="k")).id))
        for _ in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(ids) == 6
    assert len(set(ids)) == 1


def test_every_change_is_an_event_and_the_numbers_rise_by_one(database: Database) -> None:
    job = added(database, count_order(items=2))
    claim = taken(database)
    with database.writing() as session:
        claims.finish_item(session, claim, 0, {}, "first")
        claims.finish_item(session, claim, 1, {}, "second")
        claims.complete_job(session, claim, None)

    with database.reading() as session:
        events = find_events(session, job.id)
        assert find_events(session, job.id, after=3) == events[3:]
    assert [event.number for event in events] == [1, 2, 3, 4, 5]
    assert [event.progress for event in events] == [0.0, 0.0, 0.5, 1.0, 1.0]
    assert [event.state.value for event in events] == ["queued", *["running"] * 3, "done"]
    assert loaded(database, job.id).version == 5
    assert all(event.at.tzinfo is UTC for event in events)


def test_a_job_that_waits_is_cancelled_at_once_and_one_that_is_over_cannot_be(
    database: Database,
) -> None:
    job = added(database, count_order())
    with database.writing() as session:
        assert cancel_job(session, job.id).state is JobState.CANCELLED

    with pytest.raises(JobAlreadyFinished), database.writing() as session:
        cancel_job(session, job.id)
    with pytest.raises(JobNotFound), database.writing() as session:
        cancel_job(session, job.id + 1)
    assert claimed(database) is None


def test_a_running_job_is_asked_to_stop_and_nobody_goes_on_with_it(database: Database) -> None:
    job = added(database, count_order())
    claim = taken(database)
    with database.writing() as session:
        assert cancel_job(session, job.id).cancel_requested
        assert claims.renew_lease(session, claim, lease_s=LEASE_S)
    let_lapse(database, job.id)
    assert claimed(database) is None

    assert loaded(database, job.id).state is JobState.CANCELLED


def test_lists_show_the_newest_first_and_go_on_after_a_number(database: Database) -> None:
    ids = [added(database, count_order()).id for _ in range(3)]
    taken(database)

    with database.reading() as session:
        assert [job.id for job in find_jobs(session)] == ids[::-1]
        assert [job.id for job in find_jobs(session, before=ids[2], limit=1)] == [ids[1]]
        assert [job.id for job in find_jobs(session, state=JobState.RUNNING)] == [ids[0]]
        assert find_jobs(session, kind="another") == []


def test_an_order_whose_pieces_are_there_is_done_when_it_is_taken_in(database: Database) -> None:
    with database.writing() as session:
        pieces = [{"square": 0}, {"square": 1}]
        job = add_finished_job(session, count_order(items=2), pieces, "/{id}")
        assert [item.value["square"] for item in find_items(session, job.id)] == [0, 1]

    assert (job.state, job.progress, job.result_url) == (JobState.DONE, 1.0, f"/{job.id}")
    assert loaded(database, job.id) == job
