"""The last look at what a quote says, before it is printed for good."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.compliance.outcomes import banned_words
from service.errors import RuleBroken


class NotForPaper(RuleBroken):
    """A text that would be printed says what no quote says."""

    def __init__(self, found: tuple[str, ...], text: str) -> None:
        super().__init__(
            f"A quote says nothing of this kind: {', '.join(found)}. It stands in: {text}"
        )


def fit_to_print(document: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a document that says nothing it must not, or raise `NotForPaper`.

    Names, titles and reasons come from many hands; here is all that will be read.
    """
    for text in _texts(document):
        if found := banned_words(text):
            raise NotForPaper(found, text)
    return document


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _texts(each)
