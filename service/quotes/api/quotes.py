"""Quotes: made, changed while they are drafts, found, read."""

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, merge_patch, read_document
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import IsoDate, Key, Name
from service.quotes.api.desk import DeskDep, QuoteId
from service.quotes.api.keeping import (
    ADDRESS,
    add_draft,
    add_duplicate,
    declare,
    quote_out,
    save_edit,
)
from service.quotes.content import QuoteContent
from service.quotes.lists import QuoteFilter
from service.quotes.quote import (
    Move,
    Quote,
    QuoteEvent,
    QuoteState,
)
from service.quotes.schemas import (
    DeclarationIn,
    DuplicateIn,
    QuoteIn,
    QuoteLineOut,
    QuoteOut,
    line_out,
)
from service.quotes.store.quotes import (
    find_history,
    find_quotes,
    load_quote,
)
from service.settings import Settings

router = APIRouter(prefix=ADDRESS, tags=["quotes"], route_class=ApiRoute)

_CONTENT = TypeAdapter(QuoteContent)
_QUOTE_IN = TypeAdapter(QuoteIn)


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_quote(body: QuoteIn, desk: DeskDep, session: SessionDep, response: Response) -> QuoteOut:
    """Begin a quote as a draft; parts of its kit and its supplies are charged without a line.

    Supplies are those of the kit's parts list; a line that names one charges it as it says.
    """
    desk.require_own_knowledge(body.content)
    quote = add_draft(session, desk, body.content, desk.deed(Move.CREATE, body.by))
    return _begun(quote, response)


@router.post(
    "/{quote_id}/duplicates", status_code=201, responses=problem_responses(404, 409, 415, 422)
)
def create_duplicate(
    quote_id: QuoteId, body: DuplicateIn, desk: DeskDep, session: SessionDep, response: Response
) -> QuoteOut:
    """Begin a new quote that says what another one says, at the prices of today.

    Where there are none any more, it shows those of the other and says what is in the way.
    """
    source = load_quote(session, quote_id)
    content = replace(source.content, valid_until=body.valid_until)
    if body.customer_reference is not None:
        customer = replace(content.customer, reference=body.customer_reference)
        content = replace(content, customer=customer)
    note = f"A duplicate of quote {quote_id}."
    quote = add_duplicate(session, desk, source, content, desk.deed(Move.CREATE, body.by, note))
    return _begun(quote, response)


def read_quote_filter(
    request: Request,
    state: Annotated[QuoteState | None, Query(description="Stands here.")] = None,
    customer_reference: Annotated[
        Name | None, Query(description="A piece of what the customer calls it, in any case.")
    ] = None,
    customer_name: Annotated[
        Name | None, Query(description="A piece of the customer's name, in any case.")
    ] = None,
    part: Annotated[
        Key | None, Query(description="Names this SKU, in its kit or on a line.")
    ] = None,
    created_from: Annotated[IsoDate | None, Query(description="Made on this day or later.")] = None,
    created_to: Annotated[IsoDate | None, Query(description="Made on this day or before.")] = None,
) -> QuoteFilter:
    """Read which quotes a list is to show; a day is one of the shop's."""
    settings: Settings = request.app.state.settings
    return QuoteFilter(
        state=state,
        customer_reference=customer_reference,
        customer_name=customer_name,
        part=part,
        created_from=created_from,
        created_to=created_to,
        time_zone=settings.time_zone,
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
    """Return one quote; a draft says where the prices of now are others than it shows."""
    validators.response.headers["Cache-Control"] = "private, no-store"
    quote = load_quote(session, quote_id)
    shown = quote_out(session, desk, quote)
    # What a draft would cost now may change without the draft.
    validators.send(version_etag(quote.version, str(shown.prices_changed)))
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
    """Change a draft: `{"by": …, "content": {…}}`, merged into what it says.

    Its prices are taken in anew, also where nothing else changes.
    """
    quote = expected_quote(session, quote_id, expected)
    current = {"content": _CONTENT.dump_python(quote.content, mode="json")}
    change = read_document(_QUOTE_IN, merge_patch(current, body))
    if change.content.valid_until != quote.content.valid_until:
        desk.expires_at(change.content.valid_until)
    act = desk.deed(Move.EDIT, change.by)
    return told(save_edit(session, desk, quote, change.content, act), response)


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
    given = declare(session, desk, quote, by=body.by, name=body.name, text=body.text)
    return told(given, response)


def expected_quote(session: SessionDep, quote_id: int, expected: ExpectedVersionDep) -> Quote:
    """Return a quote, locked, in the version that the caller has seen."""
    quote = load_quote(session, quote_id, lock=True)
    expected.require(quote.version)
    return quote


def told(quote: QuoteOut, response: Response) -> QuoteOut:
    """Return a quote with the tag of its version."""
    response.headers["ETag"] = version_etag(quote.version)
    return quote


def _begun(quote: QuoteOut, response: Response) -> QuoteOut:
    response.headers["Location"] = f"{ADDRESS}/{quote.id}"
    return told(quote, response)
