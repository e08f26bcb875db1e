"""Comparisons by the hash of everything that they were worked out from."""

from sqlmodel import Session, select

from service.comparisons.tables import ComparisonRow
from service.errors import NotFound


class ComparisonNotFound(NotFound):
    """No comparison is kept under this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No comparison has the key {key!r}; ask the question again.")


def load_comparison(session: Session, key: str) -> bytes:
    """Return the answer kept under a key, or raise `ComparisonNotFound`."""
    body = find_comparison(session, key)
    if body is None:
        raise ComparisonNotFound(key)
    return body


def find_comparison(session: Session, key: str) -> bytes | None:
    """Return the answer kept under a key, where there is one."""
    return session.exec(select(ComparisonRow.body).where(ComparisonRow.key == key)).first()


def add_comparison(session: Session, key: str, body: bytes) -> None:
    """Keep an answer; two that were worked out at once are the same."""
    session.merge(ComparisonRow(key=key, body=body))
    session.flush()
