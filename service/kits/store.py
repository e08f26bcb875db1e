"""Answers by the hash of everything that they were worked out from."""

from sqlmodel import Session, select

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


def add_assessment(session: Session, key: str, body: bytes) -> None:
    """Keep an answer; two that were worked out at once are the same."""
    session.merge(AssessmentRow(key=key, body=body))
    session.flush()
