"""Lists in pieces: a signed cursor names the last item seen, never a count of items.

A cursor holds the place of that item in the order of the list: the fields sorted by, and
a unique one at the end. It is bound to the list and its filters by its signature.
"""

import base64
import binascii
import hashlib
import hmac
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Generic, TypeVar

from fastapi import Depends, HTTPException, Query, Request, Response

T = TypeVar("T")

Place = tuple[str | int | float, ...]

DEFAULT_LIMIT = 50
MAX_LIMIT = 200
SIGNATURE_BYTES = 16
LONGEST_CURSOR = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Page(Generic[T]):
    """One piece of a list."""

    items: list[T]
    next_cursor: str | None
    """Ask again with this as `cursor` for what follows; null at the end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paging:
    """Which piece of a list is asked for."""

    limit: int
    after: Place | None
    """Place of the last item of the piece before; nothing at the start."""
    request: Request
    response: Response

    @property
    def fetch_count(self) -> int:
        """How many items to load: one more than asked for tells whether there are more."""
        return self.limit + 1

    def page(self, found: Sequence[T], place: Callable[[T], Place]) -> Page[T]:
        """Return the piece, and say how to get at the next one.

        Parameters
        ----------
        found
            Up to `fetch_count` items after `after`.
        place
            The fields of an item that the list is sorted by, in their order.
        """
        items = list(found[: self.limit])
        if len(found) <= self.limit:
            return Page(items=items, next_cursor=None)
        cursor = write_cursor(place(items[-1]), key=_key(self.request), scope=_scope(self.request))
        following = self.request.url.include_query_params(cursor=cursor)
        # A reference without the host is right behind any proxy.
        self.response.headers["Link"] = f'<{following.path}?{following.query}>; rel="next"'
        return Page(items=items, next_cursor=cursor)


def read_paging(
    request: Request,
    response: Response,
    limit: Annotated[
        int, Query(ge=1, le=MAX_LIMIT, description="Most items in one answer.")
    ] = DEFAULT_LIMIT,
    cursor: Annotated[
        str | None,
        Query(
            max_length=LONGEST_CURSOR,
            description="`next_cursor` of the piece before, with the same filters.",
        ),
    ] = None,
) -> Paging:
    """Read which piece of a list is asked for."""
    after = None
    if cursor is not None:
        after = read_cursor(cursor, key=_key(request), scope=_scope(request))
    return Paging(limit=limit, after=after, request=request, response=response)


PagingDep = Annotated[Paging, Depends(read_paging)]


def write_cursor(place: Place, *, key: bytes, scope: str) -> str:
    """Return the signed text for a place in the list that `scope` describes."""
    payload = json.dumps(place, separators=(",", ":")).encode()
    signed = _signature(payload, key=key, scope=scope) + payload
    return base64.urlsafe_b64encode(signed).decode().rstrip("=")


def read_cursor(cursor: str, *, key: bytes, scope: str) -> Place:
    """Return the place that a cursor names, or answer 400."""
    try:
        signed = base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        signed = b""
    signature, payload = signed[:SIGNATURE_BYTES], signed[SIGNATURE_BYTES:]
    if not hmac.compare_digest(signature, _signature(payload, key=key, scope=scope)):
        detail = (
            "The cursor does not belong to this list with these filters. "
            "Start again without a cursor."
        )
        raise HTTPException(400, detail)
    return tuple(json.loads(payload))


def _signature(payload: bytes, *, key: bytes, scope: str) -> bytes:
    # The scope is digested first, so that it has one length and cannot run into the payload.
    message = hashlib.sha256(scope.encode()).digest() + payload
    return hmac.digest(key, message, "sha256")[:SIGNATURE_BYTES]


def _scope(request: Request) -> str:
    """Describe the list: its address and every parameter that chooses or sorts its items."""
    chosen = [
        item for item in request.query_params.multi_items() if item[0] not in ("cursor", "limit")
    ]
    return json.dumps([request.url.path, sorted(chosen)])


def _key(request: Request) -> bytes:
    key: bytes = request.app.state.cursor_key
    return key
