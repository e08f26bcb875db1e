"""The catalogue in a browser: found by slot, engine and words, a piece at a time."""

from collections.abc import Mapping
from enum import StrEnum
from typing import TypeVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from service.catalog.parts import PartStatus
from service.catalog.search import PartFilter, PartOrder
from service.catalog.slots import Slot
from service.catalog.store.lists import find_families, find_parts
from service.catalog.store.parts import load_part
from service.database import ReadSessionDep
from service.errors import FieldProblem, InvalidInput
from service.money import price
from service.pages.api.asking import attempt
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page

PARTS_ON_A_PAGE = 25
LONGEST_QUESTION = 100
ORDERS = (("sku", "number"), ("title", "name"), ("price", "price"))

Word = TypeVar("Word", bound=StrEnum)

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@router.get("/parts")
def show_parts(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the parts that are asked for, with what each costs and how many are there."""
    address = dict(request.query_params)
    asked, problems = attempt(lambda: _asked(address))
    wanted, order = asked or (PartFilter(), PartOrder.SKU)
    after = None
    if sku := address.get("after"):
        after = order.key(load_part(session, sku).value), sku
    found = find_parts(session, wanted, order=order, after=after, limit=PARTS_ON_A_PAGE + 1)
    parts = [stored.value for stored in found[:PARTS_ON_A_PAGE]]
    engines = [stored.value for stored in find_families(session)]
    return page(
        "parts.html",
        address,
        problems,
        parts=parts,
        prices=[str(price(part.price_cents, part.currency)) for part in parts],
        following=parts[-1].sku if len(found) > PARTS_ON_A_PAGE else None,
        slots=_with_any([slot.value for slot in Slot]),
        statuses=_with_any([status.value for status in PartStatus]),
        families=[("", "any"), *((one.key, one.title) for one in engines)],
        orders=ORDERS,
    )


@router.get("/families")
def show_families(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the engine families."""
    found = [stored.value for stored in find_families(session)]
    return page("families.html", dict(request.query_params), families=found)


def _asked(address: Mapping[str, str]) -> tuple[PartFilter, PartOrder]:
    words = address.get("q", "")
    if len(words) > LONGEST_QUESTION:
        detail = f"Write at most {LONGEST_QUESTION} characters."
        raise InvalidInput(FieldProblem(pointer="/q", code="too_long", detail=detail))
    wanted = PartFilter(
        slot=_word(Slot, address, "slot"),
        family=address.get("family") or None,
        status=_word(PartStatus, address, "status"),
        in_stock=True if "in_stock" in address else None,
        words=words,
    )
    return wanted, _word(PartOrder, address, "sort") or PartOrder.SKU


def _word(words: type[Word], address: Mapping[str, str], field: str) -> Word | None:
    text = address.get(field)
    if not text:
        return None
    try:
        return words(text)
    except ValueError as error:
        detail = f"{field} is one of {', '.join(words)}; {text!r} is not."
        raise InvalidInput(FieldProblem(pointer=f"/{field}", code="enum", detail=detail)) from error


def _with_any(words: list[str]) -> list[tuple[str, str]]:
    return [("", "any"), *((word, word.replace("_", " ")) for word in words)]
