"""What works unasked or for later: jobs and chores, beside requests and in a process of its own."""

import logging
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from threading import Event, Thread

from service.chores import Chore, doing_chores
from service.database import Database
from service.idempotency.store import KEPT_FOR, remove_old_keys
from service.jobs.executors import open_pool
from service.jobs.kinds import JobKinds, Pool
from service.jobs.store.jobs import remove_finished_jobs
from service.jobs.worker import Worker
from service.kits.api import Assessor
from service.quotes.expiring import expire_one
from service.settings import Settings
from service.simulations.runner import simulate
from service.simulations.simulation import KIND as SIMULATION
from service.surfaces.fitting import KIND as SURFACE_FIT
from service.surfaces.refit import refit
from service.webhooks.delivering import deliver_one
from service.webhooks.store.outbox import remove_old_messages

JOBS_AT_ONCE = 2
"""Beside requests: one kit does not wait for the long job that came before it."""
JOB_CONNECTIONS = 2
"""Of each of them: one for what it finds, one for its lease."""
WEBHOOKS_AT_ONCE = 3
"""A receiver that answers slowly holds up one of them."""
CHORE_CONNECTIONS = 4 + WEBHOOKS_AT_ONCE
"""One for each thread of a chore."""
CONNECTIONS = JOBS_AT_ONCE * JOB_CONNECTIONS + CHORE_CONNECTIONS
"""Beside those of requests."""
FORGET_EVERY_S = 3600.0
FORGOTTEN_AT_ONCE = 50
"""In one transaction: a sweep holds thousands of pieces, and writers wait meanwhile."""
COMPILED_POLL_S = 0.1
POOL_RETRY_S = 5.0

LOG = logging.getLogger(__name__)


def job_kinds(assessor: Assessor) -> JobKinds:
    """Say which function does which kind of job."""
    return {
        SIMULATION: partial(simulate, assessor=assessor),
        SURFACE_FIT: partial(refit, database=assessor.database),
    }


def chores_of(database: Database, settings: Settings) -> list[Chore]:
    """Say what is done unasked."""
    deliver = partial(deliver_one, database, allow_loopback=settings.webhook_loopback)
    forget = partial(forget_some, database, retention=settings.job_retention)
    forget_keys = partial(forget_some, database, remove_old_keys, retention=KEPT_FOR)
    return [
        Chore(name="expiry of quotes", do_next=partial(expire_one, database)),
        Chore(name="delivery of webhooks", do_next=deliver, threads=WEBHOOKS_AT_ONCE),
        Chore(
            name="retention of webhooks",
            do_next=partial(forget, remove_old_messages),
            look_every_s=FORGET_EVERY_S,
        ),
        Chore(name="retention of keys", do_next=forget_keys, look_every_s=FORGET_EVERY_S),
        Chore(
            name="retention of jobs",
            do_next=partial(forget, remove_finished_jobs),
            look_every_s=FORGET_EVERY_S,
        ),
    ]


def forget_some(database: Database, remove: Callable[..., int], *, retention: timedelta) -> bool:
    """Delete some of what was over longer ago than it is kept; answer whether there may be more."""
    with database.writing() as session:
        before = datetime.now(UTC) - retention
        return remove(session, before=before, limit=FORGOTTEN_AT_ONCE) == FORGOTTEN_AT_ONCE


@dataclass(frozen=True, slots=True, kw_only=True)
class Workers:
    """Those of a process that answers requests."""

    settings: Settings
    assessor: Assessor
    chores: Sequence[Chore]
    compiled: Event
    """Set when the physics is; jobs wait for it."""
    stopping: Event
    wake: Event
    """Set when a job was taken in by this process."""

    @contextmanager
    def working(self) -> Iterator[None]:
        """Work beside requests: on jobs where that is wanted, on chores in any case.

        A quote expires and is told of whether or not anybody has started a worker.
        """
        with self._working_on_jobs(), doing_chores(self.chores, self.stopping):
            yield

    @contextmanager
    def _working_on_jobs(self) -> Iterator[None]:
        wanted = self.settings.job_worker
        if not (self.assessor.database.is_embedded if wanted is None else wanted):
            yield
            return
        thread = Thread(target=self._work_on_jobs, name="job worker", daemon=True)
        thread.start()
        yield
        self.wake.set()
        thread.join()

    def _work_on_jobs(self) -> None:
        while not self.compiled.wait(COMPILED_POLL_S):
            if self.stopping.is_set():
                return
        while not self.stopping.is_set():
            try:
                with open_pool(self.settings.dask_scheduler) as pool:
                    self._run_workers(pool)
            except Exception:
                LOG.exception("There is nothing to work on jobs with; it is looked for again.")
                self.stopping.wait(POOL_RETRY_S)

    def _run_workers(self, pool: Pool) -> None:
        worker = Worker(
            database=self.assessor.database,
            kinds=job_kinds(self.assessor),
            pool=pool,
            stopping=self.stopping,
            wake=self.wake,
        )
        with ThreadPoolExecutor(JOBS_AT_ONCE, thread_name_prefix="job") as threads:
            for _ in range(JOBS_AT_ONCE):
                threads.submit(worker.run)
