"""Pages for builders: a part in plain words, with its paper trail."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from service.catalog.families import EngineFamily
from service.catalog.parts import Part, PartNotFound
from service.catalog.store.lists import find_families
from service.catalog.store.parts import load_part
from service.compliance.documents import Document
from service.compliance.store import find_documents_about
from service.database import ReadSessionDep
from service.errors import FieldProblem
from service.money import price
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page
from service.pages.linked_data import product

router = APIRouter(prefix="/builder", include_in_schema=False, route_class=PageRoute)


@router.get("/parts/{sku}")
def show_part(request: Request, sku: str, session: ReadSessionDep) -> HTMLResponse:
    """Show one part: what it is, how it looks, what papers name it, what it costs."""
    address = dict(request.query_params)
    try:
        part: Part = load_part(session, sku).value
    except PartNotFound as error:
        problem = FieldProblem(pointer="", code="unknown", detail=error.message)
        return page("problems.html", address, (problem,), status=404)
    papers: list[Document] = find_documents_about(session, {part.maker_reference})
    families: list[EngineFamily] = [stored.value for stored in find_families(session)]
    titles = tuple(family.title for family in families if family.key in part.families)
    return page(
        "part.html",
        address,
        part=part,
        titles=titles,
        papers=papers,
        price=str(price(part.price_cents, part.currency)),
        with_price="no_price" not in address,
        linked_data=product(part, titles),
    )
