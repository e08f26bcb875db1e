"""A table as a file: CSV, or XLSX (ECMA-376), where text stays text and days are days.

Rows are written as they come, so that memory does not grow with them, and nothing of the
moment enters: the same table makes the same bytes.
"""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import IO

import xlsxwriter

from service.errors import RuleBroken
from service.tabular import Cell, Holds, Table, csv_lines

MOST_ROWS = 1_048_575
"""Below the header; a sheet has 2**20."""
FORMATS = {
    Holds.TEXT: "@",
    Holds.NUMBER: "General",
    Holds.MONEY: "#,##0.00",
    Holds.DAY: "yyyy-mm-dd",
    Holds.MOMENT: "yyyy-mm-dd hh:mm:ss",
}
MOST_DIGITS = 15
"""A cell's number is a double; longer ones would come out as another number."""
FIRST_DAY = date(1900, 3, 1)
"""Before it programs disagree: one of them knows a 29 February 1900."""
ALWAYS = datetime(1980, 1, 1)  # noqa: DTZ001 - The format knows no zone.

_NO_CHARACTER = re.compile("[\ufffe\uffff]")
"""What XML 1.0 has no place for and the writer lets through."""


class TableFormat(StrEnum):
    """How a table is written."""

    CSV = "csv"
    XLSX = "xlsx"


class TooManyRows(RuleBroken):
    """A sheet has no room for a table."""

    def __init__(self) -> None:
        super().__init__(f"An XLSX file holds at most {MOST_ROWS} rows; ask for less, or for CSV.")


def write_table(table: Table, file_format: TableFormat, file: IO[bytes]) -> None:
    """Write a table into a file that is open for it."""
    if file_format is TableFormat.CSV:
        file.writelines(csv_lines(table))
    else:
        _write_workbook(table, file)


def _write_workbook(table: Table, file: IO[bytes]) -> None:
    """Write a table as the one sheet of a workbook, its header always in sight."""
    with xlsxwriter.Workbook(file, {"constant_memory": True}) as workbook:
        workbook.set_properties({"created": ALWAYS})
        bold = workbook.add_format({"bold": True, "num_format": FORMATS[Holds.TEXT]})
        formats = {
            kind: workbook.add_format({"num_format": code}) for kind, code in FORMATS.items()
        }
        sheet = workbook.add_worksheet(table.name)
        sheet.freeze_panes(1, 0)
        for place, column in enumerate(table.columns):
            sheet.set_column(place, place, column.width, formats[column.holds])
            sheet.write_string(0, place, column.name, bold)
        for number, row in enumerate(table.rows, start=1):
            if number > MOST_ROWS:
                raise TooManyRows
            for place, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
                _write(sheet, number, place, _fitting(cell, column.holds))


def _fitting(cell: Cell, holds: Holds) -> str | Decimal | datetime | date | None:
    """Return what goes into a cell; what it could not hold unchanged goes in as text."""
    if cell is None or cell == "":
        return None
    if isinstance(cell, datetime):
        return cell.astimezone(UTC).replace(tzinfo=None)
    if isinstance(cell, date):
        return cell if cell >= FIRST_DAY else cell.isoformat()
    if holds is Holds.TEXT:
        return _NO_CHARACTER.sub("\ufffd", str(cell))
    number = Decimal(cell)
    return number if len(number.as_tuple().digits) <= MOST_DIGITS else str(cell)


def _write(
    sheet: xlsxwriter.worksheet.Worksheet,
    row: int,
    place: int,
    value: str | Decimal | datetime | date | None,
) -> None:
    if isinstance(value, str):
        # By its own name: `write` would make a formula, a number or a link of it.
        sheet.write_string(row, place, value)
    elif isinstance(value, Decimal):
        sheet.write_number(row, place, value)
    elif value is not None:
        sheet.write_datetime(row, place, value)
