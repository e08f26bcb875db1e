"""Quotes and their history: written together, in one transaction."""

from collections.abc import Collection, Iterator
from dataclasses import asdict
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import TypeAdapter
from sqlmodel import Session, col, delete, func, select
from sqlmodel.sql.expression import SelectOfScalar

from service.errors import StaleVersion
from service.money import money
from service.quotes.charge import Charge
from service.quotes.content import Declaration, QuoteContent
from service.quotes.lists import QuoteFilter, QuoteSummary, folded
from service.quotes.quote import (
    Deed,
    Move,
    Quote,
    QuoteEvent,
    QuoteNotFound,
    QuoteState,
    expired,
)
from service.quotes.tables import QuoteEventRow, QuotePartRow, QuoteRow
from service.webhooks.store.outbox import publish
from service.webhooks.webhook import EventType

BY_WORKER = "worker"
"""Who does what nobody does."""
PIECE = 1000

CONTENT = TypeAdapter(QuoteContent)
DECLARATION = TypeAdapter(Declaration)
_CHARGE = TypeAdapter(Charge)


def add_quote(session: Session, quote: Quote, *, total_cents: int, deed: Deed) -> Quote:
    """Take a new quote in."""
    row = QuoteRow(created_at=deed.at, **_columns(quote, total_cents, deed.at))
    session.add(row)
    session.flush()
    _link_parts(session, row, quote.content)
    _remember(session, row, deed)
    return quote_of(row)


def save_quote(session: Session, quote: Quote, *, total_cents: int, deed: Deed) -> Quote:
    """Replace a quote that is still at the version it was read at, and remember why."""
    row = _locked(session, quote.id)
    if row.version != quote.version:
        raise StaleVersion(row.version)
    row.sqlmodel_update(_columns(quote, total_cents, deed.at))
    row.version += 1
    session.flush()
    _link_parts(session, row, quote.content)
    _remember(session, row, deed)
    return quote_of(row)


def load_quote(session: Session, quote_id: int, *, lock: bool = False) -> Quote:
    """Return a quote, or raise `QuoteNotFound`; a locked one is nobody else's to change."""
    if lock:
        return quote_of(_locked(session, quote_id))
    row = session.get(QuoteRow, quote_id)
    if row is None:
        raise QuoteNotFound(quote_id)
    return quote_of(row)


def find_quotes(
    session: Session, wanted: QuoteFilter, *, before: int | None = None, limit: int | None = None
) -> list[QuoteSummary]:
    """Return the quotes before a number, the newest first."""
    columns = (
        QuoteRow.id,
        QuoteRow.state,
        QuoteRow.revision,
        QuoteRow.customer_reference,
        QuoteRow.customer_name,
        QuoteRow.valid_until,
        QuoteRow.currency,
        QuoteRow.total_cents,
        QuoteRow.created_at,
        QuoteRow.updated_at,
    )
    # More than four columns are beyond the overloads of `select`.
    statement: Any = select(*columns).limit(limit)  # type: ignore[call-overload]
    number = col(QuoteRow.id)
    if wanted.state is not None:
        statement = statement.where(QuoteRow.state == wanted.state.value)
    if (named := _named(wanted)) is not None:
        statement = statement.where(number.in_(named))
    if wanted.created_from is not None:
        start = _midnight(wanted.created_from, wanted.time_zone)
        statement = statement.where(col(QuoteRow.created_at) >= start)
    if wanted.created_to is not None:
        after = _midnight(wanted.created_to + timedelta(days=1), wanted.time_zone)
        statement = statement.where(col(QuoteRow.created_at) < after)
    if wanted.part is not None:
        # In the order of this index, the newest quotes are read and no others.
        number = col(QuotePartRow.quote_id)
        statement = statement.join(QuotePartRow, number == QuoteRow.id).where(
            QuotePartRow.sku == wanted.part
        )
    if before is not None:
        statement = statement.where(number < before)
    return [_summary(row) for row in session.exec(statement.order_by(number.desc()))]


def every_quote(session: Session, wanted: QuoteFilter) -> Iterator[QuoteSummary]:
    """Yield the quotes that are wanted, the newest first; a piece of them is held at a time."""
    before = None
    while piece := find_quotes(session, wanted, before=before, limit=PIECE):
        yield from piece
        before = piece[-1].id


def is_overdue(session: Session, at: datetime) -> bool:
    """Say whether the issued revision of some quote is past its last day."""
    return session.exec(_overdue(at)).first() is not None


def expire_next(session: Session, at: datetime) -> Quote | None:
    """Let the quote that is past its last day for longest expire; skip what others hold.

    What the customer holds is over on its day, whether or not the next revision is drafted.
    """
    statement = _overdue(at).with_for_update(skip_locked=True)
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        return None
    deed = Deed(move=Move.EXPIRE, by=BY_WORKER, at=at)
    return save_quote(session, expired(quote_of(row)), total_cents=row.total_cents, deed=deed)


def find_history(session: Session, quote_id: int) -> list[QuoteEvent]:
    """Return everything that happened to a quote, in its order."""
    rows = session.exec(
        select(QuoteEventRow)
        .where(QuoteEventRow.quote_id == quote_id)
        .order_by(col(QuoteEventRow.number))
    )
    return [
        QuoteEvent(
            number=row.number,
            kind=Move(row.kind),
            revision=row.revision,
            at=row.at,
            by=row.by,
            key=row.key,
            note=row.note,
            data=row.data,
        )
        for row in rows
    ]


def quote_of(row: QuoteRow) -> Quote:
    """Return what a row keeps."""
    said, charge = row.declaration, row.charge
    return Quote(
        id=row.id or 0,
        version=row.version,
        content=CONTENT.validate_python(row.content),
        declaration=None if said is None else DECLARATION.validate_python(said),
        charge=None if charge is None else _CHARGE.validate_python(charge),
        is_draft=row.state == QuoteState.DRAFT.value,
        revision=row.revision,
        issued_state=None if row.issued_state is None else QuoteState(row.issued_state),
        expires_at=row.expires_at,
        created_at=row.created_at,
        updated_at=row.updated_at,
    )


def charged_skus(content: QuoteContent) -> Collection[str]:
    """Return every part that a quote charges."""
    return {
        *content.question.parts.values(),
        *(line.sku for line in content.lines if line.sku is not None),
    }


def _overdue(at: datetime) -> SelectOfScalar[QuoteRow]:
    return (
        select(QuoteRow)
        .where(
            QuoteRow.issued_state == QuoteState.ISSUED.value,
            col(QuoteRow.expires_at) <= at,
        )
        .order_by(col(QuoteRow.expires_at))
        .limit(1)
    )


def _locked(session: Session, quote_id: int) -> QuoteRow:
    statement = select(QuoteRow).where(QuoteRow.id == quote_id).with_for_update()
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        raise QuoteNotFound(quote_id)
    return row


def _columns(quote: Quote, total_cents: int, at: datetime) -> dict[str, Any]:
    said = quote.declaration
    # What was issued keeps its own charge, for good.
    charge = quote.charge if quote.state is QuoteState.DRAFT else None
    return {
        "state": quote.state.value,
        "revision": quote.revision,
        "issued_state": None if quote.issued_state is None else quote.issued_state.value,
        "expires_at": quote.expires_at,
        "customer_reference": quote.content.customer.reference,
        "customer_name": quote.content.customer.name,
        "reference_folded": folded(quote.content.customer.reference),
        "name_folded": folded(quote.content.customer.name),
        "valid_until": quote.content.valid_until,
        "currency": quote.content.currency,
        "total_cents": total_cents,
        "content": CONTENT.dump_python(quote.content, mode="json"),
        "declaration": None if said is None else DECLARATION.dump_python(said, mode="json"),
        "charge": None if charge is None else _CHARGE.dump_python(charge, mode="json"),
        "updated_at": at,
    }


def _link_parts(session: Session, row: QuoteRow, content: QuoteContent) -> None:
    session.exec(delete(QuotePartRow).where(col(QuotePartRow.quote_id) == row.id))
    session.add_all(QuotePartRow(sku=sku, quote_id=row.id or 0) for sku in charged_skus(content))
    session.flush()


def _remember(session: Session, row: QuoteRow, deed: Deed) -> None:
    counted = select(func.count()).where(col(QuoteEventRow.quote_id) == row.id)
    # What expires is what was issued, even while the next revision is drafted.
    drafting = row.state == QuoteState.DRAFT.value and deed.move is not Move.EXPIRE
    event = QuoteEventRow(
        quote_id=row.id or 0,
        number=session.exec(counted).one() + 1,
        kind=deed.move.value,
        revision=row.revision + 1 if drafting else row.revision,
        at=deed.at,
        by=deed.by,
        key=deed.key,
        note=deed.note,
        data=deed.data or {},
    )
    session.add(event)
    session.flush()
    told = {
        "quote_id": event.quote_id,
        "number": event.number,
        "revision": event.revision,
        "state": row.state,
        "customer_reference": row.customer_reference,
        "total": asdict(money(row.total_cents, row.currency)),
        "url": f"/v1/quotes/{event.quote_id}",
    }
    publish(session, EventType(f"quote.{deed.move.value}"), told, deed.at)


def _named(wanted: QuoteFilter) -> Any:  # noqa: ANN401 - A select of numbers, or nothing.
    """Return which quotes have a customer who is called so; an index alone is read for it."""
    pieces = {
        col(QuoteRow.reference_folded): wanted.customer_reference,
        col(QuoteRow.name_folded): wanted.customer_name,
    }
    tests = [
        column.contains(folded(piece), autoescape=True)
        for column, piece in pieces.items()
        if piece is not None
    ]
    return select(QuoteRow.id).where(*tests) if tests else None


def _midnight(day: date, time_zone: str) -> datetime:
    return datetime.combine(day, time(), tzinfo=ZoneInfo(time_zone))


def _summary(row: Any) -> QuoteSummary:  # noqa: ANN401 - A row of ten columns has no type.
    fields: dict[str, Any] = row._asdict()
    return QuoteSummary(**{**fields, "state": QuoteState(fields["state"])})
