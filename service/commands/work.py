"""Work on jobs and chores: beside the server, on other machines, or on a cluster."""

from contextlib import closing
from threading import Event

import typer

from service.app import open_assessor
from service.chores import doing_chores
from service.database import Database
from service.engine.example import compile_kernels
from service.jobs.executors import open_pool
from service.jobs.worker import Worker
from service.settings import get_settings
from service.stopping import stopped_by_signals
from service.workers import CHORE_CONNECTIONS, JOB_CONNECTIONS, chores_of, job_kinds

CONNECTIONS = JOB_CONNECTIONS + CHORE_CONNECTIONS

commands = typer.Typer()


@commands.command()
def worker() -> None:
    """Work on jobs until stopped; the job in hand is then given back.

    Quotes past their last day expire meanwhile and webhooks are sent. Any number may share a
    database. With KITWRIGHT_DASK_SCHEDULER set, sweeps are simulated on that cluster.
    """
    settings = get_settings()
    stopping = Event()
    with (
        stopped_by_signals(stopping),
        closing(Database.open(settings.database_url, pool_size=CONNECTIONS)) as database,
        doing_chores(chores_of(database, settings), stopping),
        open_pool(settings.dask_scheduler) as pool,
    ):
        compile_kernels()
        assessor = open_assessor(database, pool.executor.map)
        Worker(
            database=database,
            kinds=job_kinds(assessor),
            pool=pool,
            stopping=stopping,
        ).run()
