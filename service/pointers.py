"""Where a wrong value stands: from the validator's location to a JSON pointer (RFC 6901)."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from service.errors import FieldProblem

Location = Sequence[str | int]

OWN_WORDS = {
    "unexpected_keyword_argument": ("unknown_field", "No field has this name here."),
    "extra_forbidden": ("unknown_field", "No field has this name here."),
}
"""The validator speaks of Python where the caller wrote JSON."""


def pointer(path: Iterable[str | int]) -> str:
    """Write a path of keys and positions as a JSON pointer.

    >>> pointer(["spec", 0, "a/b"])
    '/spec/0/a~1b'
    """
    return "".join("/" + str(key).replace("~", "~0").replace("/", "~1") for key in path)


def pointer_into(document: object, location: Location, *, missing: bool) -> str:
    """Return the pointer into `document` that a validator's location means.

    A location also names the member of a union that was tried. Such a name is no key of
    the document, so whatever the document does not hold is left out; only a `missing`
    field is named though it is not there.

    >>> pointer_into({"spec": {"slot": "injectors"}}, ["spec", "injectors", "flow"], missing=True)
    '/spec/flow'
    """
    path: list[str | int] = []
    here: Any = document
    for place, key in enumerate(location):
        if _holds(here, key):
            here = here[key]
        elif not (missing and place == len(location) - 1):
            continue
        path.append(key)
    return pointer(path)


def field_problems(
    errors: Iterable[Mapping[str, Any]], document: object
) -> tuple[FieldProblem, ...]:
    """Return what a validator found wrong in `document`; its messages name the limits."""
    return tuple(_field_problem(error, document) for error in errors)


def _field_problem(error: Mapping[str, Any], document: object) -> FieldProblem:
    code, detail = OWN_WORDS.get(error["type"], (error["type"], error["msg"]))
    where = pointer_into(document, error["loc"], missing=error["type"] == "missing")
    return FieldProblem(pointer=where, code=code, detail=detail)


def _holds(document: object, key: str | int) -> bool:
    if isinstance(document, Mapping):
        return key in document
    return isinstance(document, list) and isinstance(key, int) and key < len(document)
