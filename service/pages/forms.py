"""A form for any value of the catalogue, laid out from the JSON Schema of its wire form.

The schema is the one that the API's document shows (JSON Schema 2020-12), so that a form
asks for the same fields, with the same limits, as a program has to send. Every field is
called by its JSON pointer without the first slash: a problem of the value is a problem of
that field.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.pages.labels import hint_of, label_of
from service.pages.words import plain

Schema = Mapping[str, Any]
Value = Any
BLANK_ROWS = 2
"""Below a table, to be filled in; what stays empty is no row."""
LONGEST_LINE = 500
"""Longer text gets room for several lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing to fill in."""

    name: str
    label: str
    hint: str
    look: str
    """`line`, `number`, `text`, `lines`, `choice`, `ticks`, `tick` or `fixed`."""
    value: Any
    """Text; for `ticks` the chosen keys, for `tick` whether it is set."""
    choices: tuple[str, ...] = ()
    needed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """A table to fill in, one value to a row."""

    name: str
    label: str
    hint: str
    rows: tuple[tuple[Field, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Fields under one heading."""

    name: str
    label: str
    hint: str
    items: tuple["Field | Rows | Group", ...]
    of_list: bool = False
    """Whether its items are the values of a list: each can be taken out, and more asked for."""


Item = Field | Rows | Group


class Form:
    """A form over one schema."""

    def __init__(self, schema: Schema) -> None:
        self._schema = schema
        self._known: Mapping[str, Schema] = schema.get("$defs", {})

    def filled(self, document: Value, more_rows: Mapping[str, int]) -> tuple[Item, ...]:
        """Return the fields with what a document holds; some tables get further empty rows."""
        return _Layout(self, more_rows).items(self._schema, document, "")

    def resolved(self, schema: Schema, value: Value = None) -> tuple[Schema, bool]:
        """Return what a schema means for a value, and whether it may be left empty."""
        empty = False
        if "anyOf" in schema:
            members = [one for one in schema["anyOf"] if one.get("type") != "null"]
            empty = len(members) < len(schema["anyOf"])
            if len(members) == 1:
                schema = {**schema, **members[0]}
        if "discriminator" in schema:
            key = schema["discriminator"]["propertyName"]
            members = schema["discriminator"]["mapping"]
            chosen = value.get(key) if isinstance(value, Mapping) else None
            schema = {"$ref": members.get(chosen, next(iter(members.values())))}
        if "$ref" in schema:
            found = self._known[schema["$ref"].rsplit("/", 1)[-1]]
            # What stands beside the reference is about this place: it goes before.
            schema = {**found, **{key: one for key, one in schema.items() if key != "$ref"}}
        return schema, empty

    def members(self, schema: Schema) -> dict[str, Schema]:
        """Return the fields of an object; a mapping has one for each key that it may hold."""
        if "propertyNames" not in schema:
            properties: dict[str, Schema] = schema.get("properties", {})
            return properties
        names, _ = self.resolved(schema["propertyNames"])
        value: Schema = schema["additionalProperties"]
        members: dict[str, Schema] = dict.fromkeys(names["enum"], value)
        return members


def is_table(form: Form, schema: Schema) -> bool:
    """Return whether a list holds values of several fields each, none of them a list of such."""
    if not is_listed(form, schema):
        return False
    item, _ = form.resolved(schema["items"])
    return not any(is_listed(form, form.resolved(one)[0]) for one in form.members(item).values())


def is_listed(form: Form, schema: Schema) -> bool:
    """Return whether a list holds values of several fields each."""
    item, _ = form.resolved(schema.get("items", {}))
    return schema.get("type") == "array" and item.get("type") == "object"


class _Layout:
    """Lays one document out."""

    def __init__(self, form: Form, more_rows: Mapping[str, int]) -> None:
        self._form = form
        self._more_rows = more_rows

    def items(self, schema: Schema, value: Value, name: str) -> tuple[Item, ...]:
        """Return the fields of an object."""
        held = value if isinstance(value, Mapping) else {}
        needed = schema.get("required", ())
        return tuple(
            self._one(one, held.get(key), _below(name, key), needed=key in needed)
            for key, one in self._form.members(schema).items()
        )

    def _one(self, schema: Schema, value: Value, name: str, *, needed: bool) -> Item:
        found, empty = self._form.resolved(schema, value)
        if is_table(self._form, found):
            return self._table(found, value, name)
        if is_listed(self._form, found):
            return self._pieces(found, value, name)
        if found.get("type") == "object":
            items = self.items(found, value, name)
            return Group(name=name, label=label_of(name), hint=hint_of(found), items=items)
        return field(self._form, found, value, name, needed=needed and not empty, empty=empty)

    def _table(self, schema: Schema, value: Value, name: str) -> Rows:
        item, _ = self._form.resolved(schema["items"])
        held = list(value) if isinstance(value, Sequence) else []
        blank = BLANK_ROWS + self._more_rows.get(name, 0)
        rows = [self._row(item, one, _below(name, place)) for place, one in enumerate(held)]
        rows += [self._row(item, None, _below(name, len(held) + place)) for place in range(blank)]
        return Rows(name=name, label=label_of(name), hint=hint_of(schema), rows=tuple(rows))

    def _pieces(self, schema: Schema, value: Value, name: str) -> Group:
        """Return a group for each value that holds tables of its own: in a row is no room."""
        held = [*value] if isinstance(value, Sequence) else []
        held += [None] * self._more_rows.get(name, 0)
        item, _ = self._form.resolved(schema["items"])
        pieces = tuple(
            Group(
                name=_below(name, place),
                label=_told_by(one, place),
                hint="",
                items=self.items(item, one, _below(name, place)),
            )
            for place, one in enumerate(held)
        )
        hint = hint_of(schema)
        return Group(name=name, label=label_of(name), hint=hint, items=pieces, of_list=True)

    def _row(self, item: Schema, value: Value, name: str) -> tuple[Field, ...]:
        return tuple(_flat(self.items(item, value, name)))


def field(
    form: Form, schema: Schema, value: Value, name: str, *, needed: bool, empty: bool
) -> Field:
    """Return the field for a value that is not made of others."""
    look, choices = _look(form, schema, empty=empty)
    shown: Any = "" if value is None else value
    if look == "lines":
        shown = "\n".join(str(one) for one in value or ())
    elif look == "ticks":
        shown = tuple(value or ())
    elif look == "choice":
        shown = str(value).lower() if isinstance(value, bool) else shown
        choices = ("", *choices) if empty or value is None or shown not in choices else choices
    elif look == "tick":
        shown = value is True
    elif look == "fixed":
        shown = schema["const"]
    elif isinstance(value, float):
        shown = f"{value:.12g}"
    return Field(
        name=name,
        label=label_of(name),
        hint=hint_of(schema),
        look=look,
        value=shown,
        choices=choices,
        needed=needed,
    )


def _look(form: Form, schema: Schema, *, empty: bool) -> tuple[str, tuple[str, ...]]:
    kind = schema.get("type")
    look = "line"
    choices: tuple[str, ...] = ()
    if "const" in schema:
        look = "fixed"
    elif "enum" in schema:
        look, choices = "choice", tuple(schema["enum"])
    elif kind == "boolean":
        look, choices = ("choice", ("true", "false")) if empty else ("tick", ())
    elif kind == "array":
        item, _ = form.resolved(schema["items"])
        look, choices = ("ticks", tuple(item["enum"])) if "enum" in item else ("lines", ())
    elif kind in ("number", "integer"):
        look = "number"
    elif schema.get("maxLength", 0) > LONGEST_LINE:
        look = "text"
    return look, choices


def _flat(items: Sequence[Item]) -> Iterator[Field]:
    """Yield the fields of a row: a table in a table would have no heads of its own."""
    for one in items:
        if isinstance(one, Field):
            yield one
        elif isinstance(one, Group):
            yield from _flat(one.items)


def _told_by(value: Value, place: int) -> str:
    """Return what a piece is called: its place, and the words that it holds itself."""
    words = value.values() if isinstance(value, Mapping) else ()
    return ", ".join([f"{place + 1}", *(plain(one) for one in words if isinstance(one, str))])


def _below(name: str, key: str | int) -> str:
    return f"{name}/{key}" if name else str(key)


def names_in(items: Sequence[Item]) -> Iterator[str]:
    """Yield the names of all fields, tables and groups."""
    for one in items:
        yield one.name
        if isinstance(one, Group):
            yield from names_in(one.items)
        elif isinstance(one, Rows):
            for row in one.rows:
                yield from names_in(row)
