"""Jobs taken in, read, listed and cancelled."""

from collections.abc import Callable, Sequence
from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, func, select

from service.jobs.job import (
    Job,
    JobAlreadyFinished,
    JobEvent,
    JobItem,
    JobNotFound,
    JobOrder,
    JobState,
    Value,
)
from service.jobs.store.rows import end, is_over, job_of, now, record
from service.jobs.tables import JobEventRow, JobItemRow, JobRow


def add_job(session: Session, order: JobOrder) -> Job:
    """Take an order in, or return the job that has its key already."""
    return _once(session, order, lambda: _queued(session, order))


def add_finished_job(
    session: Session, order: JobOrder, items: Sequence[Value], result_url: str
) -> Job:
    """Take in an order whose pieces are all there already; `{id}` in the address is its own."""

    def add() -> JobRow:
        row = _queued(session, order)
        job_id = row.id or 0
        session.add_all(
            JobItemRow(job_id=job_id, position=position, value=dict(value))
            for position, value in enumerate(items)
        )
        row.started_at = row.created_at
        row.progress = 1.0
        row.result_url = result_url.format(id=job_id)
        end(session, row, JobState.DONE, row.created_at)
        return row

    return _once(session, order, add)


def find_job(session: Session, key: str) -> Job | None:
    """Return the job with this key that waits, runs or is done, where there is one."""
    row = session.exec(select(JobRow).where(JobRow.key == key)).first()
    return None if row is None else job_of(row)


def load_job(session: Session, job_id: int) -> Job:
    """Return a job, or raise `JobNotFound`."""
    statement = select(JobRow).where(JobRow.id == job_id)
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        raise JobNotFound(job_id)
    return job_of(row)


def find_jobs(
    session: Session,
    *,
    kind: str | None = None,
    state: JobState | None = None,
    before: int | None = None,
    limit: int | None = None,
) -> list[Job]:
    """Return the jobs before a number, the newest first."""
    statement = select(JobRow).order_by(col(JobRow.id).desc()).limit(limit)
    if kind is not None:
        statement = statement.where(JobRow.kind == kind)
    if state is not None:
        statement = statement.where(JobRow.state == state.value)
    if before is not None:
        statement = statement.where(col(JobRow.id) < before)
    return [job_of(row) for row in session.exec(statement)]


def find_events(session: Session, job_id: int, *, after: int = 0) -> list[JobEvent]:
    """Return the changes of a job after a number, in their order."""
    rows = session.exec(
        select(JobEventRow)
        .where(JobEventRow.job_id == job_id, JobEventRow.number > after)
        .order_by(col(JobEventRow.number))
    )
    return [
        JobEvent(
            number=row.number,
            at=row.at,
            state=JobState(row.state),
            progress=row.progress,
            phase=row.phase,
        )
        for row in rows
    ]


def find_items(
    session: Session, job_id: int, *, after: int = -1, limit: int | None = None
) -> list[JobItem]:
    """Return the finished pieces after a position, in their order."""
    rows = session.exec(
        select(JobItemRow)
        .where(JobItemRow.job_id == job_id, JobItemRow.position > after)
        .order_by(col(JobItemRow.position))
        .limit(limit)
    )
    return [JobItem(position=row.position, value=row.value) for row in rows]


def count_items(session: Session, job_id: int) -> int:
    """Return how many pieces are finished."""
    counted = select(func.count()).select_from(JobItemRow).where(JobItemRow.job_id == job_id)
    return session.exec(counted).one()


def cancel_job(session: Session, job_id: int) -> Job:
    """Cancel a job that waits; ask the worker of one that runs to stop."""
    statement = select(JobRow).where(JobRow.id == job_id).with_for_update()
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        raise JobNotFound(job_id)
    if is_over(row):
        raise JobAlreadyFinished(job_id, JobState(row.state))
    if row.state == JobState.QUEUED:
        row.cancel_requested = True
        end(session, row, JobState.CANCELLED, now(session))
    elif not row.cancel_requested:
        row.cancel_requested = True
        record(session, row, now(session))
    return job_of(row)


def remove_finished_jobs(session: Session, *, before: datetime, limit: int) -> int:
    """Delete the oldest jobs that ended before a moment, with all they kept; return how many."""
    statement = (
        select(JobRow.id)
        .where(col(JobRow.finished_at) < before)
        .order_by(col(JobRow.id))
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    old = list(session.exec(statement))
    session.execute(delete(JobItemRow).where(col(JobItemRow.job_id).in_(old)))
    session.execute(delete(JobEventRow).where(col(JobEventRow.job_id).in_(old)))
    session.execute(delete(JobRow).where(col(JobRow.id).in_(old)))
    return len(old)


def _once(session: Session, order: JobOrder, add: Callable[[], JobRow]) -> Job:
    """Add a row, unless another request has just added one with the same key."""
    try:
        with session.begin_nested():
            return job_of(add())
    except IntegrityError:
        found = find_job(session, order.key or "")
        if found is None:
            raise
        return found


def _queued(session: Session, order: JobOrder) -> JobRow:
    at = now(session)
    row = JobRow(
        kind=order.kind,
        key=order.key,
        payload=dict(order.payload),
        item_count=order.item_count,
        state=JobState.QUEUED.value,
        attempt_limit=order.attempt_limit,
        created_at=at,
    )
    record(session, row, at)
    return row
