"""What a kind of job is: a function of its payload, and what it may ask of its worker."""

from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Protocol

from service.jobs.job import Value


class JobStopped(Exception):
    """The job has to stop here; raised by `JobContext.check`, and not to be caught."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """Where the pieces of a job are worked on: threads here, or a cluster."""

    executor: Executor
    width: int
    """How many pieces keep it busy; to have many more in flight only delays a stop."""


class JobContext(Protocol):
    """What the worker does for the function that it runs."""

    @property
    def job_id(self) -> int:
        """Number of the job, for the address of its result."""

    @property
    def pool(self) -> Pool:
        """For independent pieces; what is submitted has to pickle, and never to submit itself."""

    @property
    def finished(self) -> Mapping[int, Value]:
        """Pieces that earlier attempts finished, by position."""

    def progress(self, share: float, phase: str) -> None:
        """Tell how far the work is; call it as often as you like."""

    def finish_item(self, position: int, value: Value, phase: str) -> None:
        """Keep a piece; the progress follows from how many there are."""

    def cancelled(self) -> bool:
        """Say whether to stop: cancelled, handed to another worker, or this one is stopping."""

    def check(self) -> None:
        """Raise `JobStopped` when it is time to stop; call it between pieces."""


JobRunner = Callable[[Value, JobContext], str | None]
"""Does the work and returns the address of the result, where there is one."""

JobKinds = Mapping[str, JobRunner]
"""Given by the composition root: which function does which kind of job."""
