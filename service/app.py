"""The composition root: the only place that knows every slice."""

import os
from collections.abc import AsyncIterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from functools import partial
from importlib.metadata import version
from threading import Event

from anyio import to_thread
from fastapi import APIRouter, FastAPI
from fastapi.routing import APIRoute, iter_route_contexts

from service import health
from service.catalog.api import families, parts, rules
from service.compliance.api import documents
from service.compliance.api.flags import flag_parts
from service.database import Database
from service.engine.example import compile_kernels
from service.exchange import api as exchange
from service.kits import api as assessments
from service.kits.api import Assessor
from service.openapi import describe
from service.problems import add_problem_handlers
from service.settings import Settings
from service.surroundings import Surroundings

DESCRIPTION = "Airflow kits for pushrod engines: fit, power, paperwork, price, in one answer."

TAGS = [
    {"name": "catalogue", "description": "Engine families, parts, shop rules; files of them."},
    {"name": "compliance", "description": "Papers on file, and what they say of which use."},
    {"name": "assessments", "description": "One kit on one engine, for one use in one place."},
    {"name": "service", "description": "The service itself: its health and its problems."},
]

ROUTERS: Sequence[APIRouter] = [
    health.router,
    families.router,
    parts.router,
    rules.router,
    documents.router,
    exchange.router,
    assessments.router,
    # One line for each `api.py`, in the order of the document.
]


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
    app.state.compiled = Event()
    app.add_middleware(Surroundings)
    add_problem_handlers(app)
    for router in routers:
        # On the application itself the limit would answer outside `Surroundings`, in plain text.
        app.include_router(router, max_body_size=settings.max_body_bytes)
    # FastAPI asks the instance for its document; this is its documented way to replace it.
    app.openapi = partial(describe, app)  # type: ignore[method-assign]
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    """Hold what has to be given back at the end: connections and threads."""
    settings: Settings = app.state.settings
    to_thread.current_default_thread_limiter().total_tokens = settings.thread_count
    database = Database.open(settings.database_url, pool_size=settings.thread_count)
    pool = ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="simulation")
    app.state.database = database
    app.state.assessor = Assessor(database=database, run=pool.map)
    pool.submit(_compile, app.state.compiled)
    # FastAPI prepares the routes at the first request; here nobody waits for it.
    list(iter_route_contexts(app.routes))
    yield
    pool.shutdown(cancel_futures=True)
    database.close()


def _compile(compiled: Event) -> None:
    """Compile the physics beside the first requests; `/readyz` waits for it."""
    compile_kernels()
    compiled.set()


def _operation_id(route: APIRoute) -> str:
    return route.name
