"""Quotes whose last day is over expire by themselves, each once, whoever looks."""

from datetime import UTC, datetime

from service.database import Database
from service.quotes.store.quotes import expire_next, is_overdue


def expire_one(database: Database) -> bool:
    """Let one quote expire; answer whether there was any."""
    at = datetime.now(UTC)
    # Looking first keeps the lock of writers free: nearly always there is nothing.
    with database.reading() as session:
        if not is_overdue(session, at):
            return False
    with database.writing() as session:
        return expire_next(session, at) is not None
