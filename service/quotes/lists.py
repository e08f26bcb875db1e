"""What a caller may ask the list of quotes for, and what it shows of each."""

from dataclasses import dataclass
from datetime import date, datetime

from service.quotes.quote import QuoteState


def folded(text: str) -> str:
    """Return a text as it is looked for: in any case, with any space between words."""
    return " ".join(text.casefold().split())


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteFilter:
    """Which quotes are wanted; what is not said does not matter."""

    state: QuoteState | None = None
    customer_reference: str | None = None
    """A piece of it, in any case; the name too."""
    customer_name: str | None = None
    part: str | None = None
    created_from: date | None = None
    created_to: date | None = None
    time_zone: str = "UTC"
    """In which these are days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteSummary:
    """One quote in a list."""

    id: int
    state: QuoteState
    revision: int
    customer_reference: str
    customer_name: str
    valid_until: date
    currency: str
    total_cents: int
    created_at: datetime
    updated_at: datetime
