"""The composition root: the only place that knows every slice."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial
from importlib.metadata import version

from anyio import to_thread
from fastapi import FastAPI
from fastapi.routing import APIRoute

from service import health
from service.database import Database
from service.openapi import describe
from service.problems import add_problem_handlers
from service.settings import Settings
from service.surroundings import Surroundings

DESCRIPTION = "Airflow kits for pushrod engines: fit, power, paperwork, price, in one answer."

TAGS = [
    {"name": "service", "description": "The service itself: its health and its problems."},
]

ROUTERS = [
    health.router,
    # One line for each `api.py`, in the order of the document.
]


def create_app(settings: Settings) -> FastAPI:
    """Build the application; nothing is connected before its first request."""
    app = FastAPI(
        title="Kitwright",
        version=version("kitwright"),
        description=DESCRIPTION,
        openapi_tags=TAGS,
        docs_url=None,
        redoc_url=None,
        lifespan=_lifespan,
        max_body_size=settings.max_body_bytes,
        separate_input_output_schemas=False,
        generate_unique_id_function=_operation_id,
    )
    app.state.thread_count = settings.thread_count
    app.state.cursor_key = settings.secret.get_secret_value().encode()
    app.state.database = Database.open(settings.database_url, pool_size=settings.thread_count)
    app.add_middleware(Surroundings)
    add_problem_handlers(app)
    for router in ROUTERS:
        app.include_router(router)
    # FastAPI asks the instance for its document; this is its documented way to replace it.
    app.openapi = partial(describe, app)  # type: ignore[method-assign]
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    to_thread.current_default_thread_limiter().total_tokens = app.state.thread_count
    yield
    app.state.database.close()


def _operation_id(route: APIRoute) -> str:
    return route.name
