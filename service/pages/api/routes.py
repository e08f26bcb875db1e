"""Pages of the desk: each is read only, and its whole state stands in its address.

So nothing typed is lost by an error, a login or the back key, a page can be sent to a
colleague, and there is no form that another site could send in our name.
"""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from service.pages.api.asking import (
    about,
    answered,
    assessed,
    attempt,
    choices,
    currency,
    elsewhere,
    offered,
    searched,
)
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import csv_file, kit_address, not_answered, page
from service.pages.changes import held_up, price, side_by_side
from service.pages.pictures import (
    curve_picture,
    curve_pictures,
    curve_table,
    curves_table,
    ladder_picture,
    ladder_table,
)
from service.pages.question import (
    BEFORE,
    Address,
    kit_question,
    ladder_question,
    named_parts,
    parts_of,
)
from service.pages.words import unit_system
from service.partslists.schemas import list_of
from service.partslists.table import list_table

MOST_COMPARED = 4

router = APIRouter(prefix="/desk", include_in_schema=False, route_class=PageRoute)


@router.get("/kit")
def show_kit(request: Request) -> HTMLResponse:
    """Show one kit block by block, and what the last swap changed."""
    address = dict(request.query_params)
    units = unit_system(address.get("units"))
    answer = assessed(request, kit_question(address))
    before = None
    if any(key.startswith(BEFORE) for key in address):
        before, _ = attempt(lambda: assessed(request, kit_question(address, before=True)))
    simulated = answer["restriction_ladder"] is not None
    return page(
        "kit.html",
        address,
        about=about(request, address),
        currency=currency(request, address),
        elsewhere=elsewhere(request, kit_question(address), address),
        answer=answer,
        price=price(answer),
        lines=() if before is None else side_by_side((answer, before), units),
        held_up=() if before is None else held_up((answer, before), units),
        offered=offered(request, address["family"]),
        now={line["slot"]: line["sku"] for line in answer["kit"]},
        before_prefix=BEFORE,
        curve=curve_table(answer, units),
        curve_svg=curve_picture(answer, before, units),
        ladder=ladder_table(answer, units) if simulated else None,
        ladder_svg=ladder_picture(answer, units) if simulated else "",
    )


@router.get("/kit/goal")
def show_goal(request: Request) -> HTMLResponse:
    """Show the ladder from a kit in hand to what the caller wants of it."""
    address = dict(request.query_params)
    money = currency(request, address)
    result, problems = attempt(lambda: searched(request, ladder_question(address, money)))
    rises = [] if result is None else result["what_it_takes"]
    parts = named_parts(address)
    return page(
        "goal.html",
        address,
        problems,
        about=about(request, address),
        currency=money,
        place_titles=dict(choices(request).places),
        kit=kit_address(address, parts),
        rises=[_rise(one, address, parts) for one in rises],
        reached=result is not None and result["in_hand_misses"] == [],
        obstructing=[] if result is None else result["obstacles"],
    )


@router.get("/kit/parts-list.csv")
def download_parts_list(request: Request) -> Response:
    """Return everything that the kit takes to be bolted on as a file."""
    answer = answered(request, kit_question(dict(request.query_params)))
    return csv_file(list_table(list_of(answer.body)), "parts-list.csv")


@router.get("/kit/ladder.csv")
def download_ladder(request: Request) -> Response:
    """Return the restrictions as a file; they are simulated for it."""
    address = {**request.query_params, "tier": "simulation"}
    answer = assessed(request, kit_question(address))
    return csv_file(ladder_table(answer, unit_system(address.get("units"))), "restrictions.csv")


@router.get("/compare")
def show_comparison(
    request: Request, kit: Annotated[list[str] | None, Query()] = None
) -> HTMLResponse:
    """Show up to four kits side by side, what differs first."""
    address = dict(request.query_params)
    named = (kit or [])[:MOST_COMPARED]
    units = unit_system(address.get("units"))
    found = [_compared(request, address, text) for text in named]
    if not found:
        return not_answered(request)
    kept = {key: value for key, value in address.items() if key != "kit"}
    curves = curves_table(found, units)
    return page(
        "compare.html",
        kept,
        repeated={"kit": kit or []},
        about=about(request, address),
        lines=side_by_side(found, units),
        held_up=held_up(found, units),
        addresses=[kit_address(address, parts_of(text)) for text in named],
        kits=named,
        dropped=max(0, len(kit or []) - MOST_COMPARED),
        pictures=curve_pictures(found, units),
        curves=curves,
        repeated_query={**kept, "kit": named},
    )


@router.get("/compare.csv")
def download_comparison(
    request: Request, kit: Annotated[list[str] | None, Query()] = None
) -> Response:
    """Return torque and power of the kits side by side as a file."""
    address = dict(request.query_params)
    found = [_compared(request, address, text) for text in (kit or [])[:MOST_COMPARED]]
    if not found:
        return not_answered(request)
    return csv_file(curves_table(found, unit_system(address.get("units"))), "kits.csv")


def _compared(request: Request, address: Address, text: str) -> dict[str, Any]:
    return assessed(request, {**kit_question(address), "parts": parts_of(text)})


def _rise(one: dict[str, Any], address: Address, parts: dict[str, str]) -> dict[str, Any]:
    before = {BEFORE + slot: sku for slot, sku in parts.items()}
    return {
        **one,
        "names": ", ".join(one["changes"].values()),
        "price": price({"price": one["cost"]}),
        "address": kit_address(address, {**parts, **before, **one["changes"]}),
    }
