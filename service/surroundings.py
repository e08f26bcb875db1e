"""What every answer has around it: an id, security headers, HEAD, and a last resort.

It works below FastAPI, on ASGI messages, because it also has to reach the answers that
no route makes: the body limit's own, and the one for an unforeseen error.
"""

import logging
from http import HTTPStatus
from uuid import uuid4

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.policy import CONTENT_SECURITY_POLICY
from service.problems import MEDIA_TYPE, body_too_large, unknown_failure

LOG = logging.getLogger(__name__)

SECURITY_HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


class Surroundings:
    """The outermost middleware of the application."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Work on one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        answer = _Answer(scope, receive, send)
        # What GET answers, HEAD answers without the content (RFC 9110, section 9.3.2).
        asked = {**scope, "method": "GET"} if answer.is_head else scope
        try:
            await self._app(asked, receive, answer.send)
        except Exception:
            LOG.exception("Request %s failed", answer.request_id)
            if not answer.started:
                await unknown_failure(scope)(scope, receive, answer.send)
            raise


class _Answer:
    """The answer to one request, on its way out."""

    def __init__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self._scope = scope
        self._receive = receive
        self._send = send
        self._replaced = False
        self.is_head = scope["method"] == "HEAD"
        self.started = False
        self.request_id = str(uuid4())

    async def send(self, message: Message) -> None:
        if self._replaced:
            return
        if message["type"] == "http.response.start":
            self.started = True
            headers = MutableHeaders(scope=message)
            too_large = message["status"] == HTTPStatus.REQUEST_ENTITY_TOO_LARGE
            if too_large and headers.get("content-type") != MEDIA_TYPE:
                # The body limit answers in plain text, past every handler of the application.
                await body_too_large(self._scope)(self._scope, self._receive, self.send)
                self._replaced = True
                return
            headers["Request-Id"] = self.request_id
            for name, value in SECURITY_HEADERS.items():
                headers.setdefault(name, value)
        elif self.is_head and message["type"] == "http.response.body":
            message = {**message, "body": b""}
        await self._send(message)
