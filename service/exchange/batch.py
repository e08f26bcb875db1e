"""The values of a file, and what is wrong between them."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.catalog.families import EngineFamily
from service.catalog.integrity import (
    CatalogIndex,
    family_problems,
    part_problems,
    rule_problems,
)
from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.compliance.documents import Document, document_problems
from service.errors import FieldProblem
from service.exchange.columns import Layout, column_of
from service.exchange.files import Row
from service.exchange.report import LineProblem
from service.refusals import RefusedField

LONGEST_VALUE_SHOWN = 200

Value = EngineFamily | Part | ShopRule | Document


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row with the value that it stands for."""

    row: Row
    layout: Layout
    value: Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What was read from a file."""

    entries: Sequence[Entry]
    problems: Sequence[LineProblem]
    """Of the rows that are no values."""
    unread_keys: frozenset[str] = field(default=frozenset())
    """Keys of rows that are no values; who names them is not at fault for that."""

    @property
    def families(self) -> list[EngineFamily]:
        """The families, in the order of the file."""
        return [e.value for e in self.entries if isinstance(e.value, EngineFamily)]

    @property
    def parts(self) -> list[Part]:
        """The parts, in the order of the file."""
        return [e.value for e in self.entries if isinstance(e.value, Part)]

    @property
    def rules(self) -> list[ShopRule]:
        """The shop rules, in the order of the file."""
        return [e.value for e in self.entries if isinstance(e.value, ShopRule)]

    @property
    def documents(self) -> list[Document]:
        """The documents, in the order of the file."""
        return [e.value for e in self.entries if isinstance(e.value, Document)]

    def cross_problems(self, stored: CatalogIndex, today: date) -> Iterator[LineProblem]:
        """Yield what would be wrong in the catalogue once the file is in it."""
        index = stored.with_values(self.families, self.parts)
        seen: dict[tuple[type, str], Row] = {}
        for entry in self.entries:
            for problem in _value_problems(entry.value, index, today):
                key = value_at(entry.row.value, problem.pointer)
                if problem.code != "unknown_reference" or key not in self.unread_keys:
                    yield line_problem(entry.row, entry.layout, problem)
            key_field, key = key_of(entry.value)
            first = seen.setdefault((type(entry.value), key), entry.row)
            if first is not entry.row:
                detail = f"Row {first.number} speaks of {key!r} already."
                again = FieldProblem(pointer=f"/{key_field}", code="repeated", detail=detail)
                yield line_problem(entry.row, entry.layout, again)


def key_of(value: Value) -> tuple[str, str]:
    """Return the field that a value is known by, and what stands in it."""
    match value:
        case Part():
            return "sku", value.sku
        case Document():
            return "number", value.number
        case _:
            return "key", value.key


def line_problem(row: Row, layout: Layout, problem: FieldProblem) -> LineProblem:
    """Say where in the file a problem of a value stands."""
    if row.cells is None:
        column = None
        shown = value_at(row.value, problem.pointer)
    else:
        column = column_of(problem.pointer, layout)
        shown = row.cells.get(column or "")
    return LineProblem(
        file=row.file,
        row=row.number,
        column=column,
        pointer=problem.pointer,
        value=_shown(shown),
        code=problem.code,
        detail=problem.detail,
        refused_words=problem.words if isinstance(problem, RefusedField) else None,
    )


def refused_lines(problems: Iterable[LineProblem]) -> tuple[RefusedField, ...]:
    """Return what lines of a file were refused for, to be recorded."""
    return tuple(
        RefusedField(
            pointer=f"line {each.row}: {each.pointer}",
            code=each.code,
            detail=each.detail,
            words=each.refused_words,
        )
        for each in problems
        if each.refused_words is not None
    )


def value_at(value: Any, pointer: str) -> Any:  # noqa: ANN401 - any JSON value.
    """Return what stands at a JSON pointer (RFC 6901), or nothing."""
    for step in pointer.split("/")[1:]:
        name = step.replace("~1", "/").replace("~0", "~")
        if isinstance(value, Mapping):
            value = value.get(name)
        elif isinstance(value, Sequence) and not isinstance(value, str) and name.isdecimal():
            value = value[int(name)] if int(name) < len(value) else None
        else:
            return None
    return value


def _value_problems(value: Value, index: CatalogIndex, today: date) -> list[FieldProblem]:
    match value:
        case EngineFamily():
            return family_problems(value, index)
        case Part():
            return part_problems(value, index)
        case ShopRule():
            return rule_problems(value, index)
        case Document():
            return document_problems(value, today)


def _shown(value: Any) -> str | None:  # noqa: ANN401 - any JSON value.
    if value is None:
        return None
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text[:LONGEST_VALUE_SHOWN]
