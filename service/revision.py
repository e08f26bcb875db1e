"""The revision of the catalogue: one number that rises with every write to it.

Families, parts, shop rules and documents are kept by different slices, and an answer
that was worked out from all of them stays good as long as this number stands still.
"""

from sqlalchemy import text
from sqlmodel import Field, Session, SQLModel, select

CATALOG = "catalog"

_FIRST = text("INSERT INTO revision (name, number) VALUES (:name, 0) ON CONFLICT DO NOTHING")


class RevisionRow(SQLModel, table=True):
    """One counter."""

    __tablename__ = "revision"

    name: str = Field(primary_key=True, max_length=40)
    number: int


REVISION_NUMBER = f"SELECT number FROM revision WHERE name = '{CATALOG}'"  # noqa: S608 - A constant.
"""For `Database.peek`, with which answers that are kept are found."""


def load_catalog_revision(session: Session) -> int:
    """Return the number of the catalogue's last write; 0 when there was none."""
    number = session.exec(select(RevisionRow.number).where(RevisionRow.name == CATALOG)).first()
    return 0 if number is None else number


def lock_catalog(session: Session) -> None:
    """Let one writer at a time into the catalogue, until its transaction ends.

    What is checked after this call stays true until it is written: a part that a family
    names cannot leave in between, and a version that was compared cannot grow stale.
    SQLite gives the same by letting in one writing transaction at a time.
    """
    if _locked(session) is None:
        # Two first writers may come at once; the later one waits here for the earlier.
        session.connection().execute(_FIRST, {"name": CATALOG})
        _locked(session)


def raise_catalog_revision(session: Session) -> None:
    """Count one write, in the transaction that makes it."""
    lock_catalog(session)
    row = session.exec(select(RevisionRow).where(RevisionRow.name == CATALOG)).one()
    row.number += 1
    session.flush()


def _locked(session: Session) -> RevisionRow | None:
    statement = select(RevisionRow).where(RevisionRow.name == CATALOG).with_for_update()
    return session.exec(statement.execution_options(populate_existing=True)).first()
