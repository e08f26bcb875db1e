"""What both sides of the job table share: its clock, its values, and how a row changes."""

from datetime import UTC, datetime

from pydantic import TypeAdapter
from sqlalchemy import text
from sqlmodel import Session

from service.jobs.job import FINISHED, Job, JobProblem, JobState
from service.jobs.tables import JobEventRow, JobRow

LONGEST_PHASE = 200

_PROBLEM = TypeAdapter(JobProblem)
_SERVER_CLOCK = text("SELECT clock_timestamp()")


def now(session: Session) -> datetime:
    """Return the time by which leases run out: the server's, so that all workers agree."""
    if session.get_bind().dialect.name == "postgresql":
        moment: datetime = session.connection().execute(_SERVER_CLOCK).scalar_one()
        return moment.astimezone(UTC)
    return datetime.now(UTC)


def job_of(row: JobRow) -> Job:
    """Return the job that a row keeps."""
    return Job(
        id=row.id or 0,
        kind=row.kind,
        state=JobState(row.state),
        progress=row.progress,
        phase=row.phase,
        item_count=row.item_count,
        attempts=row.attempts,
        attempt_limit=row.attempt_limit,
        cancel_requested=row.cancel_requested,
        created_at=row.created_at,
        started_at=row.started_at,
        finished_at=row.finished_at,
        result_url=row.result_url,
        problem=None if row.problem is None else _PROBLEM.validate_python(row.problem),
        version=row.version,
    )


def record(session: Session, row: JobRow, at: datetime) -> None:
    """Count one change and add it to the log; the row is locked by whoever calls this."""
    row.version += 1
    row.phase = row.phase[:LONGEST_PHASE]
    session.add(row)
    session.flush()
    session.add(
        JobEventRow(
            job_id=row.id or 0,
            number=row.version,
            at=at,
            state=row.state,
            progress=row.progress,
            phase=row.phase,
        )
    )
    session.flush()


def end(session: Session, row: JobRow, state: JobState, at: datetime) -> None:
    """Move a job into a final state; nobody holds it any longer."""
    row.state = state.value
    row.lease_until = None
    row.finished_at = at
    row.phase = ""
    if state is not JobState.DONE:
        row.key = None  # The same order may be tried again.
    record(session, row, at)


def is_over(row: JobRow) -> bool:
    """Say whether the job is in a final state."""
    return JobState(row.state) in FINISHED


def fail(session: Session, row: JobRow, problem: JobProblem, at: datetime) -> None:
    """End a job with what went wrong."""
    row.problem = _PROBLEM.dump_python(problem, mode="json")
    end(session, row, JobState.FAILED, at)
