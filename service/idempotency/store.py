"""Keyed requests: the row comes first, the answer in the same transaction."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import tuple_
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, delete, select

from service.errors import Conflict
from service.idempotency.tables import IdempotencyKeyRow

KEPT_FOR = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyedRequest:
    """A request that its sender has named."""

    caller: str
    key: str
    fingerprint: str
    """Digest of method, address, version meant and body."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAnswer:
    """What was answered to it."""

    fingerprint: str
    status: int
    headers: Mapping[str, str]
    body: bytes


class StillInHand(Conflict):
    """The first request with this key is still being worked on."""

    def __init__(self) -> None:
        super().__init__(
            "A request with this Idempotency-Key is being worked on; send it again in a moment."
        )


def find_answer(session: Session, asked: KeyedRequest) -> KeptAnswer | None:
    """Return what was answered to a key, where there is an answer."""
    row = session.get(IdempotencyKeyRow, (asked.caller, asked.key))
    if row is None or row.status is None or row.created_at < datetime.now(UTC) - KEPT_FOR:
        return None
    return KeptAnswer(
        fingerprint=row.fingerprint, status=row.status, headers=row.headers, body=row.body
    )


def begin(session: Session, asked: KeyedRequest) -> None:
    """Put the key first into the transaction of its work: there is one such transaction.

    Another process that has begun the same holds the row; this one then waits for it and
    ends as a conflict. The row of a process that was killed went with its transaction.
    """
    at = datetime.now(UTC)
    session.exec(
        delete(IdempotencyKeyRow).where(
            col(IdempotencyKeyRow.caller) == asked.caller,
            col(IdempotencyKeyRow.key) == asked.key,
            col(IdempotencyKeyRow.created_at) < at - KEPT_FOR,
        )
    )
    session.add(
        IdempotencyKeyRow(
            caller=asked.caller, key=asked.key, fingerprint=asked.fingerprint, created_at=at
        )
    )
    try:
        session.flush()
    except IntegrityError as error:
        raise StillInHand from error


def keep_answer(
    session: Session, asked: KeyedRequest, *, status: int, headers: Mapping[str, str], body: bytes
) -> None:
    """Keep the answer in the transaction of its work: both are there, or neither is."""
    row = session.get_one(IdempotencyKeyRow, (asked.caller, asked.key))
    row.status, row.headers, row.body = status, dict(headers), body
    session.flush()


def remove_old_keys(session: Session, *, before: datetime, limit: int) -> int:
    """Delete the oldest keys that are over, but for those in use; return how many."""
    name = tuple_(col(IdempotencyKeyRow.caller), col(IdempotencyKeyRow.key))
    statement = (
        select(IdempotencyKeyRow.caller, IdempotencyKeyRow.key)
        .where(col(IdempotencyKeyRow.created_at) < before)
        .order_by(col(IdempotencyKeyRow.created_at))
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    old = [tuple(each) for each in session.exec(statement)]
    session.exec(delete(IdempotencyKeyRow).where(name.in_(old)))
    return len(old)
