"""Subscriptions: written and read; a secret is told once, when it is made."""

from datetime import UTC, datetime, timedelta

from sqlmodel import Session, col, delete, select

from service.errors import StaleVersion
from service.webhooks.signing import new_secret
from service.webhooks.tables import WebhookAttemptRow, WebhookDeliveryRow, WebhookRow
from service.webhooks.webhook import EventType, KeptSubscription, Subscription, SubscriptionNotFound


def add_subscription(session: Session, value: Subscription) -> KeptSubscription:
    """Take a subscription in, and make the secret that its messages are signed with."""
    at = datetime.now(UTC)
    row = WebhookRow(
        url=value.url,
        events=list(value.events),
        is_active=value.is_active,
        note=value.note,
        secret=new_secret(),
        created_at=at,
        updated_at=at,
    )
    session.add(row)
    session.flush()
    return _kept(row)


def save_subscription(
    session: Session, subscription_id: int, value: Subscription, *, version: int
) -> KeptSubscription:
    """Replace a subscription that is still at `version`."""
    row = _locked(session, subscription_id)
    if row.version != version:
        raise StaleVersion(row.version)
    row.url, row.events = value.url, list(value.events)
    row.is_active, row.note = value.is_active, value.note
    row.version += 1
    row.updated_at = datetime.now(UTC)
    session.flush()
    return _kept(row)


def replace_secret(
    session: Session, subscription_id: int, *, version: int, overlap: timedelta
) -> KeptSubscription:
    """Make a new secret; the one before is signed with too for a while, an older one no more."""
    row = _locked(session, subscription_id)
    if row.version != version:
        raise StaleVersion(row.version)
    at = datetime.now(UTC)
    row.old_secret, row.old_secret_until = (row.secret, at + overlap) if overlap else (None, None)
    row.secret = new_secret()
    row.version += 1
    row.updated_at = at
    session.flush()
    return _kept(row)


def remove_subscription(session: Session, subscription_id: int, *, version: int) -> None:
    """Delete a subscription that is still at `version`, with its deliveries and their log."""
    row = _locked(session, subscription_id)
    if row.version != version:
        raise StaleVersion(row.version)
    of_it = select(WebhookDeliveryRow.id).where(WebhookDeliveryRow.webhook_id == subscription_id)
    session.exec(delete(WebhookAttemptRow).where(col(WebhookAttemptRow.delivery_id).in_(of_it)))
    session.exec(
        delete(WebhookDeliveryRow).where(col(WebhookDeliveryRow.webhook_id) == subscription_id)
    )
    session.delete(row)
    session.flush()


def load_subscription(session: Session, subscription_id: int) -> KeptSubscription:
    """Return a subscription, or raise `SubscriptionNotFound`."""
    row = session.get(WebhookRow, subscription_id)
    if row is None:
        raise SubscriptionNotFound(subscription_id)
    return _kept(row)


def find_subscriptions(session: Session, *, after: int, limit: int) -> list[KeptSubscription]:
    """Return the subscriptions after a number, by number."""
    statement = select(WebhookRow).where(col(WebhookRow.id) > after)
    return [_kept(row) for row in session.exec(statement.order_by(col(WebhookRow.id)).limit(limit))]


def _locked(session: Session, subscription_id: int) -> WebhookRow:
    # Whoever adds a delivery shares this row: it is waited for, so that none is left behind.
    statement = select(WebhookRow).where(WebhookRow.id == subscription_id).with_for_update()
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        raise SubscriptionNotFound(subscription_id)
    return row


def _kept(row: WebhookRow) -> KeptSubscription:
    return KeptSubscription(
        id=row.id or 0,
        version=row.version,
        value=Subscription(
            url=row.url,
            events=tuple(EventType(each) for each in row.events),
            is_active=row.is_active,
            note=row.note,
        ),
        secret=row.secret,
        old_secret_until=row.old_secret_until,
        created_at=row.created_at,
        updated_at=row.updated_at,
    )
