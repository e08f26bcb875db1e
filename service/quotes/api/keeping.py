"""What is done to quotes, by routes and by the command alike: drafts kept, revisions issued."""

from dataclasses import dataclass
from decimal import Decimal

from pydantic import TypeAdapter

from service.database import Database, ReadSessionDep, SessionDep
from service.errors import StaleVersion
from service.kits.assessment import Assessment
from service.quotes.api.desk import Desk, Priced, blocking_codes, require_name
from service.quotes.content import Declaration, QuoteContent
from service.quotes.money import Bill, margin
from service.quotes.quote import (
    Deed,
    Move,
    Quote,
    QuoteState,
    declared,
    issued,
    require,
    require_override,
)
from service.quotes.schemas import QuoteOut, RevisionLink
from service.quotes.store.quotes import add_quote, load_quote, save_quote
from service.quotes.store.revisions import add_revision, load_revision

ADDRESS = "/v1/quotes"

_BILL = TypeAdapter(Bill)


def add_draft(session: SessionDep, desk: Desk, content: QuoteContent, act: Deed) -> QuoteOut:
    """Begin a quote at the prices of today."""
    priced = desk.price(session, content)
    new = Quote(id=0, version=1, content=content, created_at=act.at, updated_at=act.at)
    quote = add_quote(session, new, total_cents=priced.bill.total.cents, deed=act)
    return quote_out(session, desk, quote, priced)


def save_draft(session: SessionDep, desk: Desk, quote: Quote, act: Deed) -> QuoteOut:
    """Keep a changed draft at the prices of today."""
    priced = desk.price(session, quote.content)
    kept = save_quote(session, quote, total_cents=priced.bill.total.cents, deed=act)
    return quote_out(session, desk, kept, priced)


def declare(
    session: SessionDep, desk: Desk, quote: Quote, *, by: str, name: str, text: str
) -> QuoteOut:
    """Record that the customer acknowledged the use that a draft is for, word for word."""
    require_name("/name", name)
    act = desk.deed(Move.DECLARE, by, data={"name": name, "text": text})
    said = Declaration(name=name, text=text, acknowledged_at=act.at)
    words = desk.words_of_use(quote.content.question)
    return save_draft(session, desk, declared(quote, said, words), act)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """A draft and the answer about its kit, worked out before any transaction is open."""

    version: int
    answer: Assessment

    def answer_about(self, quote: Quote) -> Assessment:
        """Return the answer, or raise `StaleVersion` where the draft is another one by now."""
        if quote.version != self.version:
            raise StaleVersion(quote.version)
        return self.answer


def assess_draft(database: Database, desk: Desk, quote_id: int) -> Assessed:
    """Assess the kit of a draft that is to be issued."""
    with database.reading() as session:
        quote = load_quote(session, quote_id)
    require(Move.ISSUE, quote)
    return Assessed(version=quote.version, answer=desk.assess(quote.content.question))


def issue(
    session: SessionDep,
    desk: Desk,
    quote: Quote,
    assessment: Assessment,
    act: Deed,
    *,
    override_reason: str | None,
) -> QuoteOut:
    """Freeze a draft as its next revision, or raise what keeps it from being issued."""
    require(Move.ISSUE, quote)
    codes = blocking_codes(assessment)
    require_override(codes, override_reason)
    revision, priced = desk.freeze(
        session, quote, assessment, by=act.by, at=act.at, override_reason=override_reason
    )
    if codes:
        override = desk.deed(Move.OVERRIDE, act.by, override_reason or "", data={"codes": codes})
        quote = save_quote(session, quote, total_cents=priced.total.cents, deed=override)
    add_revision(session, revision)
    given = issued(quote, desk.expires_at(quote.content.valid_until))
    return keep(session, desk, given, act, total_cents=priced.total.cents)


def keep(session: SessionDep, desk: Desk, quote: Quote, act: Deed, *, total_cents: int) -> QuoteOut:
    """Keep a changed quote with what was done, and return it in its new version."""
    kept = save_quote(session, quote, total_cents=total_cents, deed=act)
    return quote_out(session, desk, kept)


def quote_out(
    session: ReadSessionDep, desk: Desk, quote: Quote, priced: Priced | None = None
) -> QuoteOut:
    """Return a quote as whoever asks may see it; a draft that was just priced is told so."""
    if priced is None and quote.state is QuoteState.DRAFT:
        priced = desk.price(session, quote.content)
    bill, lacking = (priced.bill, priced.not_priced) if priced else _as_issued(session, quote)
    off = Decimal(quote.content.discount_percent)
    links = tuple(
        RevisionLink(
            number=number,
            state=quote.revision_state(number),
            url=f"{ADDRESS}/{quote.id}/revisions/{number}",
        )
        for number in range(1, quote.revision + 1)
    )
    return QuoteOut(
        id=quote.id,
        version=quote.version,
        state=quote.state,
        content=quote.content,
        declaration_text=desk.words_of_use(quote.content.question),
        declaration=quote.declaration,
        bill=bill,
        not_priced=lacking,
        margin=None
        if priced is None or not desk.caller.sees_costs
        else margin(priced.items, currency=quote.content.currency, discount_percent=off),
        revisions=links,
        expires_at=quote.expires_at,
        created_at=quote.created_at,
        updated_at=quote.updated_at,
    )


def _as_issued(session: ReadSessionDep, quote: Quote) -> tuple[Bill, tuple[str, ...]]:
    """Return the bill of the newest revision, and what it named as not charged."""
    frozen = load_revision(session, quote.id, quote.revision).evidence
    # Revisions issued before supplies were charged named nothing.
    return _BILL.validate_python(frozen["bill"]), tuple(frozen.get("not_priced", ()))
