"""What the desk finds for a caller: kits, best first, and what more money buys."""

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import FieldProblem
from service.pages.api.asking import about, attempt, choices, currency, more_kits, searched
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import csv_file, kit_address, page
from service.pages.changes import price
from service.pages.engine_form import ENGINE
from service.pages.pictures import rising, trade_picture
from service.pages.question import Address, parts_text, search_question
from service.pages.words import unit_system
from service.searches.question import MOST_RANKED
from service.tabular import Column, Holds, Table, number_column

ON_A_PAGE = 10
"""Kits; a search answers as many."""

router = APIRouter(prefix="/desk", include_in_schema=False, route_class=PageRoute)


@router.get("")
def show_desk(request: Request) -> HTMLResponse:
    """Ask for the caller's situation, and answer with ranked kits beside the trade-off."""
    address = dict(request.query_params)
    result: dict[str, Any] | None = None
    problems: tuple[FieldProblem, ...] = ()
    if "family" in address:
        result, problems = attempt(lambda: searched(request, _question(request, address)))
    known = choices(request)
    return page(
        "desk.html",
        address,
        problems,
        choices=known,
        currency=currency(request, address),
        place_titles=dict(known.places),
        about=about(request, address),
        result=result,
        machined=any(address.get(field) for field in ENGINE),
        **({} if result is None else _found(request, address, result)),
    )


@router.get("/front")
def show_front(request: Request) -> HTMLResponse:
    """Show every kit of the trade-off in a table: there may be hundreds."""
    address = dict(request.query_params)
    front = _front(searched(request, _question(request, address)), address)
    return page("front.html", address, about=about(request, address), front=front)


@router.get("/front.csv")
def download_front(request: Request) -> Response:
    """Return the kits of the trade-off as a file."""
    address = dict(request.query_params)
    result = searched(request, _question(request, address))
    units = unit_system(address.get("units"))
    rows = tuple(
        (
            kit["price"],
            kit["currency"],
            f"{units.power_of(kit['power_kw']):.1f}",
            f"{units.torque_of(kit['mean_torque_nm']):.1f}",
            kit["names"],
        )
        for kit in _front(result, address)
    )
    columns = (
        Column(name="price", holds=Holds.MONEY),
        Column(name="currency"),
        number_column(f"peak power, {units.power}"),
        number_column(f"mean torque, {units.torque}"),
        Column(name="parts"),
    )
    return csv_file(Table(columns=columns, rows=rows), "kits.csv")


def _question(request: Request, address: Address) -> dict[str, Any]:
    return search_question(address, currency(request, address))


def _found(request: Request, address: Address, result: Mapping[str, Any]) -> dict[str, Any]:
    """Return what stands below the form once something was searched for."""
    start = _start(address)
    kits = result["ranking"]
    more = len(kits) == ON_A_PAGE < result["proof"]["fitting"]
    if start:
        kits = more_kits(request, _question(request, address), start)
        kits, more = kits[:ON_A_PAGE], len(kits) > ON_A_PAGE
    after = start + ON_A_PAGE
    front = _front(result, address)
    return {
        "ranking": [_ranked(kit, address) for kit in kits],
        "openings": [{**one, "best": _ranked(one["best"], address)} for one in result["openings"]],
        "before": str(max(0, start - ON_A_PAGE)) if start else None,
        "after": str(after) if more and after < MOST_RANKED else None,
        "front": front,
        "picture": trade_picture(front, unit_system(address.get("units"))) if front else "",
    }


def _start(address: Address) -> int:
    """Return how many kits stand before the page that is asked for."""
    text = address.get("start", "")
    asked = int(text) if text.isascii() and text.isdecimal() and len(text) < 4 else 0  # noqa: PLR2004 - Of a hundred.
    return min(asked, MOST_RANKED - ON_A_PAGE)


def _front(result: Mapping[str, Any], address: Address) -> list[dict[str, Any]]:
    """Return the kits of the trade-off that can be bought in one currency."""
    bought = [kit for kit in result["front"] if len(kit["price"]["totals"]) <= 1]
    rises = rising(kit["peak_power_kw"] for kit in bought)
    return [
        {
            "place": place,
            "price": kit["price"]["totals"][0]["amount"] if kit["price"]["totals"] else "0.00",
            "currency": kit["price"]["totals"][0]["currency"] if kit["price"]["totals"] else "",
            "power_kw": kit["peak_power_kw"],
            "mean_torque_nm": kit["mean_torque_nm"],
            "rises": rise,
            "names": _names(kit),
            "address": kit_address(address, _bought(kit)),
        }
        for place, (kit, rise) in enumerate(zip(bought, rises, strict=True), 1)
    ]


def _bought(kit: Mapping[str, Any]) -> dict[str, str]:
    """Return the parts that are not the factory's own; the others need not be named."""
    new = {line["sku"] for line in kit["price"]["lines"]}
    return {slot: sku for slot, sku in kit["parts"].items() if sku in new}


def _names(kit: Mapping[str, Any]) -> str:
    return ", ".join(line["sku"] for line in kit["price"]["lines"]) or "the factory's parts"


def _ranked(kit: Mapping[str, Any], address: Address) -> dict[str, Any]:
    on_top = [*kit["adapters"], *kit["machining"]]
    return {
        **kit,
        "address": kit_address(address, kit["parts"]),
        "text": parts_text(kit["parts"]),
        "names": _names(kit),
        "cost": price(kit),
        "warnings": sum(one["severity"] == "warns" for one in kit["fit"]),
        "on_top": [f"{one['title']} ({one['sku']}), {_money(one['price'])}" for one in on_top],
    }


def _money(amount: Mapping[str, Any] | None) -> str:
    return "no price on record" if amount is None else f"{amount['amount']} {amount['currency']}"
