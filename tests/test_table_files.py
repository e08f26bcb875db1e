"""XLSX as another library reads it (openpyxl), and as the bytes of another process."""

import io
import subprocess
import sys
import tracemalloc
from datetime import UTC, date, datetime
from typing import Any

import openpyxl
import pytest

from service import table_files
from service.table_files import TableFormat, TooManyRows, write_table
from service.tabular import Cell, Column, Holds, Table

COLUMNS = (
    Column(name="sku", width=24),
    Column(name="quantity", holds=Holds.NUMBER),
    Column(name="amount", holds=Holds.MONEY),
    Column(name="valid_until", holds=Holds.DAY),
    Column(name="at_utc", holds=Holds.MOMENT),
)
DAY, AT = date(2026, 11, 25), datetime(2026, 11, 25, 23, 30, 5, tzinfo=UTC)
TEXTS = ["00123", "1E5", "=cmd()", "+1", "SEPT2", "2026-11-25", "TRUE", "http://[::1]/", "a\nb"]


def row(text: str = "CAM-HOT", amount: str = "-19.90") -> tuple[Cell, ...]:
    return (text, "2.5", amount, DAY, AT)


def written(*rows: tuple[Cell, ...]) -> bytes:
    file = io.BytesIO()
    write_table(Table(name="Demo", columns=COLUMNS, rows=rows), TableFormat.XLSX, file)
    return file.getvalue()


def read(content: bytes) -> Any:  # noqa: ANN401 - openpyxl has no types.
    return openpyxl.load_workbook(io.BytesIO(content))["Demo"]


def test_text_stays_text_whatever_it_looks_like() -> None:
    sheet = read(written(*(row(text) for text in TEXTS)))

    cells = [line[0] for line in sheet.iter_rows(min_row=2)]
    assert [cell.value for cell in cells] == TEXTS
    assert {cell.data_type for cell in cells} == {"s"}
    # "@" is the built-in format "text" of ECMA-376, part 1, 18.8.30: what is typed stays text too.
    assert {cell.number_format for cell in cells} == {"@"}
    assert all(cell.hyperlink is None for cell in cells)


def test_numbers_money_days_and_moments_are_that() -> None:
    _, quantity, amount, day, at = next(read(written(row())).iter_rows(min_row=2))

    assert (quantity.value, quantity.data_type) == (2.5, "n")
    assert (amount.value, amount.data_type, amount.number_format) == (-19.9, "n", "#,##0.00")
    assert (day.value.date(), day.is_date, day.number_format) == (DAY, True, "yyyy-mm-dd")
    assert at.value.replace(tzinfo=UTC) == AT


def test_the_header_stays_in_sight_above_columns_of_their_width() -> None:
    sheet = read(written(row()))

    assert [cell.value for cell in sheet[1]] == [column.name for column in COLUMNS]
    assert sheet.freeze_panes == "A2"
    assert sheet.column_dimensions["A"].width > sheet.column_dimensions["B"].width


def test_what_a_cell_cannot_hold_unchanged_goes_in_as_text() -> None:
    """A double has 15 decimal digits (IEEE 754); days begin in 1900; XML has no U+FFFE."""
    odd = ("a\ufffe", None, "12345678901234567.89", date(1899, 1, 1), None)

    text, quantity, amount, day, at = next(read(written(odd)).iter_rows(min_row=2))

    assert text.value == "a\ufffd"
    assert (amount.value, amount.data_type) == ("12345678901234567.89", "s")
    assert (day.value, day.data_type) == ("1899-01-01", "s")
    assert quantity.value is at.value is None


AGAIN = """
import sys
from tests.test_table_files import row, written
sys.stdout.buffer.write(written(row(), row("=cmd()")))
"""


def test_another_process_writes_the_same_bytes() -> None:
    again = subprocess.run(  # noqa: S603 - This interpreter, these words.
        [sys.executable, "-c", AGAIN], capture_output=True, check=True
    )

    assert again.stdout == written(row(), row("=cmd()"))


def peak_bytes(file_format: TableFormat, count: int) -> int:
    """Return the most memory that a table of so many rows takes, none of it the file."""
    table = Table(columns=COLUMNS, rows=(row(f"A-{place}") for place in range(count)))
    tracemalloc.start()
    with open("/dev/null", "wb") as file:  # noqa: PTH123 - No path, a hole.
        write_table(table, file_format, file)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak


def test_a_table_that_is_longer_takes_no_more_memory() -> None:
    for file_format in TableFormat:
        peak_bytes(file_format, 10)  # What is loaded once is loaded.
        assert peak_bytes(file_format, 5_000) < 2 * peak_bytes(file_format, 500)


def test_more_rows_than_a_sheet_has_are_refused_with_the_limit(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(table_files, "MOST_ROWS", 2)

    written(row(), row())
    with pytest.raises(TooManyRows, match="at most 2 rows"):
        written(row(), row(), row())
