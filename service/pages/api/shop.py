"""The shop's own page: work under way, how far surfaces are off, the rules that are kept."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from service.catalog.store.lists import find_rules
from service.database import ReadSessionDep
from service.jobs.store.jobs import find_jobs
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page
from service.surfaces.store import find_surface_facts

JOBS_SHOWN = 20

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@router.get("")
def show_shop(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show jobs with their progress, surfaces with their error, and shop rules."""
    return page(
        "shop.html",
        dict(request.query_params),
        jobs=find_jobs(session, limit=JOBS_SHOWN),
        surfaces=[stored.value for stored in find_surface_facts(session)],
        rules=[stored.value for stored in find_rules(session)],
    )
