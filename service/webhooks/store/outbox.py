"""Messages kept with what they tell of, claimed by whoever sends them, and what became of it."""

import json
import random
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import uuid4

from sqlmodel import Session, col, delete, select
from sqlmodel.sql.expression import SelectOfScalar

from service.webhooks.sending import TIMEOUT_S, Outcome
from service.webhooks.tables import (
    WebhookAttemptRow,
    WebhookDeliveryRow,
    WebhookMessageRow,
    WebhookRow,
)
from service.webhooks.webhook import DeliveryState, EventType, next_attempt

LOST_AFTER = timedelta(seconds=4 * TIMEOUT_S)
"""An attempt that has said nothing for so long was made by a process that is gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """One delivery in the hands of a sender."""

    delivery_id: int
    attempt: int
    url: str
    secrets: tuple[str, ...]
    """The newest first."""
    message_id: str
    body: bytes


def publish(session: Session, event: EventType, data: Mapping[str, object], at: datetime) -> None:
    """Keep what there is to tell, in the transaction of what happened, for all who want it."""
    # A share of each row: one that is being deleted is waited for and then left out.
    statement = select(WebhookRow).where(col(WebhookRow.is_active)).with_for_update(read=True)
    wanted = [row.id for row in session.exec(statement) if event in row.events]
    if not wanted:
        return
    moment = at.isoformat(timespec="microseconds").replace("+00:00", "Z")
    document = {"type": event.value, "timestamp": moment, "data": data}
    message = WebhookMessageRow(
        id=f"msg_{uuid4().hex}",
        event=event.value,
        body=json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode(),
        created_at=at,
    )
    session.add(message)
    session.flush()
    session.add_all(
        WebhookDeliveryRow(
            webhook_id=webhook_id or 0,
            message_id=message.id,
            state=DeliveryState.PENDING.value,
            next_at=at,
            created_at=at,
        )
        for webhook_id in wanted
    )
    session.flush()


def is_due(session: Session, at: datetime) -> bool:
    """Say whether there is something to send, without taking the lock of writers."""
    return session.exec(_due(at)).first() is not None


def claim_delivery(session: Session, at: datetime) -> Claim | None:
    """Take the delivery that has been due for longest; skip what another sender takes."""
    statement = _due(at).with_for_update(skip_locked=True, of=WebhookDeliveryRow)
    row = session.exec(statement.execution_options(populate_existing=True)).first()
    if row is None:
        return None
    row.attempts += 1
    row.next_at = at + LOST_AFTER
    session.flush()
    webhook = session.get_one(WebhookRow, row.webhook_id)
    message = session.get_one(WebhookMessageRow, row.message_id)
    return Claim(
        delivery_id=row.id or 0,
        attempt=row.attempts,
        url=webhook.url,
        secrets=_secrets(webhook, at),
        message_id=message.id,
        body=message.body,
    )


def record_attempt(session: Session, claim: Claim, outcome: Outcome, at: datetime) -> None:
    """Log an attempt, and say what follows from it: delivered, tried again, given up."""
    statement = select(WebhookDeliveryRow).where(WebhookDeliveryRow.id == claim.delivery_id)
    row = session.exec(
        statement.with_for_update().execution_options(populate_existing=True)
    ).first()
    if row is None:
        return  # The subscription was deleted meanwhile.
    session.add(
        WebhookAttemptRow(
            delivery_id=claim.delivery_id,
            number=claim.attempt,
            at=at,
            status=outcome.status,
            detail=outcome.detail,
            duration_ms=outcome.duration_ms,
        )
    )
    if outcome.is_delivered:
        row.state, row.next_at = DeliveryState.DELIVERED.value, None
    elif row.state == DeliveryState.PENDING and row.attempts == claim.attempt:
        _fail(session, row, outcome, at)
    session.flush()


def remove_old_messages(session: Session, *, before: datetime, limit: int) -> int:
    """Delete the oldest messages that nobody waits for, with their log; return how many."""
    pending = select(WebhookDeliveryRow.message_id).where(
        WebhookDeliveryRow.state == DeliveryState.PENDING.value
    )
    statement = (
        select(WebhookMessageRow.id)
        .where(col(WebhookMessageRow.created_at) < before)
        .where(col(WebhookMessageRow.id).not_in(pending))
        .order_by(col(WebhookMessageRow.created_at))
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    old = list(session.exec(statement))
    of_them = select(WebhookDeliveryRow.id).where(col(WebhookDeliveryRow.message_id).in_(old))
    session.exec(delete(WebhookAttemptRow).where(col(WebhookAttemptRow.delivery_id).in_(of_them)))
    session.exec(delete(WebhookDeliveryRow).where(col(WebhookDeliveryRow.message_id).in_(old)))
    session.exec(delete(WebhookMessageRow).where(col(WebhookMessageRow.id).in_(old)))
    return len(old)


def _secrets(webhook: WebhookRow, at: datetime) -> tuple[str, ...]:
    until = webhook.old_secret_until
    if webhook.old_secret is None or until is None or until <= at:
        return (webhook.secret,)
    return (webhook.secret, webhook.old_secret)


def _due(at: datetime) -> SelectOfScalar[WebhookDeliveryRow]:
    return (
        select(WebhookDeliveryRow)
        .join(WebhookRow)
        .where(
            WebhookDeliveryRow.state == DeliveryState.PENDING.value,
            col(WebhookDeliveryRow.next_at) <= at,
            col(WebhookRow.is_active),
        )
        .order_by(col(WebhookDeliveryRow.next_at), col(WebhookDeliveryRow.id))
        .limit(1)
    )


def _fail(session: Session, row: WebhookDeliveryRow, outcome: Outcome, at: datetime) -> None:
    # Not for secrets: it only spreads the attempts.
    row.next_at = None if outcome.is_gone else next_attempt(row.step, at, random.random() / 10)  # noqa: S311
    row.step += 1
    if row.next_at is None:
        row.state = DeliveryState.FAILED.value
    if outcome.is_gone:
        webhook = session.get_one(WebhookRow, row.webhook_id, with_for_update=True)
        webhook.is_active = False
        webhook.version += 1
        webhook.updated_at = at
