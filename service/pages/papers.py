"""How long ago a paper was looked at, and whether somebody should look again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from service.compliance.days import FRESH_FOR_DAYS
from service.compliance.documents import Document, DocumentStatus, StoredDocument


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperOnFile:
    """A paper with what the shop has to do about it."""

    document: Document
    copy_on_file: bool
    looked_at: str
    stale_from: date | None
    """The day from which somebody should look again; None: nobody has looked yet."""
    to_do: tuple[str, ...]
    """Empty: nothing."""


def papers_on_file(documents: Iterable[StoredDocument], today: date) -> tuple[PaperOnFile, ...]:
    """Return the papers, those first that somebody should look at."""
    found = [_on_file(document, today) for document in documents]
    return tuple(sorted(found, key=lambda one: (not one.to_do, one.document.number)))


def _on_file(stored: StoredDocument, today: date) -> PaperOnFile:
    document = stored.value
    to_do: list[str] = []
    looked_at = "nobody yet"
    stale_from = None
    if document.checked_on is None:
        to_do.append("Ask its issuer whether it still stands.")
    else:
        days = (today - document.checked_on).days
        looked_at = f"{document.checked_on}, {days} {'day' if days == 1 else 'days'} ago"
        stale_from = document.checked_on + timedelta(days=FRESH_FOR_DAYS + 1)
        if days > FRESH_FOR_DAYS:
            to_do.append(f"Looked at more than {FRESH_FOR_DAYS} days ago: ask again.")
    if document.status is DocumentStatus.UNKNOWN:
        to_do.append("Nobody has recorded whether it is in force.")
    if document.conditions and document.conditions_met is None:
        to_do.append(f"Check its conditions: {'; '.join(document.conditions)}")
    if not stored.copy_on_file:
        to_do.append("No copy of it is on file.")
    return PaperOnFile(
        document=document,
        copy_on_file=stored.copy_on_file,
        looked_at=looked_at,
        stale_from=stale_from,
        to_do=tuple(to_do),
    )
