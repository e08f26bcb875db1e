"""Searches over HTTP."""

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.concurrency import run_in_threadpool

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, content_etag
from service.database import Database, ReadSessionDep
from service.jobs.api import LARGEST_ID
from service.paging import PagingDep
from service.problems import problem_responses
from service.searches.answer import RankingPage, Search
from service.searches.api.keeping import ADDRESS, keep_search, search_out
from service.searches.api.searcher import Searcher
from service.searches.question import SearchRequest
from service.searches.search import more_of_ranking
from service.searches.store import CatalogueMovedOn, KeptSearch, load_search

SearchId = Annotated[int, Path(ge=1, le=LARGEST_ID)]

router = APIRouter(prefix=ADDRESS, tags=["searches"], route_class=ApiRoute)


async def read_searcher(request: Request) -> Searcher:
    """Take the searcher that the application was put together with."""
    searcher: Searcher = request.app.state.searcher
    return searcher


SearcherDep = Annotated[Searcher, Depends(read_searcher)]


@router.post("", status_code=201, responses=problem_responses(404, 409, 413, 415, 422))
async def create_search(
    asked: SearchRequest, request: Request, response: Response, searcher: SearcherDep
) -> Search:
    """Rank every kit of a family that keeps the limits, and prove that none was missed.

    All combinations are looked at, with curves read off the family's surface; the first
    kits are then simulated, at once where that was done before, else as a job. Nothing
    fits? `openings` names the smallest sets of limits that would have to go.
    """
    kept = await run_in_threadpool(searcher.answer, asked)
    return await run_in_threadpool(_keep, request, response, kept)


@router.get("/{search_id}", responses=problem_responses(404, 422))
def read_search(search_id: SearchId, session: ReadSessionDep, validators: ValidatorsDep) -> Search:
    """Return a search as it was answered, and how far its simulation is by now."""
    found = search_out(session, load_search(session, search_id))
    state = found.confirmation
    validators.send(content_etag(search_id, state.state.value, len(state.kits)))
    return found


@router.get("/{search_id}/ranking", responses=problem_responses(400, 404, 409, 422))
def list_ranking(
    search_id: SearchId, request: Request, paging: PagingDep, searcher: SearcherDep
) -> RankingPage:
    """Return the ranking piece by piece, beyond its first page too.

    It is read from the catalogue as it stood; once that has changed, only the first page
    is left (409), and a rerun tells what changed.
    """
    kept = _loaded(request, search_id)
    start = int(paging.after[0]) if paging.after else 0
    task = searcher.task(kept.request)
    if task.around.catalog_revision != kept.catalog_revision:
        raise CatalogueMovedOn(search_id)
    found = more_of_ranking(task, start, paging.fetch_count)
    page = paging.page(found, lambda kit: (kit.position,))
    return RankingPage(items=page.items, next_cursor=page.next_cursor)


@router.post("/{search_id}/reruns", status_code=201, responses=problem_responses(404, 409, 422))
def create_search_rerun(
    search_id: SearchId, request: Request, response: Response, searcher: SearcherDep
) -> Search:
    """Ask a search again on the catalogue as it stands, and tell what changed and why."""
    return _keep(request, response, searcher.again(_loaded(request, search_id)))


def _loaded(request: Request, search_id: int) -> KeptSearch:
    """Return a search with no transaction left open: listing a family anew takes seconds."""
    database: Database = request.app.state.database
    with database.reading() as session:
        return load_search(session, search_id)


def _keep(request: Request, response: Response, kept: KeptSearch) -> Search:
    found = keep_search(request.app.state.database, kept)
    request.app.state.job_taken_in.set()
    response.headers["Location"] = f"{ADDRESS}/{found.id}"
    return found
