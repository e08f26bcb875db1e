"""Money: integer cents inside, decimal text with its currency outside, the same everywhere.

An amount is never a number on the wire, and amounts of different currencies are never added.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from pydantic import BeforeValidator, WithJsonSchema

from service.quantities import EDGE_CONFIG, Currency

PRICE_TEXT = r"^[0-9]{1,8}(\.[0-9]{1,2})?$"
AMOUNT_TEXT = r"^-?[0-9]{1,17}(\.[0-9]{1,2})?$"
"""What whole cents in 64 bits can say."""


_CODES = """
AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL BSD BTN BWP BYN
BZD CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS
GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR
LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD
PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN
SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD YER ZAR ZMW
ZWG
"""
IN_HUNDREDTHS = frozenset(_CODES.split())
"""Currencies with a minor unit of a hundredth (ISO 4217, from memory): what cents can keep. The
yen has none, the dinar a thousandth; neither can be quoted."""


def _written_as_price(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(PRICE_TEXT, value):
        return value
    msg = (
        "money is decimal text such as 199.99, from 0 to 99999999.99 with at most two places; "
        "never a number"
    )
    raise ValueError(msg)


def _written_as_amount(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(AMOUNT_TEXT, value):
        return value
    msg = "money is decimal text such as -19.99, with at most two places; never a number"
    raise ValueError(msg)


PriceText = Annotated[
    str,
    BeforeValidator(_written_as_price),
    WithJsonSchema({"type": "string", "pattern": PRICE_TEXT, "examples": ["199.99"]}),
]
AmountText = Annotated[
    str,
    BeforeValidator(_written_as_amount),
    WithJsonSchema({"type": "string", "pattern": AMOUNT_TEXT, "examples": ["-19.99"]}),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """What something comes to: a sum, a discount, what is left."""

    __pydantic_config__ = EDGE_CONFIG

    amount: AmountText
    """Decimal text; never a number."""
    currency: Currency = "USD"
    """ISO 4217."""

    def __str__(self) -> str:
        """Write the amount with its currency."""
        return f"{self.amount} {self.currency}"

    @property
    def cents(self) -> int:
        """The amount as it is kept and reckoned with."""
        return cents(self.amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class Price(Money):
    """What something costs: money that is never below zero."""

    __pydantic_config__ = EDGE_CONFIG

    amount: PriceText
    """Decimal text with at most two places, such as 199.99; never a number."""


def money(amount_cents: int, currency: str) -> Money:
    """Return cents as money."""
    return Money(amount=decimal_text(amount_cents), currency=currency)


def price(amount_cents: int, currency: str) -> Price:
    """Return cents as a price."""
    return Price(amount=decimal_text(amount_cents), currency=currency)


def cents(text: str) -> int:
    """Return decimal text of at most two places in cents.

    >>> cents("199.9"), cents("-0.05")
    (19990, -5)
    """
    return int(Decimal(text).scaleb(2))


def decimal_text(amount_cents: int) -> str:
    """Return cents as decimal text.

    >>> decimal_text(19990), decimal_text(-5)
    ('199.90', '-0.05')
    """
    return f"{Decimal(amount_cents).scaleb(-2):.2f}"
