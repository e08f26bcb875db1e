"""The last look at what a quote says, before it is printed for good."""

from collections.abc import Mapping
from typing import Any

from service.errors import RuleBroken
from service.quotes.document import Copy, Issue, quote_document
from service.wording import banned_words, texts_in


class NotForPaper(RuleBroken):
    """A text that would be printed says what no quote says."""

    def __init__(self, found: tuple[str, ...], text: str) -> None:
        super().__init__(
            f"A quote says nothing of this kind: {', '.join(found)}. It stands in: {text}"
        )


def fit_to_print(issue: Issue, copy: Copy, evidence_sha256: str) -> Mapping[str, Any]:
    """Return one copy of a quote that says nothing it must not, or raise `NotForPaper`.

    Titles, notes and reasons come from many hands; here is all that will be read. What a
    customer or an issuer of papers is called is no claim of ours, whatever word is in it.
    """
    document = quote_document(issue, copy, evidence_sha256)
    customer = issue.content.customer
    called = {customer.name, customer.address, issue.declaration.name}
    called |= {paper.issuer for paper in issue.documents}
    names = [name for name in called if banned_words(name)]
    for _, text in texts_in(document):
        if found := banned_words(text, quoted=names):
            raise NotForPaper(found, text)
    return document
