"""Rows to values: each kind with its shape on the wire, its columns and its check."""

import logging
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from pydantic import TypeAdapter

from service.bodies import read_document
from service.catalog.families import EngineFamily
from service.catalog.rules import ShopRule
from service.catalog.schemas import PartIn, part_in, part_of
from service.compliance.documents import Document
from service.errors import FieldProblem, InvalidInput
from service.exchange.batch import Batch, Entry, Value, line_problem
from service.exchange.columns import Layout
from service.exchange.files import (
    MAX_ROWS,
    Row,
    Unreadable,
    csv_rows,
    decoded,
    json_rows,
    write_csv,
    write_json_lines,
)
from service.exchange.report import FileFormat, Kind, LineProblem
from service.refusals import refused_fields

LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How one kind of value stands in a file."""

    wire: TypeAdapter[Any]
    layout: Layout
    key_field: str
    from_wire: Callable[[Any], Value]
    to_wire: Callable[[Any], Any]


def _same(value: Any) -> Any:  # noqa: ANN401 - three kinds stand in a file as they are.
    return value


SHAPES: dict[Kind, Shape] = {
    Kind.FAMILIES: Shape(
        wire=TypeAdapter(EngineFamily),
        layout=Layout(EngineFamily),
        key_field="key",
        from_wire=_same,
        to_wire=_same,
    ),
    Kind.PARTS: Shape(
        wire=TypeAdapter(PartIn),
        layout=Layout(PartIn),
        key_field="sku",
        from_wire=part_of,
        to_wire=part_in,
    ),
    Kind.RULES: Shape(
        wire=TypeAdapter(ShopRule),
        layout=Layout(ShopRule),
        key_field="key",
        from_wire=_same,
        to_wire=_same,
    ),
    Kind.DOCUMENTS: Shape(
        wire=TypeAdapter(Document),
        layout=Layout(Document),
        key_field="number",
        from_wire=_same,
        to_wire=_same,
    ),
}


def read_file(
    content: bytes, file_format: FileFormat, kind: Kind | None
) -> Iterator[Row | LineProblem]:
    """Yield the rows of a file; `kind` is for lines that do not name their own."""
    try:
        text = decoded(content)
    except Unreadable as error:
        yield error.problem
        return
    if file_format is FileFormat.JSON_LINES:
        yield from json_rows(text, kind)
    elif kind is None:
        detail = "A CSV file does not say of which kind its rows are; name the kind beside it."
        yield LineProblem(row=1, code="missing", detail=detail)
    else:
        yield from csv_rows(text, kind, SHAPES[kind].layout)


def write_file(kind: Kind, file_format: FileFormat, values: Iterable[Value]) -> bytes:
    """Return a file of values of one kind; read in again, it changes nothing."""
    shape = SHAPES[kind]
    objects = [shape.wire.dump_python(shape.to_wire(value), mode="json") for value in values]
    if file_format is FileFormat.CSV:
        return write_csv(objects, shape.layout)
    return write_json_lines({"kind": kind.value, "value": item} for item in objects)


def read_rows(rows: Iterable[Row | LineProblem]) -> Batch:
    """Return the values of a file, and what is wrong in its rows one by one."""
    entries: list[Entry] = []
    problems: list[LineProblem] = []
    unread: set[str] = set()
    numbered = iter(rows)
    for row in islice(numbered, MAX_ROWS):
        if isinstance(row, LineProblem):
            problems.append(row)
            continue
        shape = SHAPES[row.kind]
        try:
            value = shape.from_wire(_checked(row, shape))
        except InvalidInput as error:
            problems += [line_problem(row, shape.layout, each) for each in error.problems]
            unread |= _key(row, shape)
        else:
            entries.append(Entry(row=row, layout=shape.layout, value=value))
    if next(numbered, None) is not None:
        detail = f"A file holds at most {MAX_ROWS} rows; split it."
        problems.append(LineProblem(row=MAX_ROWS, code="too_many_rows", detail=detail))
    return Batch(entries=entries, problems=problems, unread_keys=frozenset(unread))


def _checked(row: Row, shape: Shape) -> Any:  # noqa: ANN401 - the wire form of any kind.
    if not isinstance(row.value, dict):
        detail = "The line has to be a JSON object."
        raise InvalidInput(FieldProblem(pointer="", code="not_an_object", detail=detail))
    if refused := tuple(refused_fields(row.value)):
        LOG.warning("Refused row %s of an import: %s.", row.number, refused[0].code)
        raise InvalidInput(*refused)
    return read_document(shape.wire, row.value)


def _key(row: Row, shape: Shape) -> set[str]:
    key = row.value.get(shape.key_field) if isinstance(row.value, dict) else None
    return {key} if isinstance(key, str) else set()
