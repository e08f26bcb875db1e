"""What waits in the outbox is sent: claimed, sent with no transaction open, written down."""

from datetime import UTC, datetime, timedelta

from service.database import Database
from service.webhooks.sending import send
from service.webhooks.signing import signed_headers
from service.webhooks.store.outbox import (
    claim_delivery,
    is_due,
    record_attempt,
    remove_old_messages,
)

REMOVED_AT_ONCE = 50
USER_AGENT = "kitwright-webhooks"


def deliver_one(database: Database, *, allow_loopback: bool) -> bool:
    """Make one attempt; answer whether there was anything to send."""
    at = datetime.now(UTC)
    with database.reading() as session:
        if not is_due(session, at):
            return False
    with database.writing() as session:
        claim = claim_delivery(session, at)
    if claim is None:
        return False
    # The time of the attempt, not of the event: receivers refuse what is old.
    timestamp_s = int(datetime.now(UTC).timestamp())
    headers = {
        "Content-Type": "application/json",
        "User-Agent": USER_AGENT,
        **signed_headers(claim.secret, claim.message_id, timestamp_s, claim.body),
    }
    outcome = send(claim.url, headers, claim.body, allow_loopback=allow_loopback)
    with database.writing() as session:
        record_attempt(session, claim, outcome, datetime.now(UTC))
    return True


def forget_some(database: Database, *, retention: timedelta) -> bool:
    """Delete some of what was over longer ago than it is kept; answer whether there may be more."""
    with database.writing() as session:
        removed = remove_old_messages(
            session, before=datetime.now(UTC) - retention, limit=REMOVED_AT_ONCE
        )
    return removed == REMOVED_AT_ONCE
