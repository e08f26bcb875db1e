"""How webhooks stand on the wire."""

from dataclasses import dataclass
from datetime import datetime

from service.quantities import EDGE_CONFIG
from service.webhooks.webhook import EventType, KeptSubscription


@dataclass(frozen=True, slots=True, kw_only=True)
class WebhookOut:
    """One subscription; its secret is told only when it is made."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    version: int
    """Also in the ETag."""
    url: str
    events: tuple[EventType, ...]
    is_active: bool
    note: str
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewWebhookOut(WebhookOut):
    """One subscription that was just made."""

    secret: str
    """Keep it: messages are verified with it, and it is never told again."""


def webhook_fields(kept: KeptSubscription) -> dict[str, object]:
    """Return what both shapes show of a subscription."""
    return {
        "id": kept.id,
        "version": kept.version,
        "url": kept.value.url,
        "events": kept.value.events,
        "is_active": kept.value.is_active,
        "note": kept.value.note,
        "created_at": kept.created_at,
        "updated_at": kept.updated_at,
    }
