"""Field types for boundaries: numbers that are numbers, with their limits.

Domain values are plain dataclasses. The limits stand in their annotations, so that one
definition serves the code, the checks at the edge and the OpenAPI document. This is
the only file below the edge that knows pydantic, and it takes five words from it.
"""

import re
from datetime import date
from typing import Annotated

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Strict,
    StringConstraints,
)

STRICT = Strict()
"""No conversion between JSON types: true is not 1, "1" is not 1."""

BY_SLOT = Discriminator("slot")
"""The field `slot` says which member of a union is meant."""

EDGE_CONFIG = ConfigDict(extra="forbid", allow_inf_nan=False, use_attribute_docstrings=True)
"""How the edge reads a domain value: nothing unknown, nothing infinite."""

PRINTABLE = StringConstraints(pattern=r"^[^\x00-\x1f\x7f]*$")
"""One line of text: no control characters, which no store and no printer agrees on."""

WITHOUT_NUL = StringConstraints(pattern=r"^[^\x00]*$")
"""Several lines of text; PostgreSQL cannot hold the character NUL."""

ADDRESSABLE = StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")
"""Text that stands in a path of an address as it is."""

SHA256_HEX = StringConstraints(pattern=r"^[0-9a-f]{64}$")
"""A SHA-256 digest (FIPS 180-4) in lower-case hexadecimal."""

ANSWER_KEY = StringConstraints(pattern=r"^[0-9a-f]{32}$")
"""What an answer that is kept is called: the first half of such a digest."""


def _written_as_a_date(value: object) -> object:
    """Stop a number, bare or as text, from being read as seconds since 1970."""
    if isinstance(value, date) or (
        isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value)
    ):
        return value
    msg = "a date is text such as 2026-11-25"
    raise ValueError(msg)


FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(2999, 12, 31)
"""Well inside the calendar: the midnight after its last day would be no moment."""


def _within_these_centuries(day: date) -> date:
    if FIRST_DAY <= day <= LAST_DAY:
        return day
    msg = f"a date is one from {FIRST_DAY} to {LAST_DAY}"
    raise ValueError(msg)


IsoDate = Annotated[
    date, BeforeValidator(_written_as_a_date), AfterValidator(_within_these_centuries)
]
"""A calendar day, written year-month-day."""

Flag = Annotated[bool, STRICT]
Count = Annotated[int, STRICT, Ge(0), Le(1_000_000)]
PositiveCount = Annotated[int, STRICT, Ge(1), Le(1_000_000)]
Year = Annotated[int, STRICT, Ge(1886), Le(2100)]
Cents = Annotated[int, STRICT, Ge(0), Le(9_999_999_999)]
"""The most that decimal text with eight places before the point can say."""
Currency = Annotated[str, STRICT, StringConstraints(pattern=r"^[A-Z]{3}$")]
"""Alphabetic code of ISO 4217."""
Name = Annotated[str, STRICT, MinLen(1), MaxLen(120), PRINTABLE]
Key = Annotated[str, STRICT, MinLen(1), MaxLen(40), ADDRESSABLE]
"""What an item is called in addresses; never changes."""
Text = Annotated[str, STRICT, MaxLen(2000), WITHOUT_NUL]

LengthMm = Annotated[float, STRICT, Gt(0), Le(5000)]
"""A dimension of a part. [mm]"""
LiftMm = Annotated[float, STRICT, Ge(0), Le(40)]
"""A valve or tappet lift. [mm]"""
AreaMm2 = Annotated[float, STRICT, Gt(0), Le(200_000)]
"""A flow area. [mm²]"""
VolumeCm3 = Annotated[float, STRICT, Gt(0), Le(100_000)]
"""A volume. [cm³]"""
FlowCfm = Annotated[float, STRICT, Gt(0), Le(5000)]
"""A flow read on a bench. [ft³/min]"""
DepressionInH2O = Annotated[float, STRICT, Gt(0), Le(100)]
"""A pressure drop on a bench. [inH₂O]"""
AngleDeg = Annotated[float, STRICT, Ge(-360), Le(720)]
"""A crank, cam or face angle. [deg]"""
SpeedRpm = Annotated[float, STRICT, Gt(0), Le(20_000)]
"""A crank speed. [rev/min]"""
Coefficient = Annotated[float, STRICT, Gt(0), Le(1)]
"""A discharge coefficient or a share. [-]"""
CompressionRatio = Annotated[float, STRICT, Ge(5), Le(18)]
"""Geometric compression ratio. [-]"""
Ratio = Annotated[float, STRICT, Gt(0), Le(100)]
"""Any other ratio. [-]"""
PressureKpa = Annotated[float, STRICT, Gt(0), Le(2000)]
"""A pressure; the field says gauge or absolute. [kPa]"""

PercentText = Annotated[
    str, STRICT, StringConstraints(pattern=r"^(100(\.0{1,3})?|[0-9]{1,2}(\.[0-9]{1,3})?)$")
]
"""A share of a hundred as decimal text such as 8.25, up to 100."""
QuantityText = Annotated[
    str,
    STRICT,
    StringConstraints(pattern=r"^([1-9][0-9]{0,4}(\.[0-9]{1,3})?|0\.[0-9]{0,2}[1-9][0-9]{0,2})$"),
]
"""How many or how much, as decimal text above 0 such as 1 or 2.5."""
