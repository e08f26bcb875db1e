"""Whether quotes, their revisions and their history still say the same; old and new alike."""

from collections.abc import Iterator, Mapping
from typing import Any

import sqlalchemy as sql
from pydantic import ValidationError
from sqlmodel import Session, SQLModel, col, func, select

from service.money import cents
from service.quotes.evidence import evidence_of
from service.quotes.quote import Move, QuoteState
from service.quotes.store.prices import PRICE_LISTS, TAX_RULES
from service.quotes.store.quotes import CONTENT
from service.quotes.store.revisions import sha256
from service.quotes.tables import (
    PriceListRow,
    QuoteEventRow,
    QuoteRevisionRow,
    QuoteRow,
    TaxRuleRow,
)

READ_AT_ONCE = 20
"""A revision holds two printed documents."""
_QUOTES, _EVENTS, _REVISIONS = (
    SQLModel.metadata.tables[name] for name in ("quote", "quote_event", "quote_revision")
)
_DRAFT = frozenset({QuoteState.DRAFT})
_LEADS_TO: Mapping[Move, frozenset[QuoteState]] = {
    **dict.fromkeys((Move.CREATE, Move.EDIT, Move.DECLARE, Move.OVERRIDE, Move.REVISE), _DRAFT),
    Move.ISSUE: frozenset({QuoteState.ISSUED}),
    Move.ACCEPT: frozenset({QuoteState.ACCEPTED}),
    Move.DECLINE: frozenset({QuoteState.DECLINED}),
    Move.EXPIRE: frozenset({QuoteState.EXPIRED}) | _DRAFT,
    Move.DISCARD: frozenset(QuoteState) - _DRAFT,
}


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


def reading_problems(session: Session) -> Iterator[str]:
    """Yield which quotes, price lists and tax rules the service of today cannot read."""
    kept = (
        ("quote", select(QuoteRow.id, QuoteRow.content), CONTENT),
        ("price list", select(PriceListRow.key, PriceListRow.value), PRICE_LISTS.shape),
        ("tax rule", select(TaxRuleRow.key, TaxRuleRow.value), TAX_RULES.shape),
    )
    for what, statement, shape in kept:
        for name, value in session.exec(statement.execution_options(yield_per=READ_AT_ONCE)):
            try:
                shape.validate_python(value)
            except ValidationError as error:
                first = error.errors(include_url=False)[0]
                place = "/".join(map(str, first["loc"]))
                yield f"{what} {name}: it cannot be read, {place}: {first['msg']}"


def standing_problems(session: Session) -> Iterator[str]:
    """Yield which quotes do not stand where their last event led, or not at the price issued."""
    quotes, events, revisions = _QUOTES.c, _EVENTS.c, _REVISIONS.c
    last = (events.quote_id == quotes.id) & (events.number == quotes.version)
    newest = (revisions.quote_id == quotes.id) & (revisions.number == quotes.revision)
    statement = (
        sql.select(quotes.id, quotes.state, quotes.total_cents, events.kind, revisions.total_cents)
        .select_from(_QUOTES.outerjoin(_EVENTS, last).outerjoin(_REVISIONS, newest))
        .order_by(quotes.id)
    )
    for quote_id, state, total, kind, issued_total in session.connection().execute(statement):
        if kind is not None and QuoteState(state) not in _LEADS_TO[Move(kind)]:
            yield f"quote {quote_id}: it is {state}, but what happened last is {kind}"
        if state != QuoteState.DRAFT and total != issued_total:
            yield f"quote {quote_id}: its total is not that of its revision"


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
