"""Refusals over HTTP: for the shop to read."""

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query

from service.bodies import ApiRoute, RefusalNoter
from service.database import Database, ReadSessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.refusals import RefusedField
from service.refused.refusal import Refusal, RefusedPurpose
from service.refused.store import add_refusals, find_refusals

router = APIRouter(prefix="/v1/refusals", tags=["compliance"], route_class=ApiRoute)


@router.get("", responses=problem_responses(400, 422))
def list_refusals(
    session: ReadSessionDep,
    paging: PagingDep,
    purpose: Annotated[RefusedPurpose | None, Query(description="Asked for this.")] = None,
    since: Annotated[
        datetime | None, Query(description="At or after this moment, which names its zone.")
    ] = None,
) -> Page[Refusal]:
    """Return the requests that were refused for what they ask, the latest first."""
    if since is not None and since.tzinfo is None:
        raise HTTPException(400, "The moment in `since` has to name its zone, such as Z.")
    found = find_refusals(
        session,
        purpose=purpose,
        since=None if since is None else since.astimezone(UTC),
        before=int(paging.after[0]) if paging.after else None,
        limit=paging.fetch_count,
    )
    return paging.page(found, lambda item: (item.number,))


def refusal_noter(database: Database) -> RefusalNoter:
    """Return what records a refusal in a transaction of its own."""
    return partial(_note, database)


def _note(database: Database, method: str, path: str, refused: Sequence[RefusedField]) -> None:
    with database.writing() as session:
        add_refusals(session, method, path, refused)
