"""What a kit costs and when it can leave the shop."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.kits.kit import Kit
from service.money import Price, price
from service.quantities import EDGE_CONFIG


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLine:
    """One part that has to be bought."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    sku: str
    price: Price


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBlock:
    """The parts that change; factory parts that stay on the engine cost nothing."""

    __pydantic_config__ = EDGE_CONFIG

    lines: tuple[PriceLine, ...]
    totals: tuple[Price, ...]
    """One for each currency: amounts of different currencies are never added."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadTime:
    """How long until every part is there."""

    __pydantic_config__ = EDGE_CONFIG

    days: int
    """0 where everything is on the shelf. [d]"""
    waiting_for: tuple[str, ...]
    """SKUs that are not on the shelf."""


def price_block(parts: Mapping[Slot, Part], bought: Collection[Slot]) -> PriceBlock:
    """Return what the parts that are bought cost."""
    lines = tuple(
        PriceLine(slot=slot, sku=part.sku, price=price(part.price_cents, part.currency))
        for slot, part in parts.items()
        if slot in bought
    )
    cents: defaultdict[str, int] = defaultdict(int)
    for slot in bought:
        cents[parts[slot].currency] += parts[slot].price_cents
    totals = tuple(price(total, currency) for currency, total in sorted(cents.items()))
    return PriceBlock(lines=lines, totals=totals)


def lead_time(kit: Kit) -> LeadTime:
    """Return the longest wait among the changed parts that are not on the shelf."""
    missing = [kit.parts[slot] for slot in kit.chosen if kit.parts[slot].stock_count == 0]
    return LeadTime(
        days=max((part.lead_time_days for part in missing), default=0),
        waiting_for=tuple(part.sku for part in missing),
    )
