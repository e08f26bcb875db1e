"""Pages for builders: a kit and a part in plain words, with their paper trail.

With `embed` in its address each is for a frame in the shop's storefront.
"""

from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from service.access.rights import EMBED
from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.specs import CylinderHeadsSpec
from service.catalog.store.lists import find_families
from service.catalog.store.parts import load_part
from service.compliance.documents import Document
from service.compliance.store import find_documents_about
from service.database import ReadSessionDep
from service.errors import FieldProblem
from service.money import price
from service.pages.api.asking import about, answered, assessed, choices, offered
from service.pages.api.page_route import NOT_FOUND, PageRoute
from service.pages.api.rendering import csv_file, not_answered, page
from service.pages.changes import price as price_of
from service.pages.linked_data import kit_product, product
from service.pages.pictures import (
    bench_depression,
    curve_picture,
    curve_table,
    flow_picture,
    flow_table,
)
from service.pages.question import Address, kit_question
from service.pages.words import unit_system
from service.papertrails.api import PDF, trail_of
from service.papertrails.pdf import paper_trail_pdf
from service.policy import policy_within
from service.settings import Settings


class BuilderRoute(PageRoute):
    """A page that the shop's storefronts may hold in a frame, where its address asks for it."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Name the storefronts in the policy of every answer, of one that says no too."""
        handle = super().get_route_handler()

        async def handle_framed(request: Request) -> Response:
            answer = await handle(request)
            settings: Settings = request.app.state.settings
            if EMBED in request.query_params and settings.embed_in:
                answer.headers["Content-Security-Policy"] = policy_within(settings.embed_in)
            return answer

        return handle_framed


router = APIRouter(prefix="/builder", include_in_schema=False, route_class=BuilderRoute)


@router.get("")
def show_start(request: Request) -> HTMLResponse:
    """Ask which engine, for what use, where."""
    return page("builder.html", dict(request.query_params), choices=choices(request))


@router.get("/kit")
def show_kit(request: Request) -> HTMLResponse:
    """Show one kit in plain words."""
    address = dict(request.query_params)
    units = unit_system(address.get("units"))
    answer = assessed(request, _question(address))
    parts = offered(request, address["family"])
    if address.get("keeps_stock_exterior"):
        chosen = {line["sku"] for line in answer["kit"]}
        parts = {slot: _outside_kept(members, chosen) for slot, members in parts.items()}
    titles = dict(choices(request).families)
    return page(
        "builder_kit.html",
        address,
        about=about(request, address),
        answer=answer,
        price=price_of(answer),
        offered=parts,
        now={line["slot"]: line["sku"] for line in answer["kit"]},
        curve=curve_table(answer, units),
        curve_svg=curve_picture(answer, None, units),
        linked_data=kit_product(answer, titles[address["family"]]),
    )


@router.get("/kit/curve.csv")
def download_curve(request: Request) -> Response:
    """Return torque and power of the kit of the address as a file, for the desk's page too."""
    address = dict(request.query_params)
    answer = assessed(request, _question(address))
    return csv_file(curve_table(answer, unit_system(address.get("units"))), "curve.csv")


@router.get("/kit/paper-trail.pdf")
def read_kit_papers(request: Request, session: ReadSessionDep) -> Response:
    """Return one page about the papers of the kit of the address."""
    answer = answered(request, _question(dict(request.query_params)))
    pdf = paper_trail_pdf(trail_of(session, answer.key, answer.body))
    headers = {"Content-Disposition": f'inline; filename="paper-trail-{answer.key[:8]}.pdf"'}
    return Response(pdf, media_type=PDF, headers=headers)


def _question(address: Address) -> dict[str, Any]:
    asked = {**kit_question(address), "include_prices": "no_price" not in address}
    # Whoever looks into a frame is not known: they wait for no simulation that they order.
    return {**asked, "tier": "surface"} if EMBED in address else asked


def _outside_kept(parts: tuple[Part, ...], chosen: set[str]) -> tuple[Part, ...]:
    """Return the parts that look as the factory's do, and the one that is chosen already."""
    return tuple(
        part
        for part in parts
        if part.sku in chosen
        or part.factory_part
        or (part.exterior.assessed and not part.exterior.differences)
    )


@router.get("/parts/{sku}")
def show_part(request: Request, sku: str, session: ReadSessionDep) -> HTMLResponse:
    """Show one part: what it is, how it looks, what papers name it, what it costs."""
    address = dict(request.query_params)
    part: Part = load_part(session, sku).value
    papers: list[Document] = find_documents_about(session, {part.maker_reference})
    families: list[EngineFamily] = [stored.value for stored in find_families(session)]
    units = unit_system(address.get("units"))
    heads = part.spec if isinstance(part.spec, CylinderHeadsSpec) else None
    titles = tuple(family.title for family in families if family.key in part.families)
    with_price = "no_price" not in address
    return page(
        "part.html",
        address,
        part=part,
        titles=titles,
        papers=papers,
        price=str(price(part.price_cents, part.currency)),
        with_price=with_price,
        linked_data=product(part, titles, with_price=with_price),
        heads=heads,
        depression="" if heads is None else bench_depression(heads, units),
        flow=None if heads is None else flow_table(heads, units),
        flow_svg="" if heads is None else flow_picture(heads, units),
    )


@router.get("/parts/{sku}/flow.csv")
def download_flow(request: Request, sku: str, session: ReadSessionDep) -> Response:
    """Return what the ports of a pair of heads flow against lift as a file."""
    address = dict(request.query_params)
    part: Part = load_part(session, sku).value
    if not isinstance(part.spec, CylinderHeadsSpec):
        detail = f"{sku} has no ports that were flowed: only cylinder heads have."
        problem = FieldProblem(pointer="", code="unknown", detail=detail)
        return not_answered(request, (problem,), NOT_FOUND)
    return csv_file(flow_table(part.spec, unit_system(address.get("units"))), f"flow-{sku}.csv")
