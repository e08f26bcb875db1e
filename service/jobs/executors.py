"""Where pieces of jobs are worked on: threads of this process, or a Dask cluster."""

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from service.errors import RuleBroken
from service.jobs.kinds import Pool

PIECES_PER_CORE = 2
"""In flight: one that is worked on and one that is ready."""


class ClusterMissing(RuleBroken):
    """A cluster is named, and what speaks to it is not installed."""

    def __init__(self) -> None:
        super().__init__("A Dask scheduler is named; install `kitwright[dask]` to speak to it.")


@contextmanager
def open_pool(scheduler: str | None) -> Iterator[Pool]:
    """Open the cluster whose scheduler is named, or this machine's cores."""
    if scheduler is None:
        cores = os.cpu_count() or 1
        with ThreadPoolExecutor(cores, thread_name_prefix="simulation") as executor:
            try:
                yield Pool(executor=executor, width=PIECES_PER_CORE * cores)
            finally:
                executor.shutdown(cancel_futures=True)
        return
    try:
        from distributed import Client  # noqa: PLC0415 - Optional, and slow to import.
    except ImportError as error:
        raise ClusterMissing from error
    with Client(scheduler, set_as_default=False) as client, client.get_executor() as executor:
        yield Pool(executor=executor, width=PIECES_PER_CORE * sum(client.ncores().values()))
