"""Words that no text of ours may use, and where in a value they stand."""

import re
from collections.abc import Iterator, Mapping

from service.errors import FieldProblem

_BANNED = re.compile(
    r"\b(street[- ]?legal|legal(?:ly)?|compliant|approved|will pass|smog[- ]safe|exempt(?:ed)?"
    r"|stock[- ]appearing)\b",
    re.IGNORECASE,
)


def banned_words(text: str) -> tuple[str, ...]:
    """Return the words that no text of ours may use."""
    return tuple(match.group(0) for match in _BANNED.finditer(text))


def texts_in(value: object, pointer: str = "") -> Iterator[tuple[str, str]]:
    """Yield every text in a value, with its JSON pointer."""
    if isinstance(value, str):
        yield pointer, value
    elif isinstance(value, Mapping):
        for name, each in value.items():
            yield from texts_in(each, f"{pointer}/{name}")
    elif isinstance(value, list | tuple):
        for place, each in enumerate(value):
            yield from texts_in(each, f"{pointer}/{place}")


def banned_fields(value: Mapping[str, object], not_ours: str) -> Iterator[FieldProblem]:
    """Find the texts of a record that would be printed and say what nothing of ours says.

    `not_ours` is a pattern of pointers: names and numbers that others gave, and what is on record
    for good.
    """
    for pointer, text in texts_in(value):
        found = banned_words(text)
        if found and not re.fullmatch(not_ours, pointer):
            detail = f"Nothing in the catalogue says this of a part: {', '.join(found)}."
            yield FieldProblem(pointer=pointer, code="banned_word", detail=detail)
