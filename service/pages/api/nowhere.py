"""Addresses of people that lead to no page, and the bare one that leads to the desk."""

from fastapi import APIRouter, HTTPException, Response
from fastapi.responses import RedirectResponse

from service.access.rights import PAGES
from service.pages.api.page_route import NOT_FOUND, SEE_OTHER, PageRoute

router = APIRouter(include_in_schema=False, route_class=PageRoute)


@router.get("/")
def show_start() -> RedirectResponse:
    """Lead whoever typed the name of the machine alone to the desk."""
    return RedirectResponse("/desk", SEE_OTHER)


def show_nothing(rest: str) -> Response:
    """Say so on a page: people do not read problem details."""
    del rest
    raise HTTPException(NOT_FOUND)


for address in PAGES:
    router.get(f"{address}/{{rest:path}}")(show_nothing)
