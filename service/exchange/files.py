"""Files to rows and back: CSV (RFC 4180) and JSON Lines."""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.exchange.cells import cell_text, cell_value
from service.exchange.columns import Cells, Layout, flat, nested
from service.exchange.report import Kind, LineProblem
from service.tabular import Column, Holds, Table, csv_lines

DELIMITERS = ",;\t"
MAX_FIELD_CHARACTERS = 1_000_000
MAX_ROWS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One object of a file, not checked yet."""

    number: int
    kind: Kind
    value: Any
    """What should be an object; a JSON Lines file may hold anything."""
    cells: Mapping[str, str] | None = None
    """The text of its cells by column, when it comes from a CSV file."""
    file: str | None = None
    """Where several files are read as one."""


class Unreadable(Exception):
    """The file, or one line of it, is not what it is said to be."""

    def __init__(self, problem: LineProblem) -> None:
        self.problem = problem
        super().__init__(problem.detail)


def decoded(content: bytes) -> str:
    """Return the text of a file; a byte order mark in front is dropped."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        detail = f"Byte {error.start + 1} of the file is not UTF-8."
        raise Unreadable(LineProblem(row=row, code="not_utf_8", detail=detail)) from error


def csv_rows(text: str, kind: Kind, layout: Layout) -> Iterator[Row | LineProblem]:
    """Yield the rows of a CSV file; the header is row 1, as a spreadsheet counts."""
    records = _records(text, layout)
    header = next(records, [])
    if isinstance(header, LineProblem):
        yield header
        return
    wrong = list(_header_problems(header, layout))
    yield from wrong
    if wrong:
        return
    for number, record in enumerate(records, start=2):
        if isinstance(record, LineProblem):
            yield record
        elif len(record) > len(header):
            detail = f"The row has {len(record)} cells, the header has {len(header)}."
            yield LineProblem(row=number, code="too_many_cells", detail=detail)
        elif any(record):
            cells = {name: cell for name, cell in zip(header, record, strict=False) if cell}
            values = {name: cell_value(cell, layout.cells[name]) for name, cell in cells.items()}
            yield Row(number=number, kind=kind, value=nested(values, layout), cells=cells)


def json_rows(text: str, kind: Kind | None) -> Iterator[Row | LineProblem]:
    """Yield the objects of a JSON Lines file.

    A line is either the object itself, of the kind that the caller names, or an
    envelope `{"kind": ..., "value": ...}` that names its own kind.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            value = json.loads(line)
        except (ValueError, RecursionError) as error:
            detail = f"The line is not JSON: {error}."
            yield LineProblem(row=number, code="not_json", detail=detail)
            continue
        yield _enveloped(number, value) if _is_envelope(value) else _bare(number, value, kind)


def write_csv(values: Iterable[Mapping[str, Any]], layout: Layout) -> bytes:
    """Return a CSV file: the columns that hold something in at least one row."""
    rows = [flat(value, layout) for value in values]
    used = {name for row in rows for name in row} if rows else set(layout.cells)
    header = {name: cells for name, cells in layout.cells.items() if name in used}
    table = Table(
        columns=tuple(
            Column(name=name, holds=Holds.TEXT if cells is Cells.TEXT else Holds.NUMBER)
            for name, cells in header.items()
        ),
        rows=(
            tuple(
                cell_text(row[name], cells) if name in row else None
                for name, cells in header.items()
            )
            for row in rows
        ),
    )
    return b"".join(csv_lines(table))


def write_json_lines(values: Iterable[Any]) -> bytes:
    """Return a JSON Lines file."""
    return "".join(f"{json.dumps(value, ensure_ascii=False)}\n" for value in values).encode()


def _records(text: str, layout: Layout) -> Iterator[list[str] | LineProblem]:
    csv.field_size_limit(MAX_FIELD_CHARACTERS)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text, layout))
    number = 0
    try:
        for number, record in enumerate(reader, start=1):  # noqa: B007 - The error stands in the next row.
            yield record
    except csv.Error as error:
        yield LineProblem(row=number + 1, code="not_csv", detail=f"The row is not CSV: {error}.")


def _delimiter(text: str, layout: Layout) -> str:
    """Return the delimiter by which the first line names most columns."""
    header = text.splitlines()[0] if text else ""

    def columns_named(delimiter: str) -> int:
        return sum(name.strip('"') in layout.cells for name in header.split(delimiter))

    return max(DELIMITERS, key=columns_named)


def _header_problems(header: Sequence[str], layout: Layout) -> Iterator[LineProblem]:
    if not any(header):
        yield LineProblem(row=1, code="missing", detail="The first row has to name the columns.")
        return
    for place, name in enumerate(header):
        if name not in layout.cells:
            detail = f"There is no column {name!r}."
            yield LineProblem(row=1, column=name, value=name, code="unknown_column", detail=detail)
        elif name in header[:place]:
            detail = f"The column {name!r} stands there twice."
            yield LineProblem(row=1, column=name, value=name, code="repeated", detail=detail)


def _is_envelope(value: object) -> bool:
    return isinstance(value, dict) and value.keys() == {"kind", "value"}


def _enveloped(number: int, envelope: Mapping[str, Any]) -> Row | LineProblem:
    try:
        return Row(number=number, kind=Kind(envelope["kind"]), value=envelope["value"])
    except ValueError:
        return LineProblem(
            row=number,
            pointer="/kind",
            value=str(envelope["kind"]),
            code="unknown_kind",
            detail=f"A line is of one of the kinds {', '.join(Kind)}.",
        )


def _bare(number: int, value: object, kind: Kind | None) -> Row | LineProblem:
    if kind is None:
        detail = "The line names no kind, and the request names none for the whole file."
        return LineProblem(row=number, pointer="/kind", code="missing", detail=detail)
    return Row(number=number, kind=kind, value=value)
