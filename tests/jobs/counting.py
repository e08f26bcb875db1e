"""A kind of job that counts, and a worker of it that runs as a process of its own.

`python -m tests.jobs.counting URL LEASE_S` works until it is killed.
"""

import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from service.database import Database
from service.jobs.job import Job, JobOrder, Value
from service.jobs.kinds import JobContext, Pool
from service.jobs.store.jobs import add_job, load_job
from service.jobs.worker import Worker

COUNT = "count"
RESULT_URL = "/counted/{}"


def count(payload: Value, context: JobContext) -> str:
    """Finish as many pieces as asked for, slowly."""
    for position in range(payload["items"]):
        if position in context.finished:
            continue
        context.check()
        time.sleep(payload["each_s"])
        context.finish_item(position, {"square": position**2}, f"piece {position + 1}")
    return RESULT_URL.format(context.job_id)


def count_order(items: int = 4, each_s: float = 0.0, key: str | None = None) -> JobOrder:
    return JobOrder(
        kind=COUNT, payload={"items": items, "each_s": each_s}, item_count=items, key=key
    )


def added(database: Database, order: JobOrder) -> Job:
    with database.writing() as session:
        return add_job(session, order)


def loaded(database: Database, job_id: int) -> Job:
    with database.reading() as session:
        return load_job(session, job_id)


@contextmanager
def worker_on(database: Database, lease_s: float = 30.0) -> Iterator[Worker]:
    with ThreadPoolExecutor(1) as executor:
        pool = Pool(executor=executor, width=1)
        yield Worker(database=database, kinds={COUNT: count}, pool=pool, lease_s=lease_s)


if __name__ == "__main__":
    here = Database.open(sys.argv[1], pool_size=3)
    with worker_on(here, float(sys.argv[2])) as worker:
        worker.run()
