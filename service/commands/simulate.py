"""Simulate one kit or a sweep, with a bar that shows how far it is."""

import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Event, Thread
from typing import Annotated

import typer
from pydantic import TypeAdapter
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from service.app import open_assessor
from service.bodies import read_request
from service.catalog.store.families import load_family
from service.catalog.store.parts import find_family_parts
from service.database import Database
from service.errors import RuleBroken, Unavailable
from service.jobs.executors import open_pool
from service.jobs.job import FINISHED, Job, JobState
from service.jobs.store.jobs import load_job
from service.jobs.worker import Worker
from service.kits.kit import AssessmentRequest
from service.settings import Settings, get_settings
from service.simulations.api import simulation_body, simulation_items, take_in
from service.simulations.plain import as_table
from service.simulations.schemas import SimulationRequest
from service.simulations.simulation import Simulation, single_swaps
from service.stopping import stopped_by_signals
from service.workers import job_kinds

CONNECTIONS = 3
"""One for what is found, one for the lease, one for the bar."""
LOOK_EVERY_S = 0.2
PLACE = "us-federal"
"""Of a sweep over a catalogue: a question names a place, and a curve does not depend on it."""

commands = typer.Typer()

_REQUEST: TypeAdapter[AssessmentRequest | list[AssessmentRequest]] = TypeAdapter(SimulationRequest)
_SIMULATION = TypeAdapter(Simulation)


class NothingToSimulate(RuleBroken):
    """Neither kits nor a family were named, or both."""

    def __init__(self) -> None:
        super().__init__("Name a file of kits, or --family and its key; not both.")


class NotSimulated(RuleBroken):
    """The job came to another end."""

    def __init__(self, job: Job) -> None:
        reason = f": {job.problem.detail}" if job.problem else ""
        super().__init__(f"Job {job.id} is {job.state}{reason}. Kits that are finished are kept.")


class Interrupted(Unavailable):
    """Somebody stopped the command."""

    def __init__(self, job: Job) -> None:
        super().__init__(
            f"Job {job.id} was stopped at {job.progress:.0%}; the same command goes on from there."
        )


@commands.command()
def simulate(
    file: Annotated[
        Path | None,
        typer.Argument(help="One kit or a list of kits as JSON; - for standard input."),
    ] = None,
    *,
    family: Annotated[
        str | None,
        typer.Option(help="Every part listed for it, one at a time on the factory kit."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the answer for machines.")] = False,
) -> None:
    """Simulate kits as a job; stopped or killed, the same command goes on where it was."""
    if (file is None) == (family is None):
        raise NothingToSimulate
    settings = get_settings()
    with closing(Database.open(settings.database_url, pool_size=CONNECTIONS)) as database:
        kits = _kits_of_file(file) if file is not None else _kits_of_family(database, family or "")
        job = _done(database, take_in(database, kits), settings)
        with database.reading() as session:
            body = simulation_body(job, simulation_items(session, job.id), None)
    typer.echo(body if json else as_table(_SIMULATION.validate_json(body).items))


def _kits_of_file(file: Path) -> AssessmentRequest | list[AssessmentRequest]:
    text = sys.stdin.buffer.read() if file == Path("-") else file.read_bytes()
    return read_request(_REQUEST, text)


def _kits_of_family(database: Database, key: str) -> list[AssessmentRequest]:
    with database.reading() as session:
        home = load_family(session, key).value
        parts = [stored.value for stored in find_family_parts(session, key)]
    factory = AssessmentRequest(
        family=key, use=home.use_classes[0], place=PLACE, model_year=home.last_model_year
    )
    stock = set(home.stock_parts.values())
    return single_swaps(factory, [part for part in parts if part.sku not in stock])


def _done(database: Database, job: Job, settings: Settings) -> Job:
    """Work on the job until it is done; when another worker holds it, watch."""
    stopping = Event()
    with stopped_by_signals(stopping), _bar(job) as show:
        if job.state not in FINISHED:
            thread = Thread(target=_work, args=(database, job, settings, stopping), daemon=True)
            thread.start()
            while thread.is_alive():
                thread.join(LOOK_EVERY_S)
                job = _loaded(database, job.id)
                show(job)
    if job.state is JobState.DONE:
        return job
    raise Interrupted(job) if stopping.is_set() else NotSimulated(job)


@contextmanager
def _bar(job: Job) -> Iterator[Callable[[Job], None]]:
    """Draw a bar on a terminal; a file or a pipe gets none."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    console = Console(stderr=True)
    with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
        task = progress.add_task(f"job {job.id}", total=job.item_count)

        def show(job: Job) -> None:
            progress.update(task, completed=round(job.progress * job.item_count))

        yield show


def _work(database: Database, job: Job, settings: Settings, stopping: Event) -> None:
    with open_pool(settings.dask_scheduler) as pool:
        kinds = job_kinds(open_assessor(database, pool.executor.map))
        worker = Worker(database=database, kinds=kinds, pool=pool, stopping=stopping)
        while not stopping.is_set() and _loaded(database, job.id).state not in FINISHED:
            if not worker.work_once(only=job.id):
                stopping.wait(LOOK_EVERY_S)


def _loaded(database: Database, job_id: int) -> Job:
    with database.reading() as session:
        return load_job(session, job_id)
