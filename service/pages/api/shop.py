"""The shop's own pages: work under way, papers, how far quick answers are off, the rules."""

from collections import defaultdict
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Path, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from service.catalog.store.lists import find_families, find_rules
from service.compliance.store import find_documents
from service.database import Database, ReadSessionDep
from service.errors import FieldProblem, InvalidInput
from service.jobs.api import LARGEST_ID
from service.jobs.job import FINISHED, Job
from service.jobs.store.jobs import cancel_job, find_jobs
from service.pages.api.asking import offered
from service.pages.api.page_route import SEE_OTHER, PageRoute
from service.pages.api.rendering import page, query
from service.pages.papers import papers_on_file
from service.searches.api.firings import rule_firings
from service.searches.firing import Firing
from service.surfaces.api import take_in
from service.surfaces.schemas import SurfaceOut, surface_out
from service.surfaces.store import find_surface_facts

JOBS_SHOWN = 20

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@router.get("")
def show_shop(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show what wants somebody's attention today."""
    papers = papers_on_file(find_documents(session), datetime.now(UTC).date())
    return page(
        "shop.html",
        dict(request.query_params),
        jobs=[job for job in find_jobs(session, limit=JOBS_SHOWN) if job.state not in FINISHED],
        failed=[job for job in find_jobs(session, limit=JOBS_SHOWN) if job.problem is not None],
        to_do=sum(bool(one.to_do) for one in papers),
        papers=len(papers),
        surfaces=_surfaces(session),
        unfitted=_unfitted(session),
    )


@router.get("/jobs")
def show_jobs(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show jobs with their progress, the newest first."""
    address = dict(request.query_params)
    text = address.get("before", "")
    before = _before(text)
    found = find_jobs(session, before=before, limit=JOBS_SHOWN + 1)
    jobs = found[:JOBS_SHOWN]
    return page(
        "jobs.html",
        address,
        jobs=jobs,
        at_work=sum(job.state not in FINISHED for job in jobs),
        took={job.id: _took(job) for job in jobs},
        before=str(jobs[-1].id) if len(found) > JOBS_SHOWN else None,
    )


@router.post("/jobs/{job_id}/stop")
def submit_stop(
    request: Request, job_id: Annotated[int, Path(ge=1, le=LARGEST_ID)]
) -> RedirectResponse:
    """Stop a job, as DELETE does."""
    with _database(request).writing() as session:
        cancel_job(session, job_id)
    return RedirectResponse("/shop/jobs" + query(dict(request.query_params)), SEE_OTHER)


@router.get("/surfaces")
def show_surfaces(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show each surface with its error, its age, and whether it can still be used."""
    surfaces = _surfaces(session)
    today = datetime.now(UTC)
    return page(
        "surfaces.html",
        dict(request.query_params),
        surfaces=surfaces,
        ages=[(today - one.fitted_at.astimezone(UTC)).days for one in surfaces],
        unfitted=_unfitted(session),
    )


@router.post("/surfaces/{family}/fit")
def submit_fit(request: Request, family: str) -> Response:
    """Have a family's surface fitted again, as a job."""
    take_in(_database(request), family)
    request.app.state.job_taken_in.set()
    return RedirectResponse("/shop/jobs" + query(dict(request.query_params)), SEE_OTHER)


@router.get("/papers")
def show_papers(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the papers with their scope and how long ago somebody looked at each."""
    address = dict(request.query_params)
    today = datetime.now(UTC).date()
    papers = papers_on_file(find_documents(session), today)
    shown = [one for one in papers if one.to_do or "to_do" not in address]
    engines = {one.value.key: one.value.title for one in find_families(session)}
    # A paper names parts as their maker does; the shop knows them by its own numbers.
    names = {
        part.maker_reference: f"{part.title} ({part.sku})"
        for family in engines
        for parts in offered(request, family).values()
        for part in parts
    }
    return page(
        "papers.html", address, papers=shown, all_papers=len(papers), names=names, engines=engines
    )


@router.get("/rules")
def show_rules(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the shop's rules with how often each speaks over all combinations."""
    fired: defaultdict[str, list[Firing]] = defaultdict(list)
    for one in rule_firings(session):
        fired[one.key].append(one)
    rules = [stored.value for stored in find_rules(session)]
    built_in = {key: found for key, found in fired.items() if "." in key}
    address = dict(request.query_params)
    return page("rules.html", address, rules=rules, fired=fired, built_in=built_in)


def _before(text: str) -> int | None:
    """Return the job whose elders are asked for; a longer number than any job has is not read."""
    if not text:
        return None
    if text.isascii() and text.isdecimal() and len(text) <= len(str(LARGEST_ID)):
        number = int(text)
        if 1 <= number <= LARGEST_ID:
            return number
    detail = f"before is the number of a job, 1 to {LARGEST_ID}."
    raise InvalidInput(FieldProblem(pointer="/before", code="invalid_value", detail=detail))


def _surfaces(session: ReadSessionDep) -> list[SurfaceOut]:
    return [surface_out(stored) for stored in find_surface_facts(session)]


def _unfitted(session: ReadSessionDep) -> list[str]:
    """Return the families that have no surface."""
    fitted = {stored.value.family for stored in find_surface_facts(session)}
    keys = (stored.value.key for stored in find_families(session))
    return [key for key in keys if key not in fitted]


def _took(job: Job) -> str:
    """Write how long a job has run, as people say it."""
    if job.started_at is None:
        return ""
    until = job.finished_at or datetime.now(UTC)
    seconds = (until.astimezone(UTC) - job.started_at.astimezone(UTC)).total_seconds()
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"  # noqa: PLR2004 - Two minutes.


def _database(request: Request) -> Database:
    database: Database = request.app.state.database
    return database
