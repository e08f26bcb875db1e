"""What a search of quotes asks for, read from the address of a page."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.quantities import EDGE_CONFIG, IsoDate
from service.quotes.quote import QuoteState


@dataclass(frozen=True, slots=True, kw_only=True)
class Days:
    """When quotes were begun; both days are taken with."""

    __pydantic_config__ = EDGE_CONFIG

    created_from: IsoDate | None = None
    created_to: IsoDate | None = None


def told(address: Mapping[str, str], name: str) -> str | None:
    """Return what stands in a field, or nothing where it was left empty."""
    return address.get(name, "").strip() or None


def state_of(address: Mapping[str, str]) -> QuoteState | None:
    """Return where quotes have to stand; nothing: anywhere."""
    state = address.get("state")
    return QuoteState(state) if state in set(QuoteState) else None
