"""Forms that write: sent once, meant for one version, and shown again when they are wrong."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated
from uuid import uuid4

from fastapi import Depends, Request, Response
from fastapi.responses import RedirectResponse

from service.access.api import read_caller
from service.bodies import refuse_text
from service.conditional import ExpectedVersion
from service.database import Database, SessionDep
from service.errors import Conflict
from service.idempotency.store import KeyedRequest, begin, find_answer, keep_answer
from service.pages.api.page_route import SEE_OTHER

LONGEST_KEY = 200
MOST_FIELDS = 5_000
KEY = "idempotency_key"
"""The field that names what a form will do."""


class SentOtherwise(Conflict):
    """A form was sent before, with other content."""

    def __init__(self) -> None:
        super().__init__(
            "This form was sent before with other content, and that was done. Look at what "
            "stands now, then change that."
        )


Sent = Mapping[str, Sequence[str]]
"""Everything that a browser sent, by name."""


async def read_sent(request: Request) -> Sent:
    """Return every text of a form; one that asks to hide or mislead is refused."""
    found: dict[str, list[str]] = {}
    async with request.form(max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if isinstance(value, str):
                found.setdefault(name, []).append(value)
    for name, texts in found.items():
        for text in texts:
            await refuse_text(text, name, request)
    return found


SentDep = Annotated[Sent, Depends(read_sent)]


def read_form(sent: SentDep) -> dict[str, str]:
    """Return the texts of a form in which no name stands twice."""
    return {name: texts[-1] for name, texts in sent.items()}


FormDep = Annotated[dict[str, str], Depends(read_form)]


def new_key() -> str:
    """Return a name for what a form will do, so that sending it twice does it once."""
    return str(uuid4())


def version_seen(form: dict[str, str]) -> ExpectedVersion:
    """Return the version that the form was filled in for, as If-Match would say it."""
    seen = form.get("version", "")
    return ExpectedVersion(frozenset({int(seen)} if seen.isascii() and seen.isdigit() else ()))


def done_once(request: Request, sent: Sent, work: Callable[[SessionDep], str]) -> Response:
    """Do what a form asks for, once, and go on to the address that `work` returns."""
    database: Database = request.app.state.database
    asked = _keyed(request, sent)
    with database.reading() as session:
        kept = find_answer(session, asked)
    if kept is not None and kept.fingerprint != asked.fingerprint:
        raise SentOtherwise
    if kept is not None:
        return RedirectResponse(kept.headers["location"], SEE_OTHER)
    with database.writing() as session:
        begin(session, asked)
        address = work(session)
        keep_answer(session, asked, status=SEE_OTHER, headers={"location": address}, body=b"")
    return RedirectResponse(address, SEE_OTHER)


def _keyed(request: Request, sent: Sent) -> KeyedRequest:
    digest = hashlib.sha256(request.url.path.encode())
    for name, texts in sorted(sent.items()):
        for each in (name, *texts):
            digest.update(len(each.encode()).to_bytes(8))
            digest.update(each.encode())
        digest.update(len(texts).to_bytes(8))
    key = f"page {sent.get(KEY, ('',))[-1] or new_key()}"[:LONGEST_KEY]
    caller = read_caller(request).name or ""
    return KeyedRequest(caller=caller, key=key, fingerprint=digest.hexdigest())
