"""Tables for spreadsheet programs: what each column holds, and CSV that they do not spoil.

A program that opens CSV guesses what a cell is. A column says what it holds: numbers, money
and days are written bare. Text that would be taken for something else (a formula that runs, a
number that loses its zeros, a date) is written behind an apostrophe, which such programs show
and keep; who reads the file takes one apostrophe off such text again.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
"""Without it some spreadsheet programs read UTF-8 as something else."""

_FORMULA = r"[=+\-@\t\r\n\0＝＋－＠]"  # noqa: RUF001 - Full-width signs are meant.
"""First characters: OWASP ASVS 5.0, 1.2.10; of the full-width signs, its page on the subject."""
_NUMBER_OR_TIME = r"(?=\D*\d)[\d.,(£$€¥][\d.,:/+\-%()\s£$€¥e]*(?:[ap]m?)?"
_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|"
    r"sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_DATE = rf"\d{{1,4}}[\s./-]?{_MONTH}(?:[\s.,/-]*\d{{1,4}})?|{_MONTH}[\s.,/-]*\d[\d\s.,/-]*"
_SAFE_NUMBER = r"(?:0|[1-9]\d{0,10})\Z"
"""Digits that come out as they went in: no zero in front, short enough to be shown in full."""
_TAKEN_FOR_ANOTHER = re.compile(
    rf"'*(?:{_FORMULA}|(?!{_SAFE_NUMBER})(?:{_NUMBER_OR_TIME}|{_DATE}|true|false)\Z)",
    re.IGNORECASE,
)


class Holds(StrEnum):
    """What the cells of a column are."""

    TEXT = "text"
    NUMBER = "number"
    MONEY = "money"
    DAY = "day"
    MOMENT = "moment"
    """In UTC; its column says so."""


Cell = str | int | date | None
"""Numbers and money may be decimal text; a moment is a `datetime`; None and "" are no cell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table."""

    name: str
    holds: Holds = Holds.TEXT
    width: int = 14
    """In characters, where a file can say so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under their columns; those of a long table come as they are asked for."""

    name: str = "Table"
    columns: tuple[Column, ...]
    rows: Iterable[tuple[Cell, ...]]


def number_column(name: str) -> Column:
    """Return a column of numbers."""
    return Column(name=name, holds=Holds.NUMBER)


def guarded(text: str) -> str:
    """Return text as a cell of CSV that no spreadsheet program takes for anything else.

    >>> guarded("00123"), guarded("=1+1"), guarded("Heron 76"), guarded("'0")
    ("'00123", "'=1+1", 'Heron 76', "'0")
    """
    return f"'{text}" if _TAKEN_FOR_ANOTHER.match(text) else text


def unguarded(text: str) -> str:
    """Return what a cell of CSV says; `guarded` undone."""
    is_guarded = text.startswith("'") and _TAKEN_FOR_ANOTHER.match(text[1:])
    return text[1:] if is_guarded else text


def csv_lines(table: Table) -> Iterator[bytes]:
    """Yield a table as CSV (RFC 4180) in UTF-8, header first, a record at a time."""
    write = csv.writer(_Record()).writerow
    header = write([guarded(column.name) for column in table.columns])
    yield BYTE_ORDER_MARK + header.encode()
    kinds = [column.holds for column in table.columns]
    for row in table.rows:
        record = write([_text(cell, holds) for cell, holds in zip(row, kinds, strict=True)])
        yield record.encode()


class _Record:
    """Gives each record back to who writes it."""

    def write(self, text: str) -> str:
        return text


def _text(cell: Cell, holds: Holds) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return f"{cell.astimezone(UTC):%Y-%m-%d %H:%M:%S}"
    return guarded(str(cell)) if holds is Holds.TEXT else str(cell)
