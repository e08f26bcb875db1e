"""What waits in the outbox is sent: claimed, sent with no transaction open, written down."""

from datetime import UTC, datetime

from service.database import Database
from service.webhooks.sending import send
from service.webhooks.signing import signed_headers
from service.webhooks.store.outbox import (
    claim_delivery,
    is_due,
    record_attempt,
)

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
        **signed_headers(claim.secrets, claim.message_id, timestamp_s, claim.body),
    }
    outcome = send(claim.url, headers, claim.body, allow_loopback=allow_loopback)
    with database.writing() as session:
        record_attempt(session, claim, outcome, datetime.now(UTC))
    return True
