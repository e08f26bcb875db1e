"""Refusals: written once, read, never changed."""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session, col, select

from service.refusals import RefusedField
from service.refused.refusal import MOST_OF_ONE_REQUEST, Refusal, RefusedPurpose
from service.refused.tables import RefusalRow


def add_refusals(session: Session, method: str, path: str, refused: Sequence[RefusedField]) -> None:
    """Record what was refused, without the text that it stood in."""
    session.add_all(
        RefusalRow(
            purpose=each.code,
            method=method[:20],
            path=path[:200],
            place=each.pointer[:200],
            words=each.words[:400],
        )
        for each in refused[:MOST_OF_ONE_REQUEST]
    )
    session.flush()


def find_refusals(
    session: Session,
    *,
    purpose: RefusedPurpose | None = None,
    since: datetime | None = None,
    before: int | None = None,
    limit: int | None = None,
) -> list[Refusal]:
    """Return what was refused, the latest first; `before` is the number of the last one seen."""
    statement = select(RefusalRow).order_by(col(RefusalRow.id).desc()).limit(limit)
    if purpose is not None:
        statement = statement.where(RefusalRow.purpose == purpose.value)
    if since is not None:
        statement = statement.where(col(RefusalRow.at) >= since)
    if before is not None:
        statement = statement.where(col(RefusalRow.id) < before)
    return [_refusal(row) for row in session.exec(statement)]


def _refusal(row: RefusalRow) -> Refusal:
    return Refusal(
        number=row.id or 0,
        at=row.at,
        purpose=RefusedPurpose(row.purpose),
        method=row.method,
        path=row.path,
        place=row.place,
        words=row.words,
    )
