"""The columns of a flat file, worked out from the dataclass that a row stands for.

A nested value becomes dotted columns (`spec.bore_mm`), a list becomes JSON text in one
column, a mapping from a closed set of names gets a column for each name. Where a field
may hold one of several dataclasses, their columns are laid side by side.
"""

import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from service.money import PriceText


class Cells(StrEnum):
    """What the cells of a column hold."""

    TEXT = "text"
    FIGURE = "figure"
    """Decimal text or a day: text in JSON that a spreadsheet program may read as what it is."""
    NUMBER = "number"
    FLAG = "flag"
    JSON = "json"


class Layout:
    """The columns of one kind of row, in the order of its fields."""

    def __init__(self, row_type: type) -> None:
        self.cells: dict[str, Cells] = {}
        """What each column holds, by name."""
        self.mappings: list[tuple[str, ...]] = []
        """Paths of the mappings: empty ones have no cell and are there all the same."""
        for path, cells in self._columns(row_type, ()):
            name = ".".join(path)
            if self.cells.setdefault(name, cells) is not cells:
                msg = f"column {name!r} would hold both {self.cells[name]} and {cells}"
                raise TypeError(msg)

    def _columns(
        self, annotation: object, path: tuple[str, ...]
    ) -> Iterator[tuple[tuple[str, ...], Cells]]:
        for member in _members(annotation):
            if isinstance(member, type) and is_dataclass(member):
                hints = get_type_hints(member, include_extras=True)
                for field in fields(member):
                    yield from self._columns(hints[field.name], (*path, field.name))
            elif get_origin(member) is dict:
                self.mappings.append(path)
                names, value = get_args(member)
                for name in names:
                    yield from self._columns(value, (*path, name.value))
            else:
                yield path, _cells(member)


def nested(cells: Mapping[str, Any], layout: Layout) -> dict[str, Any]:
    """Return the object that a row's cells describe."""
    top: dict[str, Any] = {}
    for path in layout.mappings:
        _place(top, path, {})
    for name, value in cells.items():
        _place(top, name.split("."), value)
    return top


def flat(value: Mapping[str, Any], layout: Layout) -> dict[str, Any]:
    """Return the cells of an object by column; what is null has none."""
    return dict(_flat(value, layout, ""))


def column_of(pointer: str, layout: Layout) -> str | None:
    """Return the column in which the field at a JSON pointer stands, where there is one.

    What is wrong with a nested value as a whole is told at its first column.
    """
    steps = pointer.split("/")[1:]
    for length in range(len(steps), 0, -1):
        name = ".".join(steps[:length])
        if name in layout.cells:
            return name
        within = next((column for column in layout.cells if column.startswith(f"{name}.")), None)
        if within is not None:
            return within
    return None


def _flat(value: Mapping[str, Any], layout: Layout, prefix: str) -> Iterator[tuple[str, Any]]:
    for key, item in value.items():
        name = f"{prefix}{key}"
        if isinstance(item, Mapping) and name not in layout.cells:
            yield from _flat(item, layout, f"{name}.")
        elif item is not None:
            yield name, item


def _place(top: dict[str, Any], path: Sequence[str], value: object) -> None:
    for step in path[:-1]:
        top = top.setdefault(step, {})
    top[path[-1]] = value


def _members(annotation: object) -> Iterator[object]:
    """Yield what a field may hold, without its limits and without None."""
    origin = get_origin(annotation)
    if annotation == PriceText:
        yield annotation
    elif origin is Annotated:
        yield from _members(get_args(annotation)[0])
    elif origin in {Union, types.UnionType}:
        for member in get_args(annotation):
            yield from _members(member)
    elif annotation is not types.NoneType:
        yield annotation


def _cells(member: object) -> Cells:
    if member is bool:
        return Cells.FLAG
    if member in {int, float}:
        return Cells.NUMBER
    if member in {date, PriceText}:
        return Cells.FIGURE
    if get_origin(member) is tuple:
        return Cells.JSON
    if get_origin(member) is Literal or isinstance(member, type):
        return Cells.TEXT
    msg = f"no kind of cell holds {member!r}"
    raise TypeError(msg)
