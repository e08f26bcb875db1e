"""Money on the wire: decimal text with its currency, whole cents inside."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from service.money import Money, Price, money

PRICE: TypeAdapter[Price] = TypeAdapter(Price)
MONEY: TypeAdapter[Money] = TypeAdapter(Money)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("0", 0), ("0.5", 50), ("199.99", 19_999), ("99999999.99", 9_999_999_999), ("007.10", 710)],
)
def test_money_is_decimal_text(text: str, expected: int) -> None:
    assert PRICE.validate_python({"amount": text}).cents == expected


@pytest.mark.parametrize(
    "value",
    [
        0,
        1,
        199.99,
        True,
        None,
        "",
        "1e2",
        "+1",
        " 1",
        "1\n",
        "1.999",
        ".5",
        "1.",
        "NaN",
        "\N{ARABIC-INDIC DIGIT ONE}",
        "1,5",
    ],
)
@pytest.mark.parametrize("kind", [PRICE, MONEY])
def test_nothing_else_is_money(kind: TypeAdapter[Any], value: object) -> None:
    with pytest.raises(ValidationError, match="decimal text"):
        kind.validate_python({"amount": value, "currency": "USD"})


def test_a_price_is_never_below_zero_and_a_sum_may_be() -> None:
    with pytest.raises(ValidationError, match="from 0 to 99999999"):
        PRICE.validate_python({"amount": "-1"})

    assert MONEY.validate_python({"amount": "-1"}).cents == -100


@given(amount=st.integers(-(10**18), 10**18))
def test_money_leaves_as_the_text_that_comes_back_as_the_same_cents(amount: int) -> None:
    left = MONEY.dump_json(money(amount, "EUR"))

    assert MONEY.validate_json(left) == money(amount, "EUR")
    assert MONEY.validate_json(left).cents == amount
