"""How webhooks are kept: who wants what, what there was to tell, and how each telling went."""

from datetime import datetime

from sqlalchemy import Index, LargeBinary
from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime


class WebhookRow(SQLModel, table=True):
    """One subscription."""

    __tablename__ = "webhook"

    id: int | None = Field(default=None, primary_key=True)
    version: int = 1
    url: str = Field(max_length=500)
    events: list[str] = Field(sa_type=JSON_VALUE)
    is_active: bool
    note: str
    secret: str = Field(max_length=120)
    old_secret: str | None = Field(default=None, max_length=120)
    """The one before, which messages are signed with too until its time is over."""
    old_secret_until: datetime | None = Field(default=None, sa_type=UtcDateTime)
    created_at: datetime = Field(sa_type=UtcDateTime)
    updated_at: datetime = Field(sa_type=UtcDateTime)


class WebhookMessageRow(SQLModel, table=True):
    """One thing to tell: the bytes that every receiver gets."""

    __tablename__ = "webhook_message"

    id: str = Field(primary_key=True, max_length=40)
    event: str = Field(max_length=60)
    body: bytes = Field(sa_type=LargeBinary)
    created_at: datetime = Field(index=True, sa_type=UtcDateTime)


class WebhookDeliveryRow(SQLModel, table=True):
    """One message on its way to one receiver."""

    __tablename__ = "webhook_delivery"
    __table_args__ = (Index(None, "state", "next_at"), Index(None, "webhook_id", "id"))

    id: int | None = Field(default=None, primary_key=True)
    webhook_id: int = Field(foreign_key="webhook.id")
    message_id: str = Field(index=True, foreign_key="webhook_message.id", max_length=40)
    state: str = Field(max_length=20)
    attempts: int = 0
    step: int = 0
    """Failures since it was last sent on its way."""
    next_at: datetime | None = Field(sa_type=UtcDateTime)
    """While an attempt is made: when it counts as lost with the process that made it."""
    created_at: datetime = Field(sa_type=UtcDateTime)


class WebhookAttemptRow(SQLModel, table=True):
    """One try to deliver."""

    __tablename__ = "webhook_attempt"

    delivery_id: int = Field(primary_key=True, foreign_key="webhook_delivery.id")
    number: int = Field(primary_key=True)
    at: datetime = Field(sa_type=UtcDateTime)
    status: int | None
    detail: str = Field(max_length=200)
    duration_ms: int
