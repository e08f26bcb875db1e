"""Where a price comes from: lists with their days, their steps, and work that findings ask for."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from pydantic import TypeAdapter

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.errors import InvalidInput
from service.fitup.findings import Finding
from service.kits.parts_list import MachiningWork
from service.money import price
from service.quotes.content import QuoteContent
from service.quotes.needs import KitNeeds
from service.quotes.price_lists import PriceList, price_list_problems
from service.quotes.pricing import PriceBook, listed_work
from tests.factories import make_part
from tests.quotes.made import content

FIRST, LAST = date(2026, 3, 1), date(2026, 3, 31)
MILLING = "intake.face_level"
PRICES: TypeAdapter[PriceList] = TypeAdapter(PriceList)
CONTENT: TypeAdapter[QuoteContent] = TypeAdapter(QuoteContent)
PART = make_part(sku="CAM-HOT", price_cents=41_905)


def usd(amount: str) -> dict[str, str]:
    return {"amount": amount, "currency": "USD"}


def steps(*prices: tuple[int, str]) -> list[dict[str, Any]]:
    return [{"from_quantity": start, "unit_price": usd(amount)} for start, amount in prices]


CAM = {"item": "CAM-HOT", "breaks": steps((1, "400.00"), (4, "380.00"), (10, "350.00"))}
WORK = {"item": MILLING, "title": "Milling both faces", "breaks": steps((1, "180.00"))}


def price_list(**changes: Any) -> PriceList:  # noqa: ANN401 - any field.
    plain = {"key": "march", "title": "March", "valid_from": "2026-03-01", "items": [CAM, WORK]}
    return PRICES.validate_python({**plain, "valid_to": "2026-03-31", **changes})


def book(day: date = FIRST, parts: tuple[Part, ...] = (PART,), **changes: Any) -> PriceBook:  # noqa: ANN401
    return PriceBook(
        parts={part.sku: part for part in parts}, prices=price_list(**changes), today=day
    )


def draft(*lines: dict[str, Any]) -> QuoteContent:
    return CONTENT.validate_python(content(lines=list(lines)))


def finding(code: str) -> Finding:
    return Finding(
        code=code,
        severity=RuleSeverity.WARNS,
        parts=(),
        reason="The faces are not level.",
        remedy="Mill both faces.",
        source="A test.",
    )


@pytest.mark.parametrize(
    ("day", "holds"),
    [
        (FIRST - timedelta(days=1), False),
        (FIRST, True),
        (LAST, True),
        (LAST + timedelta(days=1), False),
    ],
)
def test_a_price_list_holds_from_its_first_day_to_the_end_of_its_last(
    day: date, *, holds: bool
) -> None:
    if holds:
        assert book(day).entry("CAM-HOT") is not None
        return
    with pytest.raises(InvalidInput, match="from 2026-03-01 until 2026-03-31") as refused:
        book(day)
    assert refused.value.problems[0].pointer == "/price_list"


def test_a_list_without_a_last_day_holds_until_further_notice() -> None:
    assert book(date(2099, 1, 1), valid_to=None).entry("CAM-HOT") is not None


@pytest.mark.parametrize(
    ("quantity", "cents"),
    [("1", 40_000), ("3", 40_000), ("3.999", 40_000), ("4", 38_000), ("9", 38_000), ("10", 35_000)],
)
def test_a_quantity_has_the_price_of_the_step_that_it_reaches(quantity: str, cents: int) -> None:
    items = book().items(
        draft({"kind": "part", "sku": "CAM-HOT", "quantity": quantity}), KitNeeds()
    )

    assert [(item.quantity, item.unit_price_cents) for item in items] == [
        (Decimal(quantity), cents)
    ]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"valid_to": "2026-02-28"}, "/valid_to"),
        ({"items": [CAM, CAM]}, "/items/1/item"),
        ({"items": [{**CAM, "breaks": steps((2, "1.00"))}]}, "/items/0/breaks"),
        ({"items": [{**CAM, "breaks": steps((1, "1.00"), (1, "2.00"))}]}, "/items/0/breaks"),
        (
            {"items": [{**CAM, "breaks": steps((1, "2.00"), (5, "1.00"), (3, "1.50"))}]},
            "/items/0/breaks",
        ),
        ({"currency": "CAD", "items": [WORK]}, "/items/0/breaks/0/unit_price/currency"),
    ],
)
def test_a_list_that_names_two_prices_for_one_thing_or_two_currencies_is_refused(
    changes: dict[str, Any], pointer: str
) -> None:
    assert [each.pointer for each in price_list_problems(price_list(**changes))] == [pointer]
    assert not tuple(price_list_problems(price_list()))


def test_work_that_a_finding_asks_for_is_priced_by_its_code_and_charged_once() -> None:
    found = (finding(MILLING), finding(MILLING), finding("unpriced.finding"))
    taken = {"kind": "machining", "finding": MILLING}

    automatic = book().items(draft(), KitNeeds(findings=found))
    as_line = book().items(draft(taken), KitNeeds(findings=found))
    dearer = book().items(draft({**taken, "unit_price": usd("200.00")}), KitNeeds(findings=found))

    assert [(item.title, item.unit_price_cents) for item in automatic[1:]] == [
        ("Milling both faces", 18_000)
    ]
    assert [item.unit_price_cents for item in as_line[1:]] == [18_000]
    assert [item.unit_price_cents for item in dearer[1:]] == [20_000]


def test_work_of_the_catalogue_is_taken_up_once_at_its_price() -> None:
    work = MachiningWork(
        finding=MILLING, sku="WORK-FACES", title="Level faces", price=price(15_000, "USD")
    )
    unpriced = MachiningWork(finding="other", sku="WORK-OTHER", title="Other", price=None)

    (line,) = listed_work(draft(), (work, unpriced))
    again = listed_work(replace(draft(), lines=(line,)), (work, unpriced))
    (_, item) = book(items=[CAM]).items(replace(draft(), lines=(line,)), KitNeeds())

    assert again == ()
    assert (item.title, item.unit_price_cents) == ("Level faces", 15_000)


def test_work_that_nobody_priced_names_what_is_missing() -> None:
    with pytest.raises(InvalidInput) as refused:
        book(items=[CAM]).items(draft({"kind": "machining", "finding": MILLING}), KitNeeds())

    assert refused.value.problems[0].pointer == "/lines/0/title"


def test_an_amount_in_another_currency_is_named_where_it_stands() -> None:
    other = {"amount": "1.00", "currency": "CAD"}
    line = {"kind": "freight", "title": "By boat", "unit_price": other}

    with pytest.raises(InvalidInput, match="CAD") as refused:
        book().items(draft(line), KitNeeds())

    assert refused.value.problems[0].pointer == "/lines/0/unit_price/currency"
