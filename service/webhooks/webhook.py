"""What a receiver asks to be told, and how each telling of it went.

A message is kept in the transaction of what it tells of, and sent afterwards, at least
once, in no promised order; the receiver knows a repeat by its `webhook-id`.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Annotated

from annotated_types import MaxLen, MinLen

from service.errors import Conflict, NotFound
from service.quantities import EDGE_CONFIG, STRICT, Flag, Text

RETRY_AFTER = tuple(
    timedelta(seconds=seconds)
    for seconds in (5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400)
)
"""From one attempt to the next: the example of Standard Webhooks 1.0.0, some three days."""
LONGEST_URL = 500
LONGEST_OVERLAP_H = 168


class EventType(StrEnum):
    """What can be told."""

    QUOTE_CREATED = "quote.created"
    QUOTE_EDITED = "quote.edited"
    QUOTE_USE_DECLARED = "quote.use_declared"
    QUOTE_FINDING_OVERRIDDEN = "quote.finding_overridden"
    QUOTE_ISSUED = "quote.issued"
    QUOTE_ACCEPTED = "quote.accepted"
    QUOTE_DECLINED = "quote.declined"
    QUOTE_EXPIRED = "quote.expired"
    QUOTE_REVISED = "quote.revised"
    QUOTE_DRAFT_DISCARDED = "quote.draft_discarded"


class DeliveryState(StrEnum):
    """Where the telling of one message stands."""

    PENDING = "pending"
    """Not sent yet, or to be sent again."""
    DELIVERED = "delivered"
    FAILED = "failed"
    """Given up; it can be replayed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subscription:
    """Who wants to be told what."""

    __pydantic_config__ = EDGE_CONFIG

    url: Annotated[str, STRICT, MinLen(1), MaxLen(LONGEST_URL)]
    """Where to: https, at a public address."""
    events: Annotated[tuple[EventType, ...], MinLen(1)]
    is_active: Flag = True
    """Nothing is sent while false; what waits is sent once it is true again."""
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSubscription:
    """A subscription as it is kept."""

    id: int
    version: int
    value: Subscription
    secret: str
    old_secret_until: datetime | None
    """Until then messages are signed with the secret before too."""
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One try to deliver."""

    __pydantic_config__ = EDGE_CONFIG

    number: int
    at: datetime
    status: int | None
    """What the receiver answered; null: nothing that could be read."""
    detail: str
    duration_ms: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """One message on its way to one receiver."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    message_id: str
    """Sent as `webhook-id`, the same in every attempt and replay."""
    event: EventType
    state: DeliveryState
    attempt_count: int
    next_at: datetime | None
    """When it is tried next; null: not again by itself."""
    created_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryLog:
    """A delivery with what was sent and how each attempt went."""

    __pydantic_config__ = EDGE_CONFIG

    delivery: Delivery
    body: str
    """Exactly what is sent."""
    attempts: tuple[Attempt, ...] = field(default=())


class SubscriptionNotFound(NotFound):
    """No subscription has this number."""

    def __init__(self, subscription_id: int) -> None:
        super().__init__(f"There is no webhook {subscription_id}.")


class DeliveryNotFound(NotFound):
    """A subscription has no such delivery."""

    def __init__(self, subscription_id: int, delivery_id: int) -> None:
        super().__init__(f"Webhook {subscription_id} has no delivery {delivery_id}.")


class StillOnItsWay(Conflict):
    """A delivery that is still tried needs no replay."""

    def __init__(self) -> None:
        super().__init__("This delivery is still being tried; replay it when that is over.")


def next_attempt(step: int, at: datetime, jitter: float) -> datetime | None:
    """Return when to try again after a failure, or nothing when it is time to give up.

    Parameters
    ----------
    step
        Failures before this one, 0 for the first.
    at
        Moment of the failure.
    jitter
        Share of the delay that is added, 0 to 1, so that receivers are not met all at once.
    """
    if step >= len(RETRY_AFTER):
        return None
    return at + RETRY_AFTER[step] * (1 + jitter)
