"""Quotes: made, changed while they are drafts, found, read."""

import json
from dataclasses import replace
from decimal import Decimal
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, merge_patch, read_document
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import IsoDate, Key, Name
from service.quotes.api.desk import Desk, DeskDep, QuoteId
from service.quotes.content import Declaration, QuoteContent
from service.quotes.lists import QuoteFilter
from service.quotes.money import Bill, margin
from service.quotes.quote import (
    Deed,
    Move,
    Quote,
    QuoteEvent,
    QuoteState,
    declared,
    edited,
)
from service.quotes.schemas import (
    DeclarationIn,
    DuplicateIn,
    QuoteIn,
    QuoteLineOut,
    QuoteOut,
    RevisionLink,
    line_out,
)
from service.quotes.store.quotes import (
    add_quote,
    find_history,
    find_quotes,
    load_quote,
    save_quote,
)
from service.quotes.store.revisions import load_revision

ADDRESS = "/v1/quotes"

router = APIRouter(prefix=ADDRESS, tags=["quotes"], route_class=ApiRoute)

_CONTENT = TypeAdapter(QuoteContent)
_QUOTE_IN = TypeAdapter(QuoteIn)
_BILL = TypeAdapter(Bill)


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_quote(body: QuoteIn, desk: DeskDep, session: SessionDep, response: Response) -> QuoteOut:
    """Begin a quote as a draft; the parts of its kit are charged without being listed."""
    desk.require_own_knowledge(body.content)
    return _added(session, desk, body.content, desk.deed(Move.CREATE, body.by), response)


@router.post(
    "/{quote_id}/duplicates", status_code=201, responses=problem_responses(404, 409, 415, 422)
)
def create_duplicate(
    quote_id: QuoteId, body: DuplicateIn, desk: DeskDep, session: SessionDep, response: Response
) -> QuoteOut:
    """Begin a new quote that says what another one says, at the prices of today."""
    source = load_quote(session, quote_id)
    content = replace(source.content, valid_until=body.valid_until)
    if body.customer_reference is not None:
        customer = replace(content.customer, reference=body.customer_reference)
        content = replace(content, customer=customer)
    note = f"A duplicate of quote {quote_id}."
    return _added(session, desk, content, desk.deed(Move.CREATE, body.by, note), response)


def read_quote_filter(
    state: Annotated[QuoteState | None, Query(description="Stands here.")] = None,
    customer_reference: Annotated[
        Name | None, Query(description="The customer calls it exactly this.")
    ] = None,
    part: Annotated[Key | None, Query(description="Charges this SKU.")] = None,
    created_from: Annotated[IsoDate | None, Query(description="Made on this day or later.")] = None,
    created_to: Annotated[IsoDate | None, Query(description="Made on this day or before.")] = None,
) -> QuoteFilter:
    """Read which quotes a list is to show."""
    return QuoteFilter(
        state=state,
        customer_reference=customer_reference,
        part=part,
        created_from=created_from,
        created_to=created_to,
    )


QuoteFilterDep = Annotated[QuoteFilter, Depends(read_quote_filter)]


@router.get("", responses=problem_responses(400, 422))
def list_quotes(
    session: ReadSessionDep, paging: PagingDep, wanted: QuoteFilterDep, response: Response
) -> Page[QuoteLineOut]:
    """Return the quotes that pass every filter given, the newest first."""
    response.headers["Cache-Control"] = "private, no-store"
    before = int(paging.after[0]) if paging.after else None
    found = find_quotes(session, wanted, before=before, limit=paging.fetch_count)
    return paging.page([line_out(each) for each in found], lambda item: (item.id,))


@router.get("/{quote_id}", responses=problem_responses(404, 422))
def read_quote(
    quote_id: QuoteId, desk: DeskDep, session: ReadSessionDep, validators: ValidatorsDep
) -> QuoteOut:
    """Return one quote; a draft at the prices of now."""
    validators.response.headers["Cache-Control"] = "private, no-store"
    quote = load_quote(session, quote_id)
    shown = quote_out(session, desk, quote)
    # The price of a draft may change without the draft.
    validators.send(version_etag(quote.version, str(shown.bill.total)))
    return shown


@router.get("/{quote_id}/history", responses=problem_responses(404, 422))
def list_history(quote_id: QuoteId, session: ReadSessionDep) -> list[QuoteEvent]:
    """Return everything that happened to a quote, with who and when; nothing is ever removed."""
    load_quote(session, quote_id)
    return find_history(session, quote_id)


@router.patch("/{quote_id}", responses=problem_responses(404, 409, 412, 415, 422, 428))
def update_quote(
    quote_id: QuoteId,
    body: MergePatchBody,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Change a draft: `{"by": …, "content": {…}}`, merged into what it says."""
    quote = expected_quote(session, quote_id, expected)
    current = {"content": _CONTENT.dump_python(quote.content, mode="json")}
    change = read_document(_QUOTE_IN, merge_patch(current, body))
    quote = edited(quote, change.content, desk.words_of_use(change.content.question))
    return saved(session, desk, quote, desk.deed(Move.EDIT, change.by), response)


@router.post("/{quote_id}/declaration", responses=problem_responses(404, 409, 412, 415, 422, 428))
def declare_use(
    quote_id: QuoteId,
    body: DeclarationIn,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Record that the customer acknowledged the use that the quote is for, word for word."""
    quote = expected_quote(session, quote_id, expected)
    act = desk.deed(Move.DECLARE, body.by, data={"name": body.name, "text": body.text})
    words = desk.words_of_use(quote.content.question)
    said = Declaration(name=body.name, text=body.text, acknowledged_at=act.at)
    return saved(session, desk, declared(quote, said, words), act, response)


def expected_quote(session: SessionDep, quote_id: int, expected: ExpectedVersionDep) -> Quote:
    """Return a quote, locked, in the version that the caller has seen."""
    quote = load_quote(session, quote_id, lock=True)
    expected.require(quote.version)
    return quote


def kept_out(
    session: SessionDep,
    desk: Desk,
    quote: Quote,
    act: Deed,
    response: Response,
    *,
    total_cents: int,
) -> QuoteOut:
    """Keep a changed quote with what was done, and return it with its new version."""
    kept = save_quote(session, quote, total_cents=total_cents, deed=act)
    response.headers["ETag"] = version_etag(kept.version)
    return quote_out(session, desk, kept)


def saved(session: SessionDep, desk: Desk, quote: Quote, act: Deed, response: Response) -> QuoteOut:
    """Keep a changed draft with its price of today."""
    priced = desk.price(session, quote.content)
    return kept_out(session, desk, quote, act, response, total_cents=priced.bill.total.cents)


def quote_out(session: ReadSessionDep, desk: Desk, quote: Quote) -> QuoteOut:
    """Return a quote as the desk sees it."""
    drafting = quote.state is QuoteState.DRAFT
    priced = desk.price(session, quote.content) if drafting else None
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
        bill=_issued_bill(session, quote) if priced is None else priced.bill,
        margin=None
        if priced is None or not desk.caller.sees_costs
        else margin(priced.items, currency=quote.content.currency, discount_percent=off),
        revisions=links,
        expires_at=quote.expires_at,
        created_at=quote.created_at,
        updated_at=quote.updated_at,
    )


def _added(
    session: SessionDep, desk: Desk, content: QuoteContent, act: Deed, response: Response
) -> QuoteOut:
    priced = desk.price(session, content)
    new = Quote(id=0, version=1, content=content, created_at=act.at, updated_at=act.at)
    quote = add_quote(session, new, total_cents=priced.bill.total.cents, deed=act)
    response.headers["Location"] = f"{ADDRESS}/{quote.id}"
    response.headers["ETag"] = version_etag(quote.version)
    return quote_out(session, desk, quote)


def _issued_bill(session: ReadSessionDep, quote: Quote) -> Bill:
    frozen = json.loads(load_revision(session, quote.id, quote.revision).frozen)
    return _BILL.validate_python(frozen["bill"])
