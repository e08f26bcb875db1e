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
    offered,
    searched,
)
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import csv_file, not_answered, page, query
from service.pages.changes import price, side_by_side
from service.pages.engine_form import ENGINE
from service.pages.pictures import (
    curve_picture,
    curve_table,
    ladder_picture,
    ladder_table,
    trade_picture,
)
from service.pages.question import (
    BEFORE,
    KEPT,
    Address,
    kit_question,
    ladder_question,
    named_parts,
    parts_of,
    parts_text,
    search_question,
    situation,
)
from service.pages.words import unit_system
from service.partslists.schemas import list_of
from service.partslists.table import list_table
from service.tabular import Column, Holds, Table, number_column

MOST_COMPARED = 4

router = APIRouter(prefix="/desk", include_in_schema=False, route_class=PageRoute)


@router.get("")
def show_desk(request: Request) -> HTMLResponse:
    """Ask for the caller's situation, and answer with ranked kits beside the trade-off."""
    address = dict(request.query_params)
    if "family" in address:
        result, problems = attempt(lambda: searched(request, search_question(address)))
    else:
        result, problems = None, ()
    front = [] if result is None else _front(result, address)
    picture = trade_picture(front, unit_system(address.get("units"))) if front else ""
    ranking = [] if result is None else [_ranked(kit, address) for kit in result["ranking"]]
    return page(
        "desk.html",
        address,
        problems,
        choices=choices(request),
        about=about(request, address),
        result=result,
        ranking=ranking,
        front=front,
        picture=picture,
        machined=any(address.get(field) for field in ENGINE),
    )


@router.get("/front.csv")
def download_front(request: Request) -> Response:
    """Return the kits of the trade-off as a file."""
    address = dict(request.query_params)
    result = searched(request, search_question(address))
    units = unit_system(address.get("units"))
    rows = tuple(
        (kit["price"], kit["currency"], f"{units.power_of(kit['power_kw']):.1f}", kit["names"])
        for kit in _front(result, address)
    )
    columns = (
        Column(name="price", holds=Holds.MONEY),
        Column(name="currency"),
        number_column(f"peak power, {units.power}"),
        Column(name="parts"),
    )
    return csv_file(Table(columns=columns, rows=rows), "kits.csv")


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
        answer=answer,
        price=price(answer),
        lines=() if before is None else side_by_side((answer, before), units),
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
    result, problems = attempt(lambda: searched(request, ladder_question(address)))
    rises = [] if result is None else result["what_it_takes"]
    parts = named_parts(address)
    return page(
        "goal.html",
        address,
        problems,
        about=about(request, address),
        kit=_kit_address(address, parts),
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
    found = [_compared(request, address, text) for text in named]
    if not found:
        return not_answered(request)
    return page(
        "compare.html",
        {key: value for key, value in address.items() if key != "kit"},
        repeated={"kit": kit or []},
        about=about(request, address),
        lines=side_by_side(found, unit_system(address.get("units"))),
        addresses=[_kit_address(address, parts_of(text)) for text in named],
        kits=named,
        dropped=max(0, len(kit or []) - MOST_COMPARED),
    )


def _compared(request: Request, address: Address, text: str) -> dict[str, Any]:
    return assessed(request, {**situation(address), "parts": parts_of(text), "tier": "surface"})


def _front(result: dict[str, Any], address: Address) -> list[dict[str, Any]]:
    """Return the kits of the trade-off that can be bought in one currency."""
    return [
        {
            "price": kit["price"]["totals"][0]["amount"] if kit["price"]["totals"] else "0.00",
            "currency": kit["price"]["totals"][0]["currency"] if kit["price"]["totals"] else "",
            "power_kw": kit["peak_power_kw"],
            "names": ", ".join(kit["parts"].values()),
            "address": _kit_address(address, kit["parts"]),
        }
        for kit in result["front"]
        if len(kit["price"]["totals"]) <= 1
    ]


def _ranked(kit: dict[str, Any], address: Address) -> dict[str, Any]:
    return {
        **kit,
        "address": _kit_address(address, kit["parts"]),
        "text": parts_text(kit["parts"]),
        "names": ", ".join(line["sku"] for line in kit["price"]["lines"]) or "the factory's parts",
        "cost": price(kit),
    }


def _rise(one: dict[str, Any], address: Address, parts: dict[str, str]) -> dict[str, Any]:
    before = {BEFORE + slot: sku for slot, sku in parts.items()}
    return {
        **one,
        "names": ", ".join(one["changes"].values()),
        "price": price({"price": one["cost"]}),
        "address": _kit_address(address, {**parts, **before, **one["changes"]}),
    }


def _kit_address(address: Address, parts: dict[str, str]) -> str:
    kept = {key: address[key] for key in (*KEPT, "units") if key in address}
    return "/desk/kit" + query({**kept, **parts})
