"""Price lists: prices that hold for a time, by SKU or by the code of a finding."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from annotated_types import MaxLen, MinLen

from service.errors import FieldProblem, NotFound
from service.money import IN_HUNDREDTHS, Price
from service.quantities import (
    EDGE_CONFIG,
    Currency,
    IsoDate,
    Key,
    Name,
    PositiveCount,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """The price of each, from a quantity on."""

    __pydantic_config__ = EDGE_CONFIG

    from_quantity: PositiveCount
    unit_price: Price


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceItem:
    """One thing on a price list: a part by its SKU, or work by the code of a finding."""

    __pydantic_config__ = EDGE_CONFIG

    item: Key
    """SKU of a part; or code of a fit finding, whose remedy is then quoted as machining."""
    title: Name | None = None
    """Of work; a part has its own."""
    breaks: Annotated[tuple[PriceBreak, ...], MinLen(1), MaxLen(20)]
    core_deposit: Price | None = None
    unit_cost: Price | None = None
    """What it costs the shop; seen by the desk alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceList:
    """Prices that hold for a time."""

    __pydantic_config__ = EDGE_CONFIG

    key: Key
    title: Name
    currency: Currency = "USD"
    valid_from: IsoDate
    valid_to: IsoDate | None = None
    """Last day; null: until further notice."""
    items: Annotated[tuple[PriceItem, ...], MaxLen(10_000)]


class PriceListNotFound(NotFound):
    """No price list has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No price list has the key {key!r}.")


class TaxRuleNotFound(NotFound):
    """No tax rule has this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No tax rule has the key {key!r}.")


def price_list_problems(prices: PriceList) -> Iterator[FieldProblem]:
    """Return what is wrong inside a price list."""
    if prices.currency not in IN_HUNDREDTHS:
        detail = (
            f"Prices are kept in hundredths; {prices.currency} is no currency of ISO 4217 that "
            "has them."
        )
        yield FieldProblem(pointer="/currency", code="currency", detail=detail)
    if prices.valid_to is not None and prices.valid_to < prices.valid_from:
        yield FieldProblem(
            pointer="/valid_to",
            code="out_of_order",
            detail=f"The last day is before the first, {prices.valid_from}.",
        )
    seen: set[str] = set()
    for place, entry in enumerate(prices.items):
        starts = [step.from_quantity for step in entry.breaks]
        if starts[0] != 1 or starts != sorted(set(starts)):
            yield FieldProblem(
                pointer=f"/items/{place}/breaks",
                code="out_of_order",
                detail="Breaks begin at a quantity of 1 and rise.",
            )
        for pointer, currency in _currencies(entry).items():
            if currency != prices.currency:
                yield FieldProblem(
                    pointer=f"/items/{place}{pointer}/currency",
                    code="currency",
                    detail=f"A price list has one currency; this one says {prices.currency}.",
                )
        if entry.item in seen:
            yield FieldProblem(
                pointer=f"/items/{place}/item", code="twice", detail=f"{entry.item} stands twice."
            )
        seen.add(entry.item)


def _currencies(entry: PriceItem) -> dict[str, str]:
    """Return the currency of each amount of an entry, by where it stands."""
    said = {f"/breaks/{at}/unit_price": step.unit_price for at, step in enumerate(entry.breaks)}
    more = {"/core_deposit": entry.core_deposit, "/unit_cost": entry.unit_cost}
    return {at: each.currency for at, each in (said | more).items() if each is not None}
