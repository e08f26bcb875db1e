"""What was filled into a form, as the document that a program would have sent.

A field that was left empty stands in the document as null: together they are a merge patch
(RFC 7396) that says of every field what it is to be. Text where a number belongs stays
text, so that the check of the value names it and the form can show it again.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from service.pages.forms import Form, Schema, is_listed

Filled = Mapping[str, Sequence[str]]
"""Everything that a browser sent, by name."""
_WHOLE_NUMBER = re.compile(r"[+-]?\d{1,15}")
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?")


def document_of(form: Form, schema: Schema, filled: Filled, held: object = None) -> Any:  # noqa: ANN401 - JSON holds anything.
    """Return the document; `held` is what the catalogue holds, for the order of its lists."""
    return _Reading(form, filled).value(schema, held, "")


class _Reading:
    def __init__(self, form: Form, filled: Filled) -> None:
        self._form = form
        self._filled = filled

    def value(self, schema: Schema, held: object, name: str) -> Any:  # noqa: ANN401 - JSON holds anything.
        found, empty = self._form.resolved(schema, self._said_of(schema, held, name))
        if is_listed(self._form, found):
            return self._rows(found, held, name)
        if found.get("type") == "object":
            document = self._object(found, held, name)
            return None if empty and _is_blank(document) else document
        if found.get("type") == "array":
            return self._list(found, held, name)
        return self._single(found, name, empty=empty)

    def _said_of(self, schema: Schema, held: object, name: str) -> object:
        """Return what tells the members of a union apart: as sent, else as held."""
        if "discriminator" not in schema:
            return held
        key = schema["discriminator"]["propertyName"]
        sent = self._filled.get(f"{name}/{key}")
        return {key: sent[0]} if sent else held

    def _object(self, schema: Schema, held: object, name: str) -> dict[str, Any]:
        return {
            key: self.value(one, _in(held, key), f"{name}/{key}" if name else key)
            for key, one in self._form.members(schema).items()
        }

    def _rows(self, schema: Schema, held: object, name: str) -> list[Any]:
        places = sorted(
            {
                int(rest.split("/", 1)[0])
                for sent in self._filled
                if sent.startswith(f"{name}/") and (rest := sent[len(name) + 1 :])[:1].isdigit()
            }
        )
        item = schema["items"]
        rows = [self.value(item, _in(held, place), f"{name}/{place}") for place in places]
        return [without_nothing(row) for row in rows if not _is_blank(row)]

    def _list(self, schema: Schema, held: object, name: str) -> list[str]:
        item, _ = self._form.resolved(schema["items"])
        sent = self._filled.get(name, ())
        if "enum" not in item:
            return [line.strip() for text in sent for line in text.splitlines() if line.strip()]
        before = held if isinstance(held, list | tuple) else ()
        # Ticks have no order: what was there keeps its place.
        return [one for one in before if one in sent] + [one for one in sent if one not in before]

    def _single(self, schema: Schema, name: str, *, empty: bool) -> Any:  # noqa: ANN401 - JSON holds anything.
        sent = self._filled.get(name, ())
        text = sent[0].replace("\r\n", "\n") if sent else ""
        if "const" in schema:
            return schema["const"]
        if schema.get("type") == "boolean":
            return {"true": True, "false": False}.get(text) if empty else bool(sent)
        if schema.get("type") in ("number", "integer"):
            return number_of(text.strip())
        if not text.strip():
            return None if empty or schema.get("minLength") or "enum" in schema else ""
        return text


def number_of(text: str) -> int | float | str | None:
    """Return the number that a text says; other text comes back as it is.

    >>> number_of("12"), number_of("1.5"), number_of("1,5"), number_of("")
    (12, 1.5, '1,5', None)
    """
    if not text:
        return None
    if _WHOLE_NUMBER.fullmatch(text):
        return int(text)
    return float(text) if _NUMBER.fullmatch(text) else text


def without_nothing(value: Any) -> Any:  # noqa: ANN401 - JSON holds anything.
    """Return an object without its nulls: inside a list a merge patch changes nothing."""
    if not isinstance(value, Mapping):
        return value
    return {key: without_nothing(one) for key, one in value.items() if one is not None}


def _is_blank(value: object) -> bool:
    """Return whether nothing was filled into a row."""
    if isinstance(value, Mapping):
        return all(_is_blank(one) for one in value.values())
    return value in (None, "", False, []) or value == ()


def _in(held: object, key: str | int) -> object:
    if isinstance(held, Mapping):
        return held.get(key)
    if isinstance(held, list | tuple) and isinstance(key, int) and key < len(held):
        return held[key]
    return None
