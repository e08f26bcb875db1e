"""Quotes at the desk: the same functions as the API's, with a form in front of each."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import TypeAdapter

from service.bodies import read_document
from service.conditional import ValidatorsDep
from service.database import Database, ReadSessionDep, SessionDep
from service.errors import FieldProblem
from service.jobs.api import LARGEST_ID
from service.pages.api.asking import about, attempt, elsewhere
from service.pages.api.forms import KEY, FormDep, SentDep, done_once, new_key, version_seen
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page
from service.pages.complaints import complaint
from service.pages.question import Address, kit_question
from service.pages.quote_form import at_fields, content_of, fields_of, lines_shown, new_content
from service.pages.quote_search import Days, state_of, told
from service.pages.words import plain
from service.quotes.api import moves, quotes
from service.quotes.api.desk import DeskDep, QuoteId, RevisionNumber
from service.quotes.api.keeping import Assessed, quote_out
from service.quotes.document import Copy
from service.quotes.lists import QuoteFilter
from service.quotes.quote import QuoteState
from service.quotes.schemas import (
    DeclarationIn,
    Deliberation,
    DuplicateIn,
    IssueIn,
    QuoteIn,
    QuoteOut,
    line_out,
)
from service.quotes.store.prices import PRICE_LISTS
from service.quotes.store.quotes import find_history, find_quotes, load_quote
from service.quotes.store.revisions import find_copies
from service.settings import Settings

ADDRESS = "/desk/quotes"
ON_A_PAGE = 25
USUAL_DAYS = 30
"""For how long a quote is good unless the desk says otherwise."""

router = APIRouter(prefix=ADDRESS, include_in_schema=False, route_class=PageRoute)

_QUOTE_IN = TypeAdapter(QuoteIn)
_OUT = TypeAdapter(QuoteOut)
_DECLARATION = TypeAdapter(DeclarationIn)
_ISSUE = TypeAdapter(IssueIn)
_DELIBERATION = TypeAdapter(Deliberation)
_DAYS = TypeAdapter(Days)
_DUPLICATE = TypeAdapter(DuplicateIn)
_ASSESSED = ("issue", "machining")
_MOVES: dict[str, Callable[..., QuoteOut]] = {
    "accept": moves.accept_quote,
    "decline": moves.decline_quote,
    "revise": moves.create_revision,
    "discard": moves.discard_draft,
}


@router.get("")
def show_quotes(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the quotes that a search finds, the newest first."""
    address = dict(request.query_params)
    before = address.get("before", "")
    last = min(int(before), LARGEST_ID) if before.isascii() and before.isdigit() else None
    wanted, problems = attempt(lambda: wanted_quotes(request))
    found = find_quotes(session, wanted, before=last, limit=ON_A_PAGE + 1) if wanted else []
    shown = [line_out(each) for each in found[:ON_A_PAGE]]
    states = [each.value for each in QuoteState if each is not QuoteState.SUPERSEDED]
    more = str(shown[-1].id) if len(found) > ON_A_PAGE else None
    lists = PRICE_LISTS.find_keys(session)
    return page(
        "quotes.html",
        address,
        problems,
        quotes=shown,
        states=states,
        more=more,
        price_lists=lists,
        wrong=_wrong(at_fields(problems, address)),
    )


def wanted_quotes(request: Request) -> QuoteFilter:
    """Return which quotes a search asks for; a day is one of the shop's."""
    address = request.query_params
    settings: Settings = request.app.state.settings
    asked = {name: text for name in ("created_from", "created_to") if (text := told(address, name))}
    days = read_document(_DAYS, asked)
    return QuoteFilter(
        state=state_of(address),
        customer_reference=told(address, "reference"),
        customer_name=told(address, "name"),
        part=told(address, "part"),
        created_from=days.created_from,
        created_to=days.created_to,
        time_zone=settings.time_zone,
    )


@router.get("/new")
def show_new(request: Request, desk: DeskDep) -> HTMLResponse:
    """Ask what has to be known to quote the kit of the address."""
    until = (desk.today + timedelta(days=USUAL_DAYS)).isoformat()
    form = {"valid_until": until, **request.query_params}
    told = (
        f"Papers were asked for in {title} too; there: {plain(answer['paperwork']['outcome'])}."
        for title, answer in elsewhere(request, kit_question(form), form)
    )
    return _new(request, {"shop_note": " ".join(told), **form})


@router.post("/new")
def create(request: Request, form: FormDep, sent: SentDep, desk: DeskDep) -> Response:
    """Begin a quote; what is wrong is told beside its field, in the form as it was sent."""

    def work(session: SessionDep) -> str:
        document = {"by": form.get("by", "").strip(), "content": new_content(form)}
        body = read_document(_QUOTE_IN, document)
        made = quotes.create_quote(body, desk, session, Response())
        return f"{ADDRESS}/{made.id}?units={form.get('units', 'us')}"

    done, problems = attempt(lambda: done_once(request, sent, work))
    return done or _new(request, form, at_fields(problems, form))


@router.get("/{quote_id}")
def show_quote(
    request: Request, quote_id: QuoteId, desk: DeskDep, session: ReadSessionDep
) -> HTMLResponse:
    """Show one quote with everything that can be done to it now."""
    return _shown(session, desk, quote_id, dict(request.query_params))


@router.get("/{quote_id}/{number}/{copy}.pdf")
def read_pdf(
    quote_id: QuoteId,
    number: RevisionNumber,
    copy: Copy,
    session: ReadSessionDep,
    validators: ValidatorsDep,
) -> Response:
    """Return the customer's or the shop's copy of an issued revision."""
    return moves.read_revision_pdf(quote_id, number, copy, session, validators)


@router.post("/{quote_id}/{action}")
def move_quote(
    request: Request,
    quote_id: QuoteId,
    action: str,
    form: FormDep,
    sent: SentDep,
    desk: DeskDep,
) -> Response:
    """Make one move; where it cannot be made, the form comes back as it was sent."""

    def ask() -> Response:
        # The kit is assessed before any transaction is open, and only where it counts.
        needed = action in _ASSESSED
        assessed = moves.read_assessed(quote_id, desk, request) if needed else None

        def work(session: SessionDep) -> str:
            if action == "duplicate":
                moved = _duplicate(session, desk, quote_id, form)
            else:
                moved = _move(session, desk, quote_id, action, form, assessed)
            return f"{ADDRESS}/{moved.id}?units={form.get('units', 'us')}"

        return done_once(request, sent, work)

    done, problems = attempt(ask)
    if done is not None:
        return done
    database: Database = request.app.state.database
    with database.reading() as session:
        at_own = tuple(_beside(each, action) for each in at_fields(problems, form))
        return _shown(session, desk, quote_id, form, at_own, action)


def _move(
    session: SessionDep,
    desk: DeskDep,
    quote_id: int,
    action: str,
    form: dict[str, str],
    assessed: Assessed | None,
) -> QuoteOut:
    by, note, answer = form.get("by", "").strip(), form.get("note", ""), Response()
    seen = version_seen(form)
    if action == "edit":
        change = {"by": by, "content": content_of(form)}
        return quotes.update_quote(quote_id, change, desk, session, seen, answer)
    if action == "prices":
        return quotes.update_quote(quote_id, {"by": by}, desk, session, seen, answer)
    if action == "declaration":
        words = {"by": by, "name": form.get("name", "").strip(), "text": form.get("text", "")}
        said = read_document(_DECLARATION, words)
        return quotes.declare_use(quote_id, said, desk, session, seen, answer)
    if action == "issue" and assessed is not None:
        reason = form.get("override_reason", "").strip() or None
        order = read_document(_ISSUE, {"by": by, "note": note, "override_reason": reason})
        return moves.issue_quote(quote_id, order, assessed, desk, session, seen, answer)
    body = read_document(_DELIBERATION, {"by": by, "note": note})
    if action == "machining" and assessed is not None:
        return moves.take_up_machining(quote_id, body, assessed, desk, session, seen, answer)
    if action not in _MOVES:
        raise HTTPException(404)
    return _MOVES[action](quote_id, body, desk, session, seen, answer)


def _duplicate(session: SessionDep, desk: DeskDep, quote_id: int, form: dict[str, str]) -> QuoteOut:
    copied = {
        "by": form.get("by", "").strip(),
        "valid_until": form.get("valid_until-duplicate", "").strip(),
        "customer_reference": told(form, "customer_reference-duplicate"),
    }
    body = read_document(_DUPLICATE, copied)
    return quotes.create_duplicate(quote_id, body, desk, session, Response())


def _new(request: Request, form: Address, problems: tuple[FieldProblem, ...] = ()) -> HTMLResponse:
    return page(
        "quote_new.html",
        form,
        problems,
        about=about(request, form),
        form=form,
        wrong=_wrong(problems),
        places=lines_shown(form),
        key=form.get(KEY) or new_key(),
    )


def _shown(
    session: ReadSessionDep,
    desk: DeskDep,
    quote_id: int,
    form: Address,
    problems: tuple[FieldProblem, ...] = (),
    action: str = "",
) -> HTMLResponse:
    """Return the page of a quote, with a form that could not be taken as it was sent."""
    quote = load_quote(session, quote_id)
    out = quote_out(session, desk, quote)
    content: dict[str, Any] = _OUT.dump_python(out, mode="json")["content"]
    # The first revision has none before it.
    numbers = {str(one.number): one.number for one in out.revisions[1:]}
    changed = numbers.get(form.get("changed", ""))
    fields = {"currency": content["currency"], **fields_of(content)}
    until = (desk.today + timedelta(days=USUAL_DAYS)).isoformat()
    form = {"valid_until-duplicate": until, **form}
    texts = {**fields, **form} if action == "edit" else {**form, **fields}
    stuck = at_fields(out.prices_changed.problems if out.prices_changed else (), texts)
    return page(
        "quote.html",
        {"units": form.get("units", "us")},
        problems,
        out=out,
        history=find_history(session, quote_id),
        copies=find_copies(session, quote_id),
        changed=changed,
        differences=moves.list_differences(quote_id, changed, session) if changed else (),
        form=texts,
        wrong={**_wrong(stuck), **_wrong(problems)},
        stuck=stuck,
        action=action,
        places=lines_shown(texts),
        key=new_key(),
    )


def _beside(problem: FieldProblem, action: str) -> FieldProblem:
    """Return a problem at its field: each move but the edit has its own `by` and `note`."""
    own = ("by", "note", *(("valid_until", "customer_reference") if action == "duplicate" else ()))
    if action == "edit" or problem.pointer not in own:
        return problem
    return replace(problem, pointer=f"{problem.pointer}-{action}")


def _wrong(problems: tuple[FieldProblem, ...]) -> dict[str, str]:
    return {each.pointer: complaint(each) for each in problems}
