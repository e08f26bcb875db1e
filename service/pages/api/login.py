"""The way in for people: a page that takes a key and keeps it in a cookie.

What was being done is not lost: a page that was asked for comes again, and a form that was
sent without a key waits in the login page until it can be sent.
"""

from typing import Annotated
from urllib.parse import parse_qsl, urlencode, urlsplit

from fastapi import APIRouter, Form, HTTPException, Query, Request, Response
from fastapi.responses import RedirectResponse
from starlette.types import Message

from service.access.api import COOKIE, KeyRing
from service.access.keys import THIS_MACHINE, Caller
from service.access.rights import LOGIN
from service.errors import FieldProblem
from service.pages.api.forms import MOST_FIELDS
from service.pages.api.page_route import SEE_OTHER, PageRoute
from service.pages.api.rendering import page
from service.pages.own_site import is_from_own_site
from service.settings import Settings

SIGNED_IN_S = 12 * 3600
UNAUTHORIZED, FORBIDDEN = 401, 403
START = "/desk"
BY_SCRIPT, OPEN_NOW = "hx-request", "hx-current-url"
"""What htmx says of itself and of the page that is open (its reference of headers)."""

router = APIRouter(prefix=LOGIN, include_in_schema=False, route_class=PageRoute)


async def turn_away(request: Request, caller: Caller | None) -> Response:
    """Ask for a key that opens the page, and keep what was being sent to it."""
    to = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if caller is not None:
        detail = f"The key {caller.name} does not open this page."
        return _asked(to, status=FORBIDDEN, problem=_problem("", detail))
    if request.method == "GET":
        if request.headers.get(BY_SCRIPT) == "true":
            return _asked_by_script(request)
        return RedirectResponse(f"{LOGIN}?{urlencode({'to': to})}", SEE_OTHER)
    kept = await _kept(request) if is_from_own_site(request.headers) else ""
    return _asked(to, kept=kept, status=UNAUTHORIZED)


@router.get("")
def show_login(to: Annotated[str, Query()] = START) -> Response:
    """Ask for a key, or offer to forget the one that this browser keeps."""
    return _asked(_own(to))


@router.post("/end")
def end_login() -> Response:
    """Have the browser forget its key: the next one at this counter gives their own."""
    answer = RedirectResponse(LOGIN, SEE_OTHER)
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict")
    return answer


@router.post("")
async def submit_login(
    request: Request,
    key: Annotated[str, Form()] = "",
    to: Annotated[str, Form()] = START,
    kept: Annotated[str, Form()] = "",
) -> Response:
    """Keep a key that opens something, then go on where the way in was asked for."""
    ring: KeyRing = request.app.state.key_ring
    caller = await ring.caller(key.strip())
    if caller is None:
        detail = "This key opens nothing. Ask the shop for one; `kitwright key create` makes it."
        return _asked(_own(to), kept=kept, status=UNAUTHORIZED, problem=_problem("key", detail))
    answer: Response
    if kept:
        fields = parse_qsl(kept, keep_blank_values=True)
        answer = page("login_kept.html", {}, to=_own(to), sent=fields)
    else:
        answer = RedirectResponse(_own(to), SEE_OTHER)
    if caller is not THIS_MACHINE:
        answer.set_cookie(
            COOKIE,
            key.strip(),
            max_age=SIGNED_IN_S,
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
        )
    return answer


def _asked(
    to: str, *, kept: str = "", status: int = 200, problem: FieldProblem | None = None
) -> Response:
    problems = () if problem is None else (problem,)
    return page("login.html", {}, problems, status=status, to=to, kept=kept)


async def _kept(request: Request) -> str:
    """Return the texts of a form that nobody may send yet, in one; nothing where it is too long.

    Files stay where they are: their owner has them.
    """
    settings: Settings = request.app.state.settings
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > settings.max_body_bytes:
            return ""

    async def read_again() -> Message:
        return {"type": "http.request", "body": bytes(body), "more_body": False}

    again = Request(request.scope, read_again)
    try:
        async with again.form(max_fields=MOST_FIELDS, max_part_size=len(body)) as form:
            return urlencode([(k, text) for k, text in form.multi_items() if isinstance(text, str)])
    except HTTPException:
        return ""


def _asked_by_script(request: Request) -> Response:
    """Have htmx go to the login as a whole page, then back to the page that is open now.

    It sends parts of that page; what was typed there stands in its address.
    """
    open_now = urlsplit(request.headers.get(OPEN_NOW, START))
    to = _own(open_now.path + (f"?{open_now.query}" if open_now.query else ""))
    headers = {"HX-Redirect": f"{LOGIN}?{urlencode({'to': to})}"}
    return Response(status_code=UNAUTHORIZED, headers=headers)


def _own(address: str) -> str:
    """Return an address of ours, never one of another site."""
    is_own = address.startswith("/") and not address.startswith(("//", "/\\"))
    return address if is_own and address.isprintable() else START


def _problem(pointer: str, detail: str) -> FieldProblem:
    return FieldProblem(pointer=pointer, code="key", detail=detail)
