"""Tables for spreadsheet programs: what is guarded, and that nothing is lost by it."""

import csv
import io
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.tabular import BYTE_ORDER_MARK, Column, Holds, Table, csv_lines, guarded, unguarded

# First characters: OWASP ASVS 5.0, requirement 1.2.10; line ends and the full-width signs: the
# OWASP page on CSV injection (from memory).
FORMULAS = ["=cmd()", "+1", "-1", "@SUM(A1)", "\tx", "\0x", "\rx", "\nx", "＝1+1"]  # noqa: RUF001
# Ziemann, Eren and El-Osta 2016, Genome Biology 17:177: names of genes that spreadsheets made
# into dates, and an identifier that became 2.31E+19.
SPOILED_NAMES = ["SEPT2", "MARCH1", "2310009E13"]
# Common practice, no source: numbers that lose zeros or digits, dates, times, shares, words.
SPOILED = [
    *("00123", "1E5", "4500123456789", "1.10", "3-4", "1/2", "12:30 PM", "5%", "(5)", "$5"),
    *("2 May", "TRUE"),
]
LEFT_ALONE = ["CAM-HOT", "4500123456", "0", "Heron", "May", "Mark 2", "10 mm", "E5", "'tis", ""]
LETTERS = st.text(alphabet="'=+-@019.eE:/ %$\t\nmarchsept", max_size=12)


@pytest.mark.parametrize("text", [*FORMULAS, *SPOILED_NAMES, *SPOILED])
def test_text_that_would_be_taken_for_something_else_stands_behind_an_apostrophe(
    text: str,
) -> None:
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", LEFT_ALONE)
def test_text_that_comes_out_as_it_went_in_is_left_alone(text: str) -> None:
    assert guarded(text) == text


@given(LETTERS | st.text())
def test_what_was_guarded_is_read_back_the_same(text: str) -> None:
    assert unguarded(guarded(text)) == text


def table(*cells: str | int | date | None, holds: Holds) -> Table:
    return Table(
        columns=(Column(name="=first", holds=holds),), rows=tuple((cell,) for cell in cells)
    )


def cells_of(written: Table) -> list[str]:
    content = b"".join(csv_lines(written))
    assert content.startswith(BYTE_ORDER_MARK)
    records = csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""))
    return [cell for record in records for cell in record]


def test_a_column_says_what_is_guarded_and_its_name_is_too() -> None:
    """A negative amount is a number; the same letters in a column of text would be a formula."""
    amounts = cells_of(table("-19.99", "0.50", None, holds=Holds.MONEY))
    texts = cells_of(table("-19.99", "Größe", 'a,b\n"c"', None, holds=Holds.TEXT))

    assert amounts == ["'=first", "-19.99", "0.50", ""]
    assert texts == ["'=first", "'-19.99", "Größe", 'a,b\n"c"', ""]


def test_days_and_moments_are_written_so_that_programs_read_them() -> None:
    at = datetime.fromisoformat("2026-11-26T01:30:05.250+02:00")

    assert cells_of(table(date(2026, 11, 25), holds=Holds.DAY))[1] == "2026-11-25"
    assert cells_of(table(at, holds=Holds.MOMENT))[1] == "2026-11-25 23:30:05"
    assert at.astimezone(UTC).hour == 23
