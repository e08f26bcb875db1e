"""The moves of a quote over HTTP: issued, accepted, declined, revised, and what is frozen."""

from collections.abc import Iterator
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from pydantic import TypeAdapter, ValidationError

from service.bodies import ApiRoute
from service.compliance.api.files import COPIES
from service.conditional import ExpectedVersionDep, ValidatorsDep, content_etag
from service.database import ReadSessionDep, SessionDep
from service.problems import problem_responses
from service.quotes.api.desk import DeskDep, QuoteId, RevisionNumber, issue_of
from service.quotes.api.keeping import (
    ADDRESS,
    Assessed,
    assess_draft,
    begin_revision,
    issue,
    keep,
    save_edit,
)
from service.quotes.api.quotes import expected_quote, told
from service.quotes.differences import (
    Difference,
    differences,
    not_comparable,
    printed_differences,
)
from service.quotes.document import Copy, quote_document
from service.quotes.evidence import copies_of
from service.quotes.quote import (
    Deed,
    Move,
    answered,
    discarded,
)
from service.quotes.schemas import CopyLink, Deliberation, IssueIn, QuoteOut, RevisionOut
from service.quotes.store.quotes import CONTENT, DECLARATION, load_quote
from service.quotes.store.revisions import load_revision, sha256

MOVE_PROBLEMS = problem_responses(404, 409, 412, 415, 422, 428)
PDF = "application/pdf"

router = APIRouter(prefix=ADDRESS, tags=["quotes"], route_class=ApiRoute)

_FROZEN = TypeAdapter(dict[str, object])


def read_assessed(quote_id: QuoteId, desk: DeskDep, request: Request) -> Assessed:
    """Assess the kit of a draft that is to be issued."""
    return assess_draft(request.app.state.database, desk, quote_id)


AssessedDep = Annotated[Assessed, Depends(read_assessed)]


@router.post("/{quote_id}/issue", responses=MOVE_PROBLEMS)
def issue_quote(
    quote_id: QuoteId,
    body: IssueIn,
    assessed: AssessedDep,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Freeze a draft as the next revision: lines, texts, evidence, both copies.

    The kit is assessed anew. A finding that blocks it needs `override_reason`, which is
    printed; nothing that a customer declares changes a block of the answer.
    """
    quote = expected_quote(session, quote_id, expected)
    answer = assessed.answer_about(quote)
    act = desk.deed(Move.ISSUE, body.by, body.note)
    given = issue(session, desk, quote, answer, act, override_reason=body.override_reason)
    return told(given, response)


@router.post("/{quote_id}/machining", responses=MOVE_PROBLEMS)
def take_up_machining(
    quote_id: QuoteId,
    body: Deliberation,
    assessed: AssessedDep,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Write the machining that fit findings ask for into a draft, at its price.

    The price list comes first, then the catalogue. What the price list prices is charged in
    any case; taken up it can be changed. Work of the catalogue is charged once taken up.
    """
    quote = expected_quote(session, quote_id, expected)
    content = desk.with_machining(session, quote.content, assessed.answer_about(quote))
    act = desk.deed(Move.EDIT, body.by, body.note)
    return told(save_edit(session, desk, quote, content, act), response)


@router.post("/{quote_id}/accept", responses=MOVE_PROBLEMS)
def accept_quote(
    quote_id: QuoteId,
    body: Deliberation,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Record that the customer accepts the issued revision, within its time."""
    act = desk.deed(Move.ACCEPT, body.by, body.note)
    return _answered(session, desk, quote_id, expected, act, response)


@router.post("/{quote_id}/decline", responses=MOVE_PROBLEMS)
def decline_quote(
    quote_id: QuoteId,
    body: Deliberation,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Record that the customer declines the issued revision."""
    act = desk.deed(Move.DECLINE, body.by, body.note)
    return _answered(session, desk, quote_id, expected, act, response)


@router.post("/{quote_id}/revisions", status_code=201, responses=MOVE_PROBLEMS)
def create_revision(
    quote_id: QuoteId,
    body: Deliberation,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Begin the next revision as a draft that says what the last one said.

    Where prices of today cannot be had, the draft shows those of the last one and says what
    is in the way. The last one stands until the next is issued; it can be accepted again once
    the draft is discarded.
    """
    quote = expected_quote(session, quote_id, expected)
    response.headers["Location"] = f"{ADDRESS}/{quote_id}"
    act = desk.deed(Move.REVISE, body.by, body.note)
    return told(begin_revision(session, desk, quote, act), response)


@router.post("/{quote_id}/discard", responses=MOVE_PROBLEMS)
def discard_draft(
    quote_id: QuoteId,
    body: Deliberation,
    desk: DeskDep,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> QuoteOut:
    """Give up the draft of a further revision; the quote stands as it was issued last."""
    quote = expected_quote(session, quote_id, expected)
    last = quote
    total_cents = 0
    if quote.revision:
        kept = load_revision(session, quote_id, quote.revision)
        frozen, total_cents = kept.evidence, kept.total_cents
        content = CONTENT.validate_python(frozen["content"])
        last = discarded(quote, content, DECLARATION.validate_python(frozen["declaration"]))
    else:
        discarded(quote, quote.content, quote.declaration)
    act = desk.deed(Move.DISCARD, body.by, body.note)
    return told(keep(session, desk, last, act, total_cents=total_cents), response)


@router.get("/{quote_id}/revisions/{number}", responses=problem_responses(404, 422))
def read_revision(
    quote_id: QuoteId, number: RevisionNumber, session: ReadSessionDep, validators: ValidatorsDep
) -> RevisionOut:
    """Return one issued revision exactly as it was issued."""
    quote = load_quote(session, quote_id)
    kept = load_revision(session, quote_id, number)
    copies = copies_of(kept.evidence)
    shown = RevisionOut(
        quote_id=quote_id,
        number=number,
        state=quote.revision_state(number),
        issued_at=kept.issued_at,
        frozen=_FROZEN.validate_json(kept.frozen),
        copies=tuple(
            CopyLink(number=paper, sha256=digest, url=f"{COPIES}/{digest}")
            for paper, digest in copies.items()
        ),
        frozen_sha256=sha256(kept.frozen),
        customer_pdf_sha256=sha256(kept.customer_pdf),
        shop_pdf_sha256=sha256(kept.shop_pdf),
    )
    validators.response.headers["Cache-Control"] = "private, no-store"
    validators.send(content_etag(shown.frozen_sha256, shown.state))
    return shown


@router.get(
    "/{quote_id}/revisions/{number}/{copy}.pdf",
    response_class=Response,
    responses={
        200: {
            "description": "The document, byte for byte as it was issued",
            "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
        },
        **problem_responses(404, 422),
    },
)
def read_revision_pdf(
    quote_id: QuoteId,
    number: RevisionNumber,
    copy: Copy,
    session: ReadSessionDep,
    validators: ValidatorsDep,
) -> Response:
    """Return the customer's or the shop's copy of one issued revision."""
    kept = load_revision(session, quote_id, number)
    content = kept.customer_pdf if copy is Copy.CUSTOMER else kept.shop_pdf
    headers = validators.response.headers
    headers["Cache-Control"] = "private, no-store"
    headers["Content-Disposition"] = (
        f'inline; filename="quote-{quote_id}-{number}-{copy.value}.pdf"'
    )
    validators.send(content_etag(content))
    return Response(content, media_type=PDF, headers=dict(headers))


@router.get("/{quote_id}/revisions/{number}/differences", responses=problem_responses(404, 422))
def list_differences(
    quote_id: QuoteId,
    number: RevisionNumber,
    session: ReadSessionDep,
    since: Annotated[
        int | None, Query(ge=1, description="Revision to compare with; the one before.")
    ] = None,
) -> list[Difference]:
    """Return what changed in a revision, in sentences."""
    before = load_revision(session, quote_id, since or max(number - 1, 1))
    after = load_revision(session, quote_id, number)
    one, other = before.evidence, after.evidence
    return [*differences(one, other), *_differences_on_paper(one, other)]


def _differences_on_paper(one: dict[str, Any], other: dict[str, Any]) -> Iterator[Difference]:
    if one == other:
        return
    try:
        printed = [quote_document(issue_of(each), Copy.CUSTOMER, "") for each in (one, other)]
    except ValidationError:
        # Evidence of long ago may have another shape; its bytes and its PDF stay as they are.
        yield not_comparable()
        return
    yield from printed_differences(*printed)


def _answered(
    session: SessionDep,
    desk: DeskDep,
    quote_id: int,
    expected: ExpectedVersionDep,
    act: Deed,
    response: Response,
) -> QuoteOut:
    quote = expected_quote(session, quote_id, expected)
    total_cents = (
        load_revision(session, quote_id, quote.revision).total_cents if quote.revision else 0
    )
    given = answered(quote, act.move, act.at)
    return told(keep(session, desk, given, act, total_cents=total_cents), response)
