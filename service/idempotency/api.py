"""Keyed requests over HTTP: told apart, replayed, refused."""

import hashlib
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from threading import Lock

from fastapi import HTTPException, Request, Response
from fastapi.concurrency import run_in_threadpool

from service.bodies import IDEMPOTENCY_KEY
from service.database import Database, SessionDep
from service.idempotency.store import (
    KeptAnswer,
    KeyedRequest,
    StillInHand,
    begin,
    find_answer,
    keep_answer,
)

LONGEST_KEY = 200
RETRY_AFTER_S = "1"
REPLAYED = "Idempotent-Replayed"


@dataclass(frozen=True, slots=True)
class Once:
    """Does what a key names once, and answers a repeat with what was answered first."""

    database: Database
    in_hand: set[tuple[str, str]] = field(default_factory=set)
    """Keys that this process is working on."""
    lock: Lock = field(default_factory=Lock)

    async def answer(
        self, request: Request, body: bytes, proceed: Callable[[], Awaitable[Response]]
    ) -> Response:
        """Answer a request that has a key."""
        asked = _keyed(request, body)
        try:
            self._take_in_hand(asked)
            try:
                if kept := await run_in_threadpool(self._kept, asked):
                    return _replayed(asked, kept)
                return await self._do(request, asked, proceed)
            finally:
                with self.lock:
                    self.in_hand.discard((asked.caller, asked.key))
        except StillInHand as error:
            raise HTTPException(409, str(error), {"Retry-After": RETRY_AFTER_S}) from error

    async def _do(
        self, request: Request, asked: KeyedRequest, proceed: Callable[[], Awaitable[Response]]
    ) -> Response:
        request.state.on_session = lambda session: begin(session, asked)
        response = await proceed()
        # The session of the route is still open here: FastAPI ends it after this call.
        await run_in_threadpool(self._keep, request, asked, response)
        return response

    def _keep(self, request: Request, asked: KeyedRequest, response: Response) -> None:
        session: SessionDep | None = getattr(request.state, "session", None)
        if session is not None:
            _keep(session, asked, response)
            return
        with self.database.writing() as own:
            begin(own, asked)
            _keep(own, asked, response)

    def _kept(self, asked: KeyedRequest) -> KeptAnswer | None:
        with self.database.reading() as session:
            return find_answer(session, asked)

    def _take_in_hand(self, asked: KeyedRequest) -> None:
        with self.lock:
            if (asked.caller, asked.key) in self.in_hand:
                raise StillInHand
            self.in_hand.add((asked.caller, asked.key))


def _keep(session: SessionDep, asked: KeyedRequest, response: Response) -> None:
    headers = {
        name: value
        for name, value in response.headers.items()
        if name not in ("content-length", "set-cookie")
    }
    keep_answer(
        session,
        asked,
        status=response.status_code,
        headers=headers,
        body=bytes(response.body),
    )


def _keyed(request: Request, body: bytes) -> KeyedRequest:
    # The draft sends a quoted string (RFC 8941); the bare form is common.
    key = request.headers[IDEMPOTENCY_KEY].strip().strip('"')
    if not 0 < len(key) <= LONGEST_KEY:
        raise HTTPException(400, f"{IDEMPOTENCY_KEY} has 1 to {LONGEST_KEY} characters.")
    digest = hashlib.sha256()
    for each in (
        request.method,
        request.url.path,
        request.url.query,
        request.headers.get("if-match", ""),
        body,
    ):
        data = each if isinstance(each, bytes) else each.encode()
        digest.update(len(data).to_bytes(8))
        digest.update(data)
    caller = str(getattr(request.state, "api_key_name", None) or "")
    return KeyedRequest(caller=caller, key=key, fingerprint=digest.hexdigest())


def _replayed(asked: KeyedRequest, kept: KeptAnswer) -> Response:
    if kept.fingerprint != asked.fingerprint:
        detail = f"This {IDEMPOTENCY_KEY} was used for another request; take a new key."
        raise HTTPException(422, detail)
    headers = {**kept.headers, REPLAYED: "true"}
    return Response(kept.body, kept.status, headers)
