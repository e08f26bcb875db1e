"""Jobs claimed, held and ended by the worker that does them.

A claim is one statement that locks one row: SQLite lets in one writing transaction at a
time, PostgreSQL skips rows that another worker has locked. Every later write of a holder
finds the row by its token and its lease, so that a worker that was thought dead can do
no harm when it wakes.
"""

from collections.abc import Callable, Collection
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement
from sqlmodel import Session, and_, col, or_, select

from service.jobs.job import Claim, JobProblem, JobState, LeaseLost, Value
from service.jobs.store.rows import end, fail, now, record
from service.jobs.tables import JobItemRow, JobRow
from service.problem_kinds import KIND_BY_SLUG

Ending = Callable[[Session, Claim], None]
"""What a worker does with a job that it has finished with."""


def is_waiting(session: Session, kinds: Collection[str]) -> bool:
    """Say whether there is something to claim, without taking the lock of writers."""
    statement = select(JobRow.id).where(_claimable(kinds, now(session))).limit(1)
    return session.exec(statement).first() is not None


def claim_job(
    session: Session,
    kinds: Collection[str],
    *,
    lease_s: float,
    only: int | None = None,
) -> Claim | None:
    """Take the oldest job that waits or whose worker has gone silent, or the one named."""
    while (row := _next(session, kinds, only)) is not None:
        at = now(session)
        if row.cancel_requested:
            end(session, row, JobState.CANCELLED, at)
        elif row.attempts >= row.attempt_limit:
            fail(session, row, _given_up(row), at)
        else:
            return _claimed(session, row, at, lease_s)
    return None


def renew_lease(session: Session, claim: Claim, *, lease_s: float) -> bool:
    """Hold on to a job; answer whether somebody wants it cancelled."""
    row = _held(session, claim)
    row.lease_until = now(session) + timedelta(seconds=lease_s)
    session.flush()
    return row.cancel_requested


def record_progress(session: Session, claim: Claim, share: float, phase: str) -> None:
    """Tell how far a job is."""
    row = _held(session, claim)
    row.progress = min(max(share, row.progress), 1.0)
    row.phase = phase
    record(session, row, now(session))


def finish_item(session: Session, claim: Claim, position: int, value: Value, phase: str) -> bool:
    """Keep a finished piece and the progress that it is; answer as `renew_lease` does."""
    row = _held(session, claim)
    session.add(JobItemRow(job_id=claim.job_id, position=position, value=dict(value)))
    finished = round(row.progress * claim.item_count) + 1
    row.progress = min(finished / claim.item_count, 1.0)
    row.phase = phase
    record(session, row, now(session))
    return row.cancel_requested


def complete_job(session: Session, claim: Claim, result_url: str | None) -> None:
    """End a job as done."""
    row = _held(session, claim)
    row.progress = 1.0
    row.result_url = result_url
    end(session, row, JobState.DONE, now(session))


def fail_job(session: Session, claim: Claim, problem: JobProblem) -> None:
    """End a job that would fail again."""
    fail(session, _held(session, claim), problem, now(session))


def retry_job(session: Session, claim: Claim, problem: JobProblem) -> None:
    """Let a job be tried again, or end it when this was the last attempt."""
    row = _held(session, claim)
    if row.attempts >= row.attempt_limit:
        fail(session, row, problem, now(session))
    else:
        _back_to_queue(session, row)


def give_back_job(session: Session, claim: Claim) -> None:
    """Hand a job to whichever worker is next; being asked to stop is no failed attempt."""
    row = _held(session, claim)
    row.attempts -= 1
    _back_to_queue(session, row)


def end_cancelled_job(session: Session, claim: Claim) -> None:
    """End a job that somebody cancelled, now that its worker has stopped."""
    end(session, _held(session, claim), JobState.CANCELLED, now(session))


def _claimable(kinds: Collection[str], at: datetime) -> ColumnElement[bool]:
    silent = and_(JobRow.state == JobState.RUNNING.value, col(JobRow.lease_until) < at)
    return and_(col(JobRow.kind).in_(kinds), or_(JobRow.state == JobState.QUEUED.value, silent))


def _next(session: Session, kinds: Collection[str], only: int | None) -> JobRow | None:
    statement = select(JobRow).where(_claimable(kinds, now(session)))
    if only is not None:
        statement = statement.where(JobRow.id == only)
    statement = statement.order_by(col(JobRow.id)).limit(1).with_for_update(skip_locked=True)
    return session.exec(statement.execution_options(populate_existing=True)).first()


def _claimed(session: Session, row: JobRow, at: datetime, lease_s: float) -> Claim:
    row.state = JobState.RUNNING.value
    row.attempts += 1
    row.token += 1
    row.lease_until = at + timedelta(seconds=lease_s)
    row.started_at = row.started_at or at
    record(session, row, at)
    return Claim(
        job_id=row.id or 0,
        kind=row.kind,
        payload=row.payload,
        item_count=row.item_count,
        token=row.token,
    )


def _held(session: Session, claim: Claim) -> JobRow:
    """Lock and return the row of a job that this claim still holds, or raise `LeaseLost`."""
    statement = (
        select(JobRow)
        .where(
            JobRow.id == claim.job_id,
            JobRow.token == claim.token,
            JobRow.state == JobState.RUNNING.value,
        )
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    row = session.exec(statement).first()
    if row is None or row.lease_until is None or row.lease_until < now(session):
        raise LeaseLost(claim.job_id)
    return row


def _back_to_queue(session: Session, row: JobRow) -> None:
    row.state = JobState.QUEUED.value
    row.lease_until = None
    record(session, row, now(session))


def _given_up(row: JobRow) -> JobProblem:
    kind = KIND_BY_SLUG["internal-error"]
    return JobProblem(
        type=kind.type_uri,
        title=kind.title,
        status=kind.status,
        detail=(
            f"Its worker fell silent {row.attempts} times, which is as often as it is tried; "
            "the work itself may end the process that does it."
        ),
    )
