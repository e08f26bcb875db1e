"""Whether the process lives and can work, and what its problems mean."""

from html import escape
from typing import Literal

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse

from service.bodies import ApiRoute
from service.database import Database
from service.errors import Unavailable
from service.problem_kinds import HELP_PATH, KIND_BY_SLUG
from service.problems import problem_responses
from service.schema import schema_is_current

router = APIRouter(tags=["service"], route_class=ApiRoute)


@router.get("/livez")
def read_liveness() -> dict[Literal["status"], Literal["alive"]]:
    """Say that the process answers; asks nothing else."""
    return {"status": "alive"}


@router.get("/readyz", responses=problem_responses(503))
def read_readiness(request: Request) -> dict[Literal["status"], Literal["ready"]]:
    """Say that the database answers with the right tables, and that the physics is compiled."""
    database: Database = request.app.state.database
    if not database.answers():
        raise Unavailable("The database does not answer.")
    if not schema_is_current(database.engine):
        raise Unavailable("The tables are not those of this version; run `kitwright migrate`.")
    if not request.app.state.compiled.is_set():
        raise Unavailable("The physics is being compiled; that takes some seconds once.")
    return {"status": "ready"}


@router.get(HELP_PATH + "/{slug}", response_class=HTMLResponse, responses=problem_responses(404))
def show_problem(slug: str) -> str:
    """Explain one kind of problem."""
    if slug not in KIND_BY_SLUG:
        raise HTTPException(404, "No such kind of problem.")
    kind = KIND_BY_SLUG[slug]
    title = escape(kind.title)
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title></head>'
        f"<body><main><h1>{title}</h1><p>Status {kind.status}.</p><p>{escape(kind.help)}</p>"
        "</main></body></html>"
    )
