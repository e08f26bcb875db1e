"""How webhooks stand on the wire."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from annotated_types import Ge, Le

from service.quantities import EDGE_CONFIG, STRICT
from service.webhooks.webhook import LONGEST_OVERLAP_H, EventType, KeptSubscription


@dataclass(frozen=True, slots=True, kw_only=True)
class SecretIn:
    """To replace the secret of a webhook."""

    __pydantic_config__ = EDGE_CONFIG

    overlap_hours: Annotated[int, STRICT, Ge(0), Le(LONGEST_OVERLAP_H)] = 24
    """How long messages are signed with the secret before too; 0 where others know it. [h]"""


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
    old_secret_until: datetime | None
    """Until then messages have a second signature, with the secret before; null: with none."""
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class NewWebhookOut(WebhookOut):
    """One subscription whose secret was just made."""

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
        "old_secret_until": kept.old_secret_until,
        "created_at": kept.created_at,
        "updated_at": kept.updated_at,
    }
