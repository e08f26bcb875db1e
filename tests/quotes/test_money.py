"""The arithmetic of a bill; rounding by the decimal module of the standard library is the check."""

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.errors import InvalidInput
from service.money import cents, decimal_text
from service.quotes.money import (
    Bill,
    Item,
    LineKind,
    Rounding,
    TaxBasis,
    TaxRule,
    bill,
    margin,
    round_cents,
)
from service.quotes.pricing import require_one_currency

PERCENT = st.decimals(0, 100, places=3)
ITEMS = st.lists(
    st.builds(
        Item,
        kind=st.sampled_from(
            [LineKind.PART, LineKind.LABOUR, LineKind.MACHINING, LineKind.FREIGHT]
        ),
        title=st.just("A line"),
        quantity=st.decimals("0.001", 99_999, places=3),
        unit=st.just("each"),
        unit_price_cents=st.integers(0, 10_000_000),
        discount_percent=PERCENT,
        core_deposit_cents=st.integers(0, 100_000),
        unit_cost_cents=st.none() | st.integers(0, 10_000_000),
    ),
    max_size=30,
)
TAXES = st.lists(
    st.builds(
        TaxRule,
        key=st.just("tax"),
        title=st.just("Tax"),
        rate_percent=PERCENT.map(str),
        kinds=st.sets(st.sampled_from(list(LineKind)[:5])).map(tuple),
        basis=st.sampled_from(TaxBasis),
        rounding=st.sampled_from(Rounding),
    ),
    max_size=3,
)


def item(**changes: object) -> Item:
    plain = {
        "kind": LineKind.PART,
        "title": "A line",
        "quantity": Decimal(1),
        "unit": "each",
        "unit_price_cents": 10_000,
    }
    return Item(**{**plain, **changes})  # type: ignore[arg-type]


def tax(**changes: object) -> TaxRule:
    plain = {
        "key": "tax",
        "title": "Tax",
        "rate_percent": "8.25",
        "kinds": (LineKind.PART,),
        "basis": TaxBasis.SUM,
        "rounding": Rounding.HALF_UP,
    }
    return TaxRule(**{**plain, **changes})  # type: ignore[arg-type]


def amounts(made: Bill) -> list[str]:
    return [line.amount.amount for line in made.lines]


@given(items=ITEMS, off=PERCENT, taxes=TAXES)
def test_the_total_is_the_sum_of_the_printed_lines(
    items: list[Item], off: Decimal, taxes: list[TaxRule]
) -> None:
    made = bill(items, currency="USD", discount_percent=off, taxes=taxes)

    assert Decimal(made.total.amount) == sum(Decimal(line.amount.amount) for line in made.lines)
    assert {line.amount.currency for line in made.lines} <= {made.total.currency}


@given(items=ITEMS, off=PERCENT)
def test_a_discount_on_the_whole_is_rounded_once_and_never_exceeds_what_it_is_on(
    items: list[Item], off: Decimal
) -> None:
    made = bill(items, currency="USD", discount_percent=off)
    base = sum(
        Decimal(line.amount.amount)
        for line in made.lines
        if line.kind in (LineKind.PART, LineKind.LABOUR, LineKind.MACHINING)
    )

    given_off = sum(
        Decimal(line.amount.amount) for line in made.lines if line.kind is LineKind.DISCOUNT
    )

    assert -given_off == (base * off / 100).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert Decimal(made.total.amount) >= 0


@given(amount=st.decimals(-10_000_000, 10_000_000, places=4))
def test_cents_are_rounded_as_the_decimal_module_does(amount: Decimal) -> None:
    assert round_cents(amount) == int(amount.quantize(Decimal(1), ROUND_HALF_UP))
    assert round_cents(amount, Rounding.HALF_EVEN) == int(
        amount.quantize(Decimal(1), ROUND_HALF_EVEN)
    )


@given(amount=st.integers(-(10**12), 10**12))
def test_cents_and_decimal_text_are_one_and_the_same(amount: int) -> None:
    assert cents(decimal_text(amount)) == amount


def test_a_line_is_rounded_once_after_its_discount() -> None:
    """By hand: 3 x 0.35 = 1.05, less 10 % = 0.945, half a cent up: 0.95."""
    made = bill(
        [item(quantity=Decimal(3), unit_price_cents=35, discount_percent=Decimal(10))],
        currency="USD",
    )

    assert amounts(made) == ["0.95"]


def test_a_core_deposit_stands_on_a_line_of_its_own_and_is_not_discounted() -> None:
    """By hand: 2 x 100.00 and 2 x 25.00; 10 % off the goods alone is 20.00."""
    made = bill(
        [item(quantity=Decimal(2), core_deposit_cents=2500)],
        currency="USD",
        discount_percent=Decimal(10),
    )

    assert amounts(made) == ["200.00", "50.00", "-20.00"]
    assert made.total.amount == "230.00"


def test_a_tax_is_rounded_per_line_or_on_the_sum_as_its_rule_says() -> None:
    """By hand: 8.25 % of 0.10 is 0.00825: 0.01 on each of three lines, 0.02475 on their sum."""
    lines = [item(unit_price_cents=10) for _ in range(3)]

    per_line = bill(lines, currency="USD", taxes=[tax(basis=TaxBasis.LINE)])
    on_sum = bill(lines, currency="USD", taxes=[tax()])

    assert amounts(per_line)[-1] == "0.03"
    assert amounts(on_sum)[-1] == "0.02"


def test_half_a_cent_of_tax_goes_where_the_rule_says() -> None:
    """By hand: 5 % of 0.50 is 0.025: up to 0.03, to the even cent 0.02."""
    up = bill([item(unit_price_cents=50)], currency="USD", taxes=[tax(rate_percent="5")])
    even = bill(
        [item(unit_price_cents=50)],
        currency="USD",
        taxes=[tax(rate_percent="5", rounding=Rounding.HALF_EVEN)],
    )

    assert (amounts(up)[-1], amounts(even)[-1]) == ("0.03", "0.02")


def test_a_tax_is_charged_on_its_kinds_after_the_discount() -> None:
    """By hand: (100.00 - 10.00) x 8.25 % = 7.425, half a cent up: 7.43; labour is not taxed."""
    made = bill(
        [item(), item(kind=LineKind.LABOUR)],
        currency="USD",
        discount_percent=Decimal(10),
        taxes=[tax()],
    )

    assert amounts(made) == ["100.00", "100.00", "-20.00", "7.43"]
    assert "8.25 % of 90.00" in made.lines[-1].title


def test_the_margin_is_what_is_charged_less_what_it_costs() -> None:
    """By hand: 100.00 less 10 % is 90.00; less 60.00 leaves 30.00, a third."""
    found = margin(
        [item(unit_cost_cents=6000), item(title="Free of cost")],
        currency="USD",
        discount_percent=Decimal(10),
    )

    assert (found.amount.amount, found.percent) == ("30.00", "33.3")
    assert found.without_cost == ("Free of cost",)


def test_currencies_are_not_mixed() -> None:
    with pytest.raises(InvalidInput, match="EUR"):
        require_one_currency("USD", {"/lines/0/sku": "EUR", "/lines/1/sku": "USD"})
