"""The last look at what a quote says, before it is printed for good."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
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
    customer or an issuer of papers is called is no claim of ours, whatever word is in it: so
    the copy is read without those names, and the same word anywhere else is found.
    """
    for _, text in texts_in(quote_document(_without_names(issue), copy, evidence_sha256)):
        if found := banned_words(text):
            raise NotForPaper(found, text)
    return quote_document(issue, copy, evidence_sha256)


def _without_names(issue: Issue) -> Issue:
    customer = replace(issue.content.customer, name="")
    papers = issue.assessment.paperwork
    parts = tuple(
        replace(part, documents=tuple(replace(one, issuer="") for one in part.documents))
        for part in papers.parts
    )
    note = issue.assessment.jurisdiction_note
    issuers = {one.issuer for part in papers.parts for one in part.documents}
    return replace(
        issue,
        content=replace(issue.content, customer=customer),
        documents=tuple(replace(paper, issuer="") for paper in issue.documents),
        assessment=replace(
            issue.assessment,
            paperwork=replace(papers, parts=parts),
            jurisdiction_note=replace(
                note, documented=tuple(_unsigned(line, issuers) for line in note.documented)
            ),
        ),
    )


def _unsigned(line: str, issuers: Iterable[str]) -> str:
    """Return the line about one paper without who issued it."""
    for issuer in issuers:
        line = line.replace(f" of {issuer}, ", ", ")
    return line
