"""Whether what is shown and found of a quote is what was frozen of it."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import ValidationError
from sqlmodel import Session, col, select

from service.compliance.store import find_copy_digests
from service.quotes.content import QuoteContent
from service.quotes.evidence import copies_of, evidence_of
from service.quotes.lists import folded
from service.quotes.quote import Move, QuoteState, end_of_day
from service.quotes.store.quotes import CONTENT, DECLARATION, charged_skus
from service.quotes.tables import QuoteEventRow, QuotePartRow, QuoteRevisionRow, QuoteRow

READ_AT_ONCE = 100
_STANDING = [move.value for move in (Move.ISSUE, Move.ACCEPT, Move.DECLINE, Move.EXPIRE)]
"""What moves the newest revision; its state is called as the move is."""


def shown_problems(session: Session) -> Iterator[str]:
    """Yield which quotes show something else than they froze, or are not found by what they say.

    What cannot be read at all is told by another check.
    """
    for rows in _pieces(session):
        parts = _parts_of(session, rows)
        standing = _standing_of(session, rows)
        for row in rows:
            name = f"quote {row.id}"
            try:
                content = CONTENT.validate_python(row.content)
            except ValidationError:
                continue
            yield from (f"{name}: {what}" for what in _columns_apart(row, content))
            if parts[row.id] != set(charged_skus(content)):
                yield f"{name}: a search for its parts finds others than it charges"
            if row.issued_state != standing.get(row.id):
                yield f"{name}: its revision is {row.issued_state}, its history says otherwise"
            if row.state != QuoteState.DRAFT.value:
                yield from (f"{name}: {what}" for what in _not_as_frozen(session, row, content))


def copy_problems_of_quotes(session: Session) -> Iterator[str]:
    """Yield which copies of papers an issued quote rests on and nobody has any longer."""
    kept = find_copy_digests(session)
    statement = select(QuoteRevisionRow.quote_id, QuoteRevisionRow.number, QuoteRevisionRow.frozen)
    for quote_id, number, frozen in session.exec(
        statement.execution_options(yield_per=READ_AT_ONCE)
    ):
        for paper, digest in copies_of(evidence_of(frozen)).items():
            if digest not in kept:
                yield f"quote {quote_id} revision {number}: the copy of {paper} is not kept"


def _pieces(session: Session) -> Iterator[Sequence[QuoteRow]]:
    after = 0
    statement = select(QuoteRow).order_by(col(QuoteRow.id)).limit(READ_AT_ONCE)
    while rows := session.exec(statement.where(col(QuoteRow.id) > after)).all():
        yield rows
        after = rows[-1].id or after
        session.expunge_all()


def _parts_of(session: Session, rows: Sequence[QuoteRow]) -> dict[int | None, set[str]]:
    found: dict[int | None, set[str]] = defaultdict(set)
    statement = select(QuotePartRow.quote_id, QuotePartRow.sku)
    ids = [row.id for row in rows]
    for quote_id, sku in session.exec(statement.where(col(QuotePartRow.quote_id).in_(ids))):
        found[quote_id].add(sku)
    return found


def _standing_of(session: Session, rows: Sequence[QuoteRow]) -> dict[int | None, str]:
    """Return where the newest revision of each stands, by what happened to it last."""
    ids = [row.id for row in rows]
    statement = (
        select(QuoteEventRow.quote_id, QuoteEventRow.kind)
        .where(col(QuoteEventRow.quote_id).in_(ids), col(QuoteEventRow.kind).in_(_STANDING))
        .order_by(col(QuoteEventRow.number))
    )
    return {quote_id: QuoteState(kind).value for quote_id, kind in session.exec(statement)}


def _columns_apart(row: QuoteRow, content: QuoteContent) -> Iterator[str]:
    said = {
        "customer_reference": content.customer.reference,
        "customer_name": content.customer.name,
        "reference_folded": folded(content.customer.reference),
        "name_folded": folded(content.customer.name),
        "valid_until": content.valid_until,
        "currency": content.currency,
    }
    for name, value in said.items():
        if getattr(row, name) != value:
            yield f"lists show another {name} than it says"


def _not_as_frozen(session: Session, row: QuoteRow, content: QuoteContent) -> Iterator[str]:
    key = (QuoteRevisionRow.quote_id == row.id, QuoteRevisionRow.number == row.revision)
    frozen = session.exec(select(QuoteRevisionRow.frozen).where(*key)).first()
    if frozen is None:
        return  # Told by another check.
    evidence: dict[str, Any] = evidence_of(frozen)
    then = CONTENT.validate_python(evidence["content"])
    if content != then:
        yield "what is shown is not what was issued"
    if row.expires_at != end_of_day(then.valid_until, evidence["time_zone"]):
        yield "it expires at another moment than it was issued for"
    said = None if row.declaration is None else DECLARATION.validate_python(row.declaration)
    if said != DECLARATION.validate_python(evidence["declaration"]):
        yield "the declaration shown is not the one that it was issued with"
