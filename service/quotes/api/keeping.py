"""What is done to quotes, by routes and by the command alike: drafts kept, revisions issued."""

from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import Any

from pydantic import TypeAdapter

from service.database import Database, ReadSessionDep, SessionDep
from service.errors import FieldProblem, InvalidInput, NotFound, StaleVersion, Unavailable
from service.kits.assessment import Assessment
from service.quotes.api.desk import ITEMS, Desk, blocking_codes, require_name
from service.quotes.charge import Charge, nothing_charged
from service.quotes.content import Declaration, QuoteContent
from service.quotes.differences import draft_differences
from service.quotes.money import Bill, Margin, margin
from service.quotes.quote import (
    Deed,
    Move,
    Quote,
    QuoteState,
    declared,
    edited,
    issued,
    require,
    require_override,
    require_prices_stand,
    revised,
)
from service.quotes.schemas import PricesNow, QuoteOut, RevisionLink
from service.quotes.store.quotes import CONTENT, add_quote, load_quote, save_quote
from service.quotes.store.revisions import add_revision, load_revision
from service.revision import load_catalog_revision

ADDRESS = "/v1/quotes"

_BILL = TypeAdapter(Bill)


def add_draft(session: SessionDep, desk: Desk, content: QuoteContent, act: Deed) -> QuoteOut:
    """Begin a quote at the prices of today."""
    desk.expires_at(content.valid_until)
    return _begin(session, desk, content, desk.price(session, content).charge, act)


def add_duplicate(
    session: SessionDep, desk: Desk, source: Quote, content: QuoteContent, act: Deed
) -> QuoteOut:
    """Begin a quote that says what another says, at the prices of today where there are any."""
    desk.expires_at(content.valid_until)
    return _begin(session, desk, content, _today_or_last(session, desk, source, content), act)


def save_edit(
    session: SessionDep, desk: Desk, quote: Quote, content: QuoteContent, act: Deed
) -> QuoteOut:
    """Keep a draft with other content at the prices of today, and remember what that changed."""
    charge = desk.price(session, content).charge
    changed = edited(quote, content, desk.words_of_use(content.question))
    # A draft of the days before charges were kept is not told line by line.
    before = _written(quote.content, quote.charge or charge)
    told = draft_differences(before, _written(content, charge))
    act = replace(act, data={"differences": [asdict(each) for each in told]})
    return _keep_draft(session, desk, replace(changed, charge=charge), act)


def begin_revision(session: SessionDep, desk: Desk, quote: Quote, act: Deed) -> QuoteOut:
    """Keep the draft of a next revision, at the prices of today where there are any."""
    charge = _today_or_last(session, desk, quote, quote.content)
    return _keep_draft(session, desk, replace(revised(quote), charge=charge), act)


def declare(
    session: SessionDep, desk: Desk, quote: Quote, *, by: str, name: str, text: str
) -> QuoteOut:
    """Record that the customer acknowledged the use that a draft is for, word for word."""
    require_name("/name", name)
    act = desk.deed(Move.DECLARE, by, data={"name": name, "text": text})
    said = Declaration(name=name, text=text, acknowledged_at=act.at)
    words = desk.words_of_use(quote.content.question)
    # What a customer says is no reason to charge something else, or not to write it down.
    charge = quote.charge or desk.price(session, quote.content).charge
    return _keep_draft(session, desk, replace(declared(quote, said, words), charge=charge), act)


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
    # The bill reads the catalogue now, and the evidence has to be about the same one.
    if load_catalog_revision(session) != assessment.provenance.catalog_revision:
        raise Unavailable("The catalogue changed while the kit was assessed; issue it again.")
    priced = desk.price(session, quote.content)
    require_prices_stand(quote, priced.charge)
    revision = desk.freeze(
        session, quote, assessment, priced, by=act.by, at=act.at, override_reason=override_reason
    )
    total_cents = priced.charge.bill.total.cents
    if codes:
        override = desk.deed(Move.OVERRIDE, act.by, override_reason or "", data={"codes": codes})
        quote = save_quote(session, quote, total_cents=total_cents, deed=override)
    add_revision(session, revision)
    given = issued(quote, desk.expires_at(quote.content.valid_until))
    return keep(session, desk, given, act, total_cents=total_cents)


def keep(session: SessionDep, desk: Desk, quote: Quote, act: Deed, *, total_cents: int) -> QuoteOut:
    """Keep a changed quote with what was done, and return it in its new version."""
    kept = save_quote(session, quote, total_cents=total_cents, deed=act)
    return quote_out(session, desk, kept)


def quote_out(session: ReadSessionDep, desk: Desk, quote: Quote) -> QuoteOut:
    """Return a quote as whoever asks may see it.

    It can always be read: a draft that cannot be priced any more shows what it was charged
    last, and says what is in the way.
    """
    charge, changed = _charge(session, desk, quote)
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
        bill=charge.bill,
        prices_changed=changed,
        not_priced=charge.not_priced,
        margin=_margin(charge, quote.content) if desk.caller.sees_costs else None,
        revisions=links,
        expires_at=quote.expires_at,
        created_at=quote.created_at,
        updated_at=quote.updated_at,
    )


def _written(content: QuoteContent, charge: Charge) -> dict[str, Any]:
    return {
        "content": CONTENT.dump_python(content, mode="json"),
        "bill": _BILL.dump_python(charge.bill, mode="json"),
    }


def _begin(
    session: SessionDep, desk: Desk, content: QuoteContent, charge: Charge, act: Deed
) -> QuoteOut:
    new = Quote(
        id=0, version=1, content=content, charge=charge, created_at=act.at, updated_at=act.at
    )
    quote = add_quote(session, new, total_cents=charge.bill.total.cents, deed=act)
    return quote_out(session, desk, quote)


def _keep_draft(session: SessionDep, desk: Desk, quote: Quote, act: Deed) -> QuoteOut:
    total = 0 if quote.charge is None else quote.charge.bill.total.cents
    return keep(session, desk, quote, act, total_cents=total)


def _charge(session: ReadSessionDep, desk: Desk, quote: Quote) -> tuple[Charge, PricesNow | None]:
    """Return what a quote shows that it is charged, and what it would be now if not that."""
    if quote.state is not QuoteState.DRAFT:
        return _as_issued(session, quote), None
    found = _priced_now(session, desk, quote.content)
    if not isinstance(found, Charge):
        last = quote.charge or nothing_charged(quote.content.currency)
        return last, PricesNow(total=None, problems=found)
    # A draft of the days before charges were kept.
    shown = quote.charge or found
    same = shown.charges_as(found)
    return shown, None if same else PricesNow(total=found.bill.total, problems=())


def _priced_now(
    session: ReadSessionDep, desk: Desk, content: QuoteContent
) -> Charge | tuple[FieldProblem, ...]:
    """Return what a content is charged at this moment, or what is in the way."""
    try:
        return desk.price(session, content).charge
    except InvalidInput as error:
        return error.problems
    except NotFound as error:
        return (FieldProblem(pointer="/question", code="unknown", detail=error.message),)


def _today_or_last(
    session: ReadSessionDep, desk: Desk, source: Quote, content: QuoteContent
) -> Charge:
    """Return the charge of a copy: of today, or that of its source where it has none any more."""
    found = _priced_now(session, desk, content)
    if isinstance(found, Charge):
        return found
    if source.state is QuoteState.DRAFT:
        return source.charge or nothing_charged(content.currency)
    return _as_issued(session, source)


def _as_issued(session: ReadSessionDep, quote: Quote) -> Charge:
    """Return the charge of the newest revision, with what it cost then."""
    frozen = load_revision(session, quote.id, quote.revision).evidence
    # Revisions issued before supplies were charged named nothing, and at first no costs were kept.
    return Charge(
        items=ITEMS.validate_python(frozen.get("items", ())),
        bill=_BILL.validate_python(frozen["bill"]),
        not_priced=tuple(frozen.get("not_priced", ())),
    )


def _margin(charge: Charge, content: QuoteContent) -> Margin | None:
    if charge.bill.lines and not charge.items:
        return None
    off = Decimal(content.discount_percent)
    return margin(charge.items, currency=content.currency, discount_percent=off)
