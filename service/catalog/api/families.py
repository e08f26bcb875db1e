"""Engine families over HTTP."""

from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, patched
from service.catalog.families import EngineFamily
from service.catalog.schemas import FamilyOut, family_out
from service.catalog.slots import UseClass
from service.catalog.store.families import add_family, load_family, save_family
from service.catalog.store.lists import find_families
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Key

router = APIRouter(prefix="/v1/engine-families", tags=["catalogue"], route_class=ApiRoute)

_FAMILY = TypeAdapter(EngineFamily)


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_engine_family(body: EngineFamily, session: SessionDep, response: Response) -> FamilyOut:
    """Take a new engine family in.

    The factory parts that it names have to be in the catalogue and to list the family.
    A family comes before its parts: create it without factory parts, then its parts, then
    name them with a patch; or send all of it as one import.
    """
    stored = add_family(session, body)
    response.headers["Location"] = f"{router.prefix}/{body.key}"
    response.headers["ETag"] = version_etag(stored.version)
    return family_out(stored)


@router.get("/{key}", responses=problem_responses(404, 422))
def read_engine_family(key: Key, session: ReadSessionDep, validators: ValidatorsDep) -> FamilyOut:
    """Return one engine family."""
    stored = load_family(session, key)
    validators.send(version_etag(stored.version))
    return family_out(stored)


@router.get("", responses=problem_responses(400, 422))
def list_engine_families(
    session: ReadSessionDep,
    paging: PagingDep,
    use: Annotated[UseClass | None, Query(description="Built for this use.")] = None,
) -> Page[FamilyOut]:
    """Return the engine families, by key."""
    after = str(paging.after[0]) if paging.after else None
    found = find_families(session, use=use, after=after, limit=paging.fetch_count)
    return paging.page([family_out(stored) for stored in found], lambda item: (item.key,))


@router.patch("/{key}", responses=problem_responses(404, 412, 415, 422, 428))
def update_engine_family(
    key: Key,
    body: MergePatchBody,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> FamilyOut:
    """Change some fields of an engine family; the key stays."""
    current = load_family(session, key)
    version = expected.require(current.version)
    family = patched(_FAMILY, current.value, body, key="key")
    stored = save_family(session, family, version=version)
    response.headers["ETag"] = version_etag(stored.version)
    return family_out(stored)
