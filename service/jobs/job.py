"""A job: what is asked for, the states that it passes, and who may write to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

from service.errors import Conflict, NotFound
from service.quantities import EDGE_CONFIG

ATTEMPT_LIMIT = 3
"""How often a job is begun before it counts as failed: the work itself may kill its worker."""

Value = Mapping[str, Any]
"""What a kind of job keeps as JSON; nobody else reads it."""


class JobState(StrEnum):
    """Where a job stands; the last three are final."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


FINISHED = frozenset({JobState.DONE, JobState.FAILED, JobState.CANCELLED})


@dataclass(frozen=True, slots=True, kw_only=True)
class JobProblem:
    """Why a job failed, in the words of a problem document (RFC 9457)."""

    __pydantic_config__ = EDGE_CONFIG

    type: str
    """Address of a page that explains this kind of problem."""
    title: str
    status: int
    """The status that a request would have been answered with."""
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A job as everybody sees it."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    kind: str
    state: JobState
    """`queued` and `running` change; `done`, `failed` and `cancelled` are final."""
    progress: float
    """Share of the work that is done, 0 to 1. [-]"""
    phase: str
    """What is being done, for people."""
    item_count: int
    """Pieces that are kept as each is finished; 0: it is all or nothing."""
    attempts: int
    """How often it was begun; being handed back by a worker that stops does not count."""
    attempt_limit: int
    cancel_requested: bool
    """It stops after the piece that is being worked on."""
    created_at: datetime
    started_at: datetime | None
    """Of the first attempt."""
    finished_at: datetime | None
    result_url: str | None
    """Where the result is read; there as soon as it is done."""
    problem: JobProblem | None
    """There when it failed."""
    version: int
    """Rises by one with every change; the number of its last event."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEvent:
    """One change of a job."""

    __pydantic_config__ = EDGE_CONFIG

    number: int
    """1 for the first; the `version` that the change led to."""
    at: datetime
    state: JobState
    progress: float
    phase: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOrder:
    """A job to be taken in."""

    kind: str
    payload: Value
    key: str | None = None
    """Two orders with one key are one job, unless the earlier failed or was cancelled."""
    item_count: int = 0
    attempt_limit: int = ATTEMPT_LIMIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One worker's right to write to a job, for as long as its lease is renewed."""

    job_id: int
    kind: str
    payload: Value = field(repr=False)
    item_count: int
    token: int
    """Rises with every claim: what an earlier holder writes is refused."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobItem:
    """One finished piece of a job."""

    position: int
    """From 0, in the order of the payload."""
    value: Value


class JobNotFound(NotFound):
    """No job has this number."""

    def __init__(self, job_id: int) -> None:
        super().__init__(f"There is no job {job_id}.")


class JobAlreadyFinished(Conflict):
    """A job that is over cannot be cancelled."""

    def __init__(self, job_id: int, state: JobState) -> None:
        super().__init__(f"Job {job_id} is {state} already; there is nothing to cancel.")


class LeaseLost(Conflict):
    """The job is no longer this worker's: its lease ran out, or another one holds it."""

    def __init__(self, job_id: int) -> None:
        super().__init__(f"The lease of job {job_id} was lost; what was found is thrown away.")
