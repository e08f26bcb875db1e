"""Answers by the hash of everything that they were worked out from."""

from collections.abc import Collection

from sqlmodel import Session, col, select

from service.errors import NotFound
from service.kits.tables import AssessmentRow


class AssessmentNotFound(NotFound):
    """No answer is kept under this key."""

    def __init__(self, key: str) -> None:
        super().__init__(f"No assessment has the key {key!r}; ask the question again.")


def load_assessment(session: Session, key: str) -> bytes:
    """Return the answer kept under a key, or raise `AssessmentNotFound`."""
    body = find_assessment(session, key)
    if body is None:
        raise AssessmentNotFound(key)
    return body


def find_assessment(session: Session, key: str) -> bytes | None:
    """Return the answer kept under a key, where there is one."""
    return session.exec(select(AssessmentRow.body).where(AssessmentRow.key == key)).first()


def find_assessments(session: Session, keys: Collection[str]) -> dict[str, bytes]:
    """Return the answers that are kept under any of these keys."""
    rows = session.exec(select(AssessmentRow).where(col(AssessmentRow.key).in_(keys)))
    return {row.key: row.body for row in rows}


def find_kept(session: Session, keys: Collection[str]) -> set[str]:
    """Return those of the keys under which an answer is kept."""
    return set(session.exec(select(AssessmentRow.key).where(col(AssessmentRow.key).in_(keys))))


def add_assessment(session: Session, key: str, body: bytes) -> None:
    """Keep an answer; two that were worked out at once are the same."""
    session.merge(AssessmentRow(key=key, body=body))
    session.flush()
