"""The log of deliveries: read, and a delivery sent on its way again."""

from datetime import datetime

from sqlmodel import Session, col, select

from service.webhooks.store.subscriptions import load_subscription
from service.webhooks.tables import WebhookAttemptRow, WebhookDeliveryRow, WebhookMessageRow
from service.webhooks.webhook import (
    Attempt,
    Delivery,
    DeliveryLog,
    DeliveryNotFound,
    DeliveryState,
    EventType,
    StillOnItsWay,
)


def find_deliveries(
    session: Session,
    subscription_id: int,
    *,
    state: DeliveryState | None,
    before: int | None,
    limit: int,
) -> list[Delivery]:
    """Return the deliveries of a subscription before a number, the newest first."""
    load_subscription(session, subscription_id)
    statement = (
        select(WebhookDeliveryRow, WebhookMessageRow.event)
        .join(WebhookMessageRow)
        .where(WebhookDeliveryRow.webhook_id == subscription_id)
        .order_by(col(WebhookDeliveryRow.id).desc())
        .limit(limit)
    )
    if state is not None:
        statement = statement.where(WebhookDeliveryRow.state == state.value)
    if before is not None:
        statement = statement.where(col(WebhookDeliveryRow.id) < before)
    return [_delivery(row, event) for row, event in session.exec(statement)]


def load_delivery(session: Session, subscription_id: int, delivery_id: int) -> DeliveryLog:
    """Return a delivery with its log, or raise `DeliveryNotFound`."""
    row = session.get(WebhookDeliveryRow, delivery_id)
    if row is None or row.webhook_id != subscription_id:
        raise DeliveryNotFound(subscription_id, delivery_id)
    message = session.get_one(WebhookMessageRow, row.message_id)
    attempts = session.exec(
        select(WebhookAttemptRow)
        .where(WebhookAttemptRow.delivery_id == delivery_id)
        .order_by(col(WebhookAttemptRow.number))
    )
    return DeliveryLog(
        delivery=_delivery(row, message.event),
        body=message.body.decode(),
        attempts=tuple(
            Attempt(
                number=each.number,
                at=each.at,
                status=each.status,
                detail=each.detail,
                duration_ms=each.duration_ms,
            )
            for each in attempts
        ),
    )


def replay_delivery(
    session: Session, subscription_id: int, delivery_id: int, at: datetime
) -> DeliveryLog:
    """Send a delivery that is over on its way again: same bytes, same number."""
    statement = select(WebhookDeliveryRow).where(
        WebhookDeliveryRow.id == delivery_id, WebhookDeliveryRow.webhook_id == subscription_id
    )
    row = session.exec(
        statement.with_for_update().execution_options(populate_existing=True)
    ).first()
    if row is None:
        raise DeliveryNotFound(subscription_id, delivery_id)
    if row.state == DeliveryState.PENDING:
        raise StillOnItsWay
    row.state, row.step, row.next_at = DeliveryState.PENDING.value, 0, at
    session.flush()
    return load_delivery(session, subscription_id, delivery_id)


def _delivery(row: WebhookDeliveryRow, event: str) -> Delivery:
    return Delivery(
        id=row.id or 0,
        message_id=row.message_id,
        event=EventType(event),
        state=DeliveryState(row.state),
        attempt_count=row.attempts,
        next_at=row.next_at,
        created_at=row.created_at,
    )
