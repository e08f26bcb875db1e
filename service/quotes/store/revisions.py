"""Issued revisions: written once, read back as they were."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlmodel import Session, select

from service.quotes.evidence import copies_of, evidence_of
from service.quotes.quote import RevisionNotFound
from service.quotes.tables import QuoteRevisionRow


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedRevision:
    """One revision, byte for byte."""

    quote_id: int
    number: int
    issued_at: datetime
    total_cents: int
    frozen: bytes
    customer_pdf: bytes
    shop_pdf: bytes

    @property
    def evidence(self) -> dict[str, Any]:
        """What it says and rests on."""
        return evidence_of(self.frozen)


def add_revision(session: Session, issued: IssuedRevision) -> None:
    """Keep a revision for good."""
    session.add(
        QuoteRevisionRow(
            quote_id=issued.quote_id,
            number=issued.number,
            issued_at=issued.issued_at,
            total_cents=issued.total_cents,
            frozen=issued.frozen,
            frozen_sha256=sha256(issued.frozen),
            customer_pdf=issued.customer_pdf,
            customer_pdf_sha256=sha256(issued.customer_pdf),
            shop_pdf=issued.shop_pdf,
            shop_pdf_sha256=sha256(issued.shop_pdf),
        )
    )
    session.flush()


def load_revision(session: Session, quote_id: int, number: int) -> IssuedRevision:
    """Return a revision, or raise `RevisionNotFound`."""
    row = session.get(QuoteRevisionRow, (quote_id, number))
    if row is None:
        raise RevisionNotFound(quote_id, number)
    return IssuedRevision(
        quote_id=quote_id,
        number=number,
        issued_at=row.issued_at,
        total_cents=row.total_cents,
        frozen=row.frozen,
        customer_pdf=row.customer_pdf,
        shop_pdf=row.shop_pdf,
    )


def find_copies(session: Session, quote_id: int) -> dict[int, dict[str, str]]:
    """Return which copies of papers each revision rests on; the printed bytes are not read."""
    rows = session.exec(
        select(QuoteRevisionRow.number, QuoteRevisionRow.frozen).where(
            QuoteRevisionRow.quote_id == quote_id
        )
    )
    return {number: copies_of(evidence_of(frozen)) for number, frozen in rows}


def sha256(content: bytes) -> str:
    """Return the digest (FIPS 180-4) that is printed and kept beside bytes."""
    return hashlib.sha256(content).hexdigest()
