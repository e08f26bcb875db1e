"""What the desk writes into a quote before it is issued."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Annotated

from annotated_types import MaxLen, MinLen

from service.catalog.slots import UseClass
from service.errors import FieldProblem, InvalidInput
from service.kits.kit import AssessmentRequest
from service.money import IN_HUNDREDTHS, Price
from service.quantities import (
    EDGE_CONFIG,
    Currency,
    IsoDate,
    Key,
    Name,
    PercentText,
    QuantityText,
    Text,
)
from service.wording import banned_words


class ChargedKind(StrEnum):
    """What a line of the desk stands for."""

    PART = "part"
    LABOUR = "labour"
    MACHINING = "machining"
    FREIGHT = "freight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Customer:
    """Who asks."""

    __pydantic_config__ = EDGE_CONFIG

    reference: Name
    """What the customer calls the matter; quotes are looked up by it."""
    name: Name
    address: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLine:
    """One line beside the kit; a part of the kit that stands here is charged as it says."""

    __pydantic_config__ = EDGE_CONFIG

    kind: ChargedKind
    title: Name | None = None
    """Needed unless `sku` names a part."""
    sku: Key | None = None
    finding: Key | None = None
    """Code of the fit finding that asks for this machining; its title and price may then come
    from the price list, under that code."""
    quantity: QuantityText = "1"
    """Pieces of a part, hours of labour, else jobs."""
    unit_price: Price | None = None
    """Absent: from the price list, else from the catalogue."""
    discount_percent: PercentText = "0"
    core_deposit: Price | None = None
    """For each; absent: from the price list."""
    unit_cost: Price | None = None
    """What it costs the shop; seen by the desk alone."""
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteContent:
    """Everything that the desk decides about one quote."""

    __pydantic_config__ = EDGE_CONFIG

    customer: Customer
    question: AssessmentRequest
    """The kit, its engine, use and place; assessed anew when the quote is issued."""
    valid_until: IsoDate
    """Last day, in the shop's time zone."""
    currency: Currency = "USD"
    price_list: Key | None = None
    lines: Annotated[tuple[QuoteLine, ...], MaxLen(500)] = ()
    discount_percent: PercentText = "0"
    """On parts, labour and machining together."""
    tax_rules: Annotated[tuple[Key, ...], MaxLen(10)] = ()
    """Keys, in the order in which they are printed."""
    customer_note: Text = ""
    """Printed on both copies."""
    shop_note: Text = ""
    """Printed on the shop's copy alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Declaration:
    """What the customer says the engine is for, in exactly these words."""

    __pydantic_config__ = EDGE_CONFIG

    name: Annotated[Name, MinLen(1)]
    """Of the person who says so."""
    text: Text
    acknowledged_at: datetime


_USES = {
    UseClass.ROAD: "a vehicle used on the road",
    UseClass.MARINE: "a vessel",
    UseClass.NONROAD: "a machine used off the road",
}


def declaration_text(question: AssessmentRequest, place: str) -> str:
    """Return the words that the customer acknowledges for this use in a place, by its name."""
    competition = (
        " I say that it is used for competition only." if question.competition_declared else ""
    )
    return (
        f"The engine, model year {question.model_year}, goes into {_USES[question.use]}. The "
        f"place: {place}.{competition} I know that what I say here changes "
        "nothing in the record of papers, that the authority of the place decides, and that "
        "another use needs another quote."
    )


def content_problems(content: QuoteContent) -> Iterator[FieldProblem]:
    """Return what is wrong inside a draft, whatever the catalogue holds."""
    seen: set[str] = set()
    for place, line in enumerate(content.lines):
        at = f"/lines/{place}"
        if (line.kind is ChargedKind.PART) is not (line.sku is not None):
            detail = "A part is named by its SKU, and nothing else has one."
            yield FieldProblem(pointer=f"{at}/sku", code="kind", detail=detail)
        if line.finding is not None and line.kind is not ChargedKind.MACHINING:
            detail = "A finding asks for machining alone."
            yield FieldProblem(pointer=f"{at}/finding", code="kind", detail=detail)
        priced = line.sku is not None or line.finding is not None
        if not priced and (line.title is None or line.unit_price is None):
            detail = "Work and freight need a title and a unit price."
            missing = "title" if line.title is None else "unit_price"
            yield FieldProblem(pointer=f"{at}/{missing}", code="missing", detail=detail)
        if line.sku is not None and line.sku in seen:
            detail = f"{line.sku} stands on a line above; raise its quantity."
            yield FieldProblem(pointer=f"{at}/sku", code="twice", detail=detail)
        if line.sku is not None:
            seen.add(line.sku)
    if content.currency not in IN_HUNDREDTHS:
        detail = (
            f"Amounts are kept in hundredths; {content.currency} is no currency of ISO 4217 that "
            "has them."
        )
        yield FieldProblem(pointer="/currency", code="currency", detail=detail)
    for pointer, text in _texts(content):
        yield from banned_problems(pointer, text)


def banned_problems(pointer: str, text: str) -> Iterator[FieldProblem]:
    """Yield a problem where a text says what no quote says."""
    if found := banned_words(text):
        detail = f"A quote says nothing of this kind: {', '.join(found)}."
        yield FieldProblem(pointer=pointer, code="banned_word", detail=detail)


def require_sound(content: QuoteContent) -> None:
    """Raise `InvalidInput` for a draft that is wrong inside."""
    if problems := tuple(content_problems(content)):
        raise InvalidInput(*problems)


def _texts(content: QuoteContent) -> Iterator[tuple[str, str]]:
    yield "/customer/reference", content.customer.reference
    yield "/customer/address", content.customer.address
    yield "/customer_note", content.customer_note
    yield "/shop_note", content.shop_note
    for place, line in enumerate(content.lines):
        yield f"/lines/{place}/title", line.title or ""
        yield f"/lines/{place}/note", line.note
