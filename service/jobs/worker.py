"""A worker: claims one job after another and runs what its kind says, under a lease."""

import logging
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from threading import Event, Thread
from time import monotonic

from service.database import Database
from service.errors import ServiceError, Unavailable
from service.jobs.job import Claim, JobProblem, LeaseLost, Value
from service.jobs.kinds import JobKinds, JobStopped, Pool
from service.jobs.store import claims
from service.jobs.store.jobs import find_items
from service.problems import kind_of

LOG = logging.getLogger(__name__)

LEASE_S = 30.0
"""How long a silent worker is waited for; a compiler may keep all its threads busy for some."""
LONGEST_BEAT_S = 2.0
"""Between two signs of life; also how late a wish to cancel is heard between pieces."""
POLL_S = 1.0
"""How often an idle worker looks for jobs that another process took in."""
PROGRESS_EVERY_S = 0.5
"""Progress told more often than this is not written down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worker:
    """Works on jobs until it is asked to stop; any number may share a database."""

    database: Database
    kinds: JobKinds
    pool: Pool
    stopping: Event = field(default_factory=Event)
    """Set it, and the job in hand is given back after the piece being worked on."""
    wake: Event = field(default_factory=Event)
    """Set it when a job was taken in by this process."""
    lease_s: float = LEASE_S

    def run(self) -> None:
        """Work until `stopping` is set; a database that does not answer is asked again."""
        while not self.stopping.is_set():
            try:
                worked = self.work_once()
            except Exception:
                LOG.exception("A worker could not go on; it tries again.")
                worked = False
            if not worked:
                self.wake.wait(POLL_S)
                self.wake.clear()

    def work_once(self, *, only: int | None = None) -> bool:
        """Work on one job, or on the one named; answer whether there was any."""
        with self.database.reading() as session:
            if not claims.is_waiting(session, self.kinds):
                return False
        with self.database.writing() as session:
            claim = claims.claim_job(session, self.kinds, lease_s=self.lease_s, only=only)
        if claim is None:
            return False
        self._work(claim)
        return True

    def _work(self, claim: Claim) -> None:
        held = _Held(self, claim)
        end: claims.Ending
        try:
            with held.kept_alive():
                result_url = self.kinds[claim.kind](claim.payload, held)
            end = partial(claims.complete_job, result_url=result_url)
        except JobStopped:
            end = claims.end_cancelled_job if held.unwanted else claims.give_back_job
        except LeaseLost as error:
            LOG.warning("%s", error)
            return
        except Exception as error:  # noqa: BLE001 - Whatever it is, the job has to end.
            end = self._failure(claim, error)
        try:
            with self.database.writing() as session:
                end(session, claim)
        except LeaseLost as error:
            LOG.warning("%s", error)

    @staticmethod
    def _failure(claim: Claim, error: Exception) -> claims.Ending:
        """Give up on an order that is wrong in itself; anything else may pass."""
        problem = job_problem(error)
        if isinstance(error, ServiceError) and not isinstance(error, Unavailable):
            return partial(claims.fail_job, problem=problem)
        LOG.error("Job %d failed in an unforeseen way", claim.job_id, exc_info=error)
        return partial(claims.retry_job, problem=problem)


class _Held:
    """A job in the hands of its worker; it is the `JobContext` of the function that runs."""

    def __init__(self, worker: Worker, claim: Claim) -> None:
        self._worker = worker
        self._claim = claim
        self._lost = Event()
        self._ended = Event()
        self._told_at = -PROGRESS_EVERY_S
        self.unwanted = False
        with worker.database.reading() as session:
            items = find_items(session, claim.job_id)
        self.finished: Mapping[int, Value] = {item.position: item.value for item in items}

    @property
    def job_id(self) -> int:
        return self._claim.job_id

    @property
    def pool(self) -> Pool:
        return self._worker.pool

    def progress(self, share: float, phase: str) -> None:
        if monotonic() - self._told_at < PROGRESS_EVERY_S:
            return
        self._told_at = monotonic()
        with self._worker.database.writing() as session:
            claims.record_progress(session, self._claim, share, phase)

    def finish_item(self, position: int, value: Value, phase: str) -> None:
        with self._worker.database.writing() as session:
            self.unwanted |= claims.finish_item(session, self._claim, position, value, phase)

    def cancelled(self) -> bool:
        return self.unwanted or self._lost.is_set() or self._worker.stopping.is_set()

    def check(self) -> None:
        if self._lost.is_set():
            raise LeaseLost(self.job_id)
        if self.cancelled():
            raise JobStopped

    @contextmanager
    def kept_alive(self) -> Iterator[None]:
        """Renew the lease in a thread of its own for as long as the work lasts."""
        beats = Thread(target=self._beat, name=f"lease of job {self.job_id}", daemon=True)
        beats.start()
        try:
            yield
        finally:
            self._ended.set()
            beats.join()

    def _beat(self) -> None:
        lease_s = self._worker.lease_s
        while not self._ended.wait(min(lease_s / 3.0, LONGEST_BEAT_S)):
            try:
                with self._worker.database.writing() as session:
                    self.unwanted |= claims.renew_lease(session, self._claim, lease_s=lease_s)
            except LeaseLost:
                self._lost.set()
                return
            except Exception:
                LOG.exception("The lease of job %d could not be renewed yet", self.job_id)


def job_problem(error: Exception) -> JobProblem:
    """Return why a job failed, as it is told to its caller."""
    kind = kind_of(error)
    # What an unforeseen error says may hold secrets; the log has it.
    known = isinstance(error, ServiceError)
    detail = str(error) if known else "An unforeseen error ended the job; the log holds more."
    return JobProblem(type=kind.type_uri, title=kind.title, status=kind.status, detail=detail)
