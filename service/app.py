"""The composition root: the only place that knows every slice."""

import logging
import os
from collections.abc import AsyncIterator, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from functools import partial
from importlib.metadata import version
from threading import Event

from anyio import to_thread
from fastapi import APIRouter, Depends, FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from threadpoolctl import threadpool_limits

from service import health
from service.access.api import Gate, KeyRing
from service.catalog.api import families, parts, rules
from service.comparisons import api as comparisons
from service.compliance.api import documents, files, jurisdictions
from service.compliance.api import parts as part_blocks
from service.compliance.api.flags import flag_parts
from service.database import Database
from service.engine.curve import PointRunner
from service.engine.example import compile_kernels
from service.exchange import api as exchange
from service.idempotency.api import Once
from service.install import api as work_sheets
from service.jobs import api as jobs
from service.kits import api as assessments
from service.kits.api import Assessor
from service.openapi import describe
from service.pages.api import (
    bolts,
    builder,
    catalogue,
    editing,
    evidence,
    found,
    importing,
    login,
    nowhere,
    quote_files,
    quoting,
    sheets,
    shop,
    shop_files,
)
from service.pages.api import files as page_files
from service.pages.api import routes as desk
from service.papertrails import api as papertrails
from service.partslists import api as partslists
from service.problems import add_problem_handlers
from service.quotes.api import exports, moves, prices, quotes
from service.refused import api as refused
from service.refused.api import refusal_noter
from service.searches.api import routes as searches
from service.searches.api.searcher import Searcher
from service.settings import Settings
from service.simulations import api as simulations
from service.stopping import stopped_by_signals
from service.surfaces import api as surfaces
from service.surfaces.api import CatalogueWatch, refit_if_due
from service.surfaces.store import SurfaceMemory
from service.surroundings import Surroundings
from service.webhooks import api as webhooks
from service.workers import CONNECTIONS, Workers, chores_of

DESCRIPTION = "Airflow kits for pushrod engines: fit, power, paperwork, price, in one answer."

TAGS = [
    {"name": "catalogue", "description": "Engine families, parts, shop rules; files of them."},
    {"name": "compliance", "description": "Papers on file, and what they say of which use."},
    {"name": "assessments", "description": "One kit on one engine, for one use in one place."},
    {"name": "comparisons", "description": "Whether one kit is really better than another."},
    {"name": "simulations", "description": "Curves of many kits, worked out beside requests."},
    {"name": "searches", "description": "The best kits of all combinations, with reasons."},
    {"name": "surfaces", "description": "Fitted to simulations of a family; how far off."},
    {"name": "quotes", "description": "Priced, frozen when issued, never changed afterwards."},
    {"name": "webhooks", "description": "Events told to other systems, signed, until they arrive."},
    {"name": "work sheets", "description": "How a kit goes on: steps, torques, readings."},
    {"name": "jobs", "description": "Work that outlives the request that asked for it."},
    {"name": "service", "description": "The service itself: its health and its problems."},
]

ROUTERS: Sequence[APIRouter] = [
    health.router,
    families.router,
    parts.router,
    part_blocks.router,
    rules.router,
    files.router,
    documents.router,
    jurisdictions.router,
    refused.router,
    exchange.router,
    assessments.router,
    papertrails.router,
    partslists.router,
    comparisons.router,
    searches.router,
    simulations.router,
    surfaces.router,
    exports.router,  # Before what would read its addresses as numbers.
    quotes.router,
    moves.router,
    prices.router,
    work_sheets.router,
    webhooks.router,
    jobs.router,
    quote_files.router,  # The same.
    quoting.router,
    sheets.router,
    evidence.router,
    found.router,
    desk.router,
    bolts.router,
    builder.router,
    shop.router,
    shop_files.router,
    login.router,
    catalogue.router,
    editing.router,
    importing.router,
    page_files.router,
    nowhere.router,
    # One line for each `api.py`, in the order of the document.
]

WATCHED = (parts.router, exchange.router, editing.router, importing.router)
"""What is written there may leave the range of a surface."""

LOG = logging.getLogger(__name__)


def create_app(settings: Settings, routers: Sequence[APIRouter] = ROUTERS) -> FastAPI:
    """Build the application; what it connects to is opened when it starts.

    A test of the machinery passes a router of its own in place of all the slices.
    """
    app = FastAPI(
        title="Kitwright",
        version=version("kitwright"),
        description=DESCRIPTION,
        openapi_tags=TAGS,
        docs_url=None,
        redoc_url=None,
        lifespan=_lifespan,
        separate_input_output_schemas=False,
        generate_unique_id_function=_operation_id,
    )
    app.state.settings = settings
    app.state.cursor_key = settings.secret.get_secret_value().encode()
    app.state.part_flagger = flag_parts
    app.state.chores_of = chores_of
    app.state.compiled = Event()
    app.add_middleware(Gate, turn_away=login.turn_away)
    app.add_middleware(Surroundings)
    add_problem_handlers(app)
    for router in routers:
        # On the application itself the limit would answer outside `Surroundings`, in plain text.
        watch = [Depends(surfaces.watch_catalogue)] if router in WATCHED else None
        app.include_router(router, max_body_size=settings.max_body_bytes, dependencies=watch)
    # FastAPI asks the instance for its document; this is its documented way to replace it.
    app.openapi = partial(describe, app)  # type: ignore[method-assign]
    return app


def open_assessor(
    database: Database,
    run: PointRunner,
    *,
    is_compiled: Callable[[], bool] = lambda: True,
    note_misfit: Callable[[str], object] | None = None,
) -> Assessor:
    """Return an assessor that knows the surfaces, here and in a process of its own."""
    return Assessor(
        database=database,
        run=run,
        is_compiled=is_compiled,
        surface_of=SurfaceMemory().find,
        note_misfit=note_misfit or partial(refit_if_due, database),
    )


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    """Hold what has to be given back at the end: connections and threads."""
    settings: Settings = app.state.settings
    to_thread.current_default_thread_limiter().total_tokens = settings.thread_count
    database = Database.open(settings.database_url, pool_size=settings.thread_count + CONNECTIONS)
    pool = ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="simulation")
    compiled: Event = app.state.compiled
    app.state.database = database
    app.state.once = Once(database)
    app.state.key_ring = KeyRing(database)
    app.state.note_refusal = refusal_noter(database)
    app.state.stopping = Event()
    app.state.job_taken_in = Event()
    app.state.catalogue_watch = CatalogueWatch(database, app.state.job_taken_in)
    # To see whether a refit is due takes a second; nobody waits for it with an answer.
    watching = ThreadPoolExecutor(1, thread_name_prefix="surface watch")
    app.state.assessor = open_assessor(
        database,
        pool.map,
        is_compiled=compiled.is_set,
        note_misfit=lambda _family: watching.submit(app.state.catalogue_watch.look),
    )
    app.state.searcher = Searcher.beside(app.state.assessor)
    pool.submit(_compile, compiled)
    list(iter_route_contexts(app.routes))  # Else prepared at the first request, which waits.
    workers = Workers(
        settings=settings,
        assessor=app.state.assessor,
        chores=app.state.chores_of(database, settings),
        compiled=compiled,
        stopping=app.state.stopping,
        wake=app.state.job_taken_in,
    )
    # Requests are this process's threads. Products of small arrays would otherwise wait for the
    # threads of BLAS to be given a core: 16 ms instead of 0.2 where there are two.
    with threadpool_limits(1), stopped_by_signals(app.state.stopping), workers.working():
        yield
    watching.shutdown(cancel_futures=True)
    pool.shutdown(cancel_futures=True)
    database.close()


def _compile(compiled: Event) -> None:
    """Compile the physics beside the first requests; `/readyz` waits for it."""
    try:
        compile_kernels()
    except Exception:
        LOG.exception("The physics cannot be compiled; this process will not get ready.")
        raise
    compiled.set()


def _operation_id(route: APIRoute) -> str:
    return route.name
