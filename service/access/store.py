"""Keys: made, looked up by their digest, revoked."""

import secrets
from collections.abc import Iterable
from datetime import UTC, date, datetime

from sqlmodel import Session, col, select

from service.access.keys import (
    KEY_START,
    AccessKey,
    AccessKeyNotFound,
    AccessKeyTaken,
    Caller,
    Scope,
    key_digest,
)
from service.access.tables import AccessKeyRow

RANDOM_BYTES = 32


def add_access_key(session: Session, name: str, scopes: Iterable[Scope]) -> str:
    """Make a key and return its text, which is kept nowhere."""
    if session.get(AccessKeyRow, name) is not None:
        raise AccessKeyTaken(name)
    text = KEY_START + secrets.token_urlsafe(RANDOM_BYTES)
    row = AccessKeyRow(
        name=name,
        sha256=key_digest(text),
        scopes=sorted({scope.value for scope in scopes}),
        created_at=datetime.now(UTC),
    )
    session.add(row)
    session.flush()
    return text


def revoke_access_key(session: Session, name: str) -> None:
    """Let a key open nothing any more, or raise `AccessKeyNotFound`."""
    row = session.get(AccessKeyRow, name, with_for_update=True)
    if row is None:
        raise AccessKeyNotFound(name)
    row.revoked_at = row.revoked_at or datetime.now(UTC)
    session.flush()


def find_access_keys(session: Session) -> list[AccessKey]:
    """Return every key that was ever made, by name."""
    rows = session.exec(select(AccessKeyRow).order_by(col(AccessKeyRow.name)))
    return [
        AccessKey(
            name=row.name,
            scopes=tuple(Scope(each) for each in row.scopes),
            created_at=row.created_at,
            last_used_on=row.last_used_on,
            revoked_at=row.revoked_at,
        )
        for row in rows
    ]


def asks_for_keys(session: Session) -> bool:
    """Say whether a key was ever made; from then on there is no way without one."""
    return session.exec(select(AccessKeyRow.name).limit(1)).first() is not None


def find_caller(session: Session, digest: str) -> tuple[Caller, date | None] | None:
    """Return whose key this is and when it was used last, unless it was revoked."""
    row = _row(session, digest)
    if row is None or row.revoked_at is not None:
        return None
    caller = Caller(name=row.name, scopes=frozenset(Scope(each) for each in row.scopes))
    return caller, row.last_used_on


def note_use(session: Session, digest: str, day: date) -> None:
    """Remember on which day a key was used last."""
    row = _row(session, digest)
    if row is not None:
        row.last_used_on = day
        session.flush()


def _row(session: Session, digest: str) -> AccessKeyRow | None:
    return session.exec(select(AccessKeyRow).where(AccessKeyRow.sha256 == digest)).first()
