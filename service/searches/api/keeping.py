"""Searches kept, with the simulation of their first kits."""

from dataclasses import replace

from service.database import Database, ReadSessionDep
from service.jobs.job import JobState
from service.jobs.store.jobs import load_job
from service.kits.api import Assessor
from service.searches.answer import Confirmation, Confirming, Search
from service.searches.confirming import NOT_ASKED, confirmation
from service.searches.store import KeptSearch, add_search
from service.simulations.api import simulation_items, take_in

ADDRESS = "/v1/searches"


def keep_search(database: Database, kept: KeptSearch) -> Search:
    """Keep a search, and have its first kits simulated: at once where that was done before."""
    first = kept.result.ranking[: kept.request.confirmed]
    if first:
        job = take_in(database, [kit.assessment for kit in first])
        kept = replace(kept, simulation_id=job.id)
    with database.writing() as session:
        kept = replace(kept, id=add_search(session, kept))
    with database.reading() as session:
        return search_out(session, kept)


def confirm_here(assessor: Assessor, kept: KeptSearch) -> None:
    """Simulate the first kits in this process, where no worker is at hand."""
    for kit in kept.result.ranking[: kept.request.confirmed]:
        assessor.answer(kit.assessment)


def search_out(session: ReadSessionDep, kept: KeptSearch) -> Search:
    """Return a kept search with its simulation as far as it is."""
    return Search(
        id=kept.id,
        created_at=kept.created_at,
        request=kept.request,
        catalog_revision=kept.catalog_revision,
        model_version=kept.model_version,
        result=kept.result,
        confirmation=_confirmation(session, kept),
        since_then=kept.since_then,
        ranking_url=f"{ADDRESS}/{kept.id}/ranking",
    )


def _confirmation(session: ReadSessionDep, kept: KeptSearch) -> Confirmation:
    if kept.simulation_id is None:
        return NOT_ASKED
    job = load_job(session, kept.simulation_id)
    first = kept.result.ranking[: kept.request.confirmed]
    items = simulation_items(session, job.id, limit=len(first))
    url = f"/v1/simulations/{job.id}"
    found = confirmation(kept.request, first, items, kept.yardstick, url)
    if job.state in (JobState.FAILED, JobState.CANCELLED):
        return replace(found, state=Confirming.FAILED)
    return found
