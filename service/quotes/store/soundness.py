"""Whether quotes, their revisions and their history still say the same; old and new alike."""

from collections.abc import Iterator
from typing import Any

from sqlmodel import Session, col, func, select

from service.money import cents
from service.quotes.evidence import evidence_of
from service.quotes.quote import Move
from service.quotes.store.revisions import sha256
from service.quotes.tables import QuoteEventRow, QuoteRevisionRow, QuoteRow

READ_AT_ONCE = 20
"""A revision holds two printed documents."""


def revision_problems(session: Session) -> Iterator[str]:
    """Yield which bytes no longer have the digest or the total that they were issued with."""
    statement = select(QuoteRevisionRow).execution_options(yield_per=READ_AT_ONCE)
    for row in session.exec(statement):
        kept = {
            "evidence": (row.frozen, row.frozen_sha256),
            "customer's copy": (row.customer_pdf, row.customer_pdf_sha256),
            "shop's copy": (row.shop_pdf, row.shop_pdf_sha256),
        }
        damaged = [what for what, (data, digest) in kept.items() if sha256(data) != digest]
        yield from (f"quote {row.quote_id} revision {row.number}: {what}" for what in damaged)
        if "evidence" not in damaged and (wrong := _total_problem(row)):
            yield wrong


def history_problems(session: Session) -> Iterator[str]:
    """Yield which quotes have a history or revisions that do not lead to where they stand."""
    events = _counted(session, select(QuoteEventRow.quote_id, QuoteEventRow.number))
    issues = _counted(
        session,
        select(QuoteEventRow.quote_id, QuoteEventRow.number).where(
            QuoteEventRow.kind == Move.ISSUE.value
        ),
    )
    revisions = _counted(session, select(QuoteRevisionRow.quote_id, QuoteRevisionRow.number))
    statement = select(QuoteRow.id, QuoteRow.version, QuoteRow.revision).order_by(col(QuoteRow.id))
    for quote_id, version, revision in session.exec(statement):
        count, highest = events.get(quote_id or 0, (0, 0))
        if not count == highest == version:
            yield f"quote {quote_id}: version {version}, but {count} events up to {highest}"
        kept, last = revisions.get(quote_id or 0, (0, 0))
        issued, _ = issues.get(quote_id or 0, (0, 0))
        if not kept == last == revision == issued:
            yield f"quote {quote_id}: revision {revision}, {kept} kept, issued {issued} times"


def _counted(session: Session, statement: Any) -> dict[int, tuple[int, int]]:  # noqa: ANN401 - A select of two columns.
    """Return how many numbers each quote has, and the highest."""
    found = statement.subquery()
    rows = session.exec(
        select(found.c.quote_id, func.count(), func.max(found.c.number)).group_by(found.c.quote_id)
    )
    return {quote_id: (count, highest) for quote_id, count, highest in rows}


def _total_problem(row: QuoteRevisionRow) -> str | None:
    bill = evidence_of(row.frozen)["bill"]
    lines = sum(cents(line["amount"]["amount"]) for line in bill["lines"])
    if lines == cents(bill["total"]["amount"]) == row.total_cents:
        return None
    return f"quote {row.quote_id} revision {row.number}: the total is not the sum of its lines"
