"""The gate in front of every address: who asks, and whether they may.

It works on ASGI messages, before any route, body or kept answer is looked at: an address
that nobody thought of is closed.
"""

import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from ipaddress import ip_address

from fastapi import Request, Response
from fastapi.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from service.access.keys import STRANGER, THIS_MACHINE, Caller, key_digest
from service.access.rights import is_for_a_frame, is_open, is_page, scopes_for
from service.access.store import asks_for_keys, find_caller, note_use
from service.database import Database
from service.problem_kinds import KIND_BY_STATUS
from service.problems import problem_response

COOKIE = "kitwright_key"
BELIEVED_S = 5.0
"""How long a key that was looked up is believed; one that was revoked ends within that."""
MOST_BELIEVED = 1000
UNAUTHORIZED, FORBIDDEN = 401, 403
REALM = 'Bearer realm="kitwright"'

TurnAway = Callable[[Request, Caller | None], Awaitable[Response]]
"""Answers a person who has no key, or one that does not open the page."""


@dataclass(slots=True)
class KeyRing:
    """Who has which key, as the database says, believed for some seconds."""

    database: Database
    clock: Callable[[], float] = time.monotonic
    _believed: dict[str, tuple[float, Caller]] = field(default_factory=dict)
    _without_keys_until: float = 0.0
    _asks_for_keys: bool = False
    """Once true it stays: a key that was made is never unmade. Strangers then cost no look-up."""

    async def caller(self, text: str | None) -> Caller | None:
        """Return who has this key; nobody where it opens nothing."""
        now = self.clock()
        if now < self._without_keys_until:
            return THIS_MACHINE
        if self._asks_for_keys and text is None:
            return None
        digest = "" if text is None else key_digest(text)
        until, believed = self._believed.get(digest, (0.0, THIS_MACHINE))
        if now < until:
            return believed
        found = await run_in_threadpool(self._look_up, digest)
        if found is THIS_MACHINE:
            self._without_keys_until = now + BELIEVED_S
            return found
        self._asks_for_keys = True
        if found is not None:
            if len(self._believed) >= MOST_BELIEVED:
                self._believed.clear()
            self._believed[digest] = now + BELIEVED_S, found
        return found

    def _look_up(self, digest: str) -> Caller | None:
        today = datetime.now(UTC).date()
        with self.database.reading() as session:
            found = find_caller(session, digest) if digest else None
            if found is None:
                return None if asks_for_keys(session) else THIS_MACHINE
        caller, last_used_on = found
        if last_used_on != today:
            with self.database.writing() as session:
                note_use(session, digest, today)
        return caller


class Gate:
    """Middleware: lets through who may, and says who it was."""

    def __init__(self, app: ASGIApp, turn_away: TurnAway) -> None:
        self._app = app
        self._turn_away = turn_away

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at one request."""
        # Before the application has started there is nothing behind the gate.
        ring: KeyRing | None = getattr(scope["app"].state, "key_ring", None)
        if scope["type"] != "http" or ring is None or is_open(scope["path"]):
            await self._app(scope, receive, send)
            return
        request = Request(scope, receive)
        if _is_framed(request):
            request.state.caller = STRANGER
            await self._app(scope, receive, send)
            return
        caller = await ring.caller(_key_text(request))
        if caller is THIS_MACHINE and _is_elsewhere(request):
            caller = None
        needed = scopes_for(scope["method"], scope["path"])
        if caller is THIS_MACHINE or (caller is not None and caller.scopes & needed):
            request.state.caller = caller
            request.state.api_key_name = caller.name
            await self._app(scope, receive, send)
        elif is_page(scope["path"]):
            await (await self._turn_away(request, caller))(scope, receive, send)
        else:
            await _refusal(request, caller, sorted(needed))(scope, receive, send)


def read_caller(request: Request) -> Caller:
    """Return who asks; an application without a gate was not started."""
    caller: Caller = getattr(request.state, "caller", THIS_MACHINE)
    return caller


def _key_text(request: Request) -> str | None:
    """Return the key of a request: a page's cookie opens pages alone, so no form can use it."""
    if is_page(request.url.path):
        return request.cookies.get(COOKIE)
    scheme, _, text = request.headers.get("authorization", "").partition(" ")
    return text.strip() if scheme.lower() == "bearer" and text.strip() else None


def _is_framed(request: Request) -> bool:
    """Say whether a storefront that the shop names may show this to everybody."""
    embed_in = request.app.state.settings.embed_in
    return bool(embed_in) and is_for_a_frame(
        request.method, request.url.path, request.query_params.keys()
    )


def _is_elsewhere(request: Request) -> bool:
    """Say whether another machine asks; what has no address is inside this one."""
    try:
        return request.client is not None and not ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def _refusal(request: Request, caller: Caller | None, needed: list[str]) -> Response:
    """Answer as RFC 6750, section 3, says."""
    if caller is None:
        sent = "authorization" in request.headers
        challenge = REALM + (', error="invalid_token"' if sent else "")
        detail = (
            "This key opens nothing; it may have been revoked."
            if sent
            else "Send a key of this service: `Authorization: Bearer`, then the key."
        )
        kind = KIND_BY_STATUS[UNAUTHORIZED]
    else:
        challenge = f'{REALM}, error="insufficient_scope", scope="{" ".join(needed)}"'
        wanted = " or ".join(needed) or "no scope there is"
        detail = f"The key {caller.name!r} does not open this; it takes {wanted}."
        kind = KIND_BY_STATUS[FORBIDDEN]
    headers = {"WWW-Authenticate": challenge}
    return problem_response(request.scope, kind, detail, headers=headers)
