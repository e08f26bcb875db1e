"""Adapters of the shop: what stands between a part and an interface that is not offered."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.catalog.supplies import AdaptersSpec
from service.fitup.changes import OpenNeed, offers, open_needs


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridged:
    """A need that nothing in the kit meets and an adapter does."""

    open_need: OpenNeed
    adapters: tuple[Part, ...]
    """Those that would do, the cheapest first."""


def bridged_needs(
    family: EngineFamily, parts: Mapping[Slot, Part], supplies: Iterable[Part]
) -> tuple[Bridged, ...]:
    """Return the open needs that one adapter closes; one that may stay open needs none."""
    stock = [part for part in supplies if isinstance(part.spec, AdaptersSpec)]
    found = (
        Bridged(open_need=one, adapters=_closing(family, parts, one, stock))
        for one in open_needs(family, parts)
        if not one.need.optional
    )
    return tuple(each for each in found if each.adapters)


def _closing(
    family: EngineFamily, parts: Mapping[Slot, Part], one: OpenNeed, stock: Iterable[Part]
) -> tuple[Part, ...]:
    offered = {(o.kind, o.code) for o in offers(family, parts, but_not=one.owner)}
    closing = (
        part
        for part in stock
        if (one.need.kind, one.need.code) in {(o.kind, o.code) for o in part.provides}
        and {(n.kind, n.code) for n in part.needs} <= offered
    )
    return tuple(sorted(closing, key=lambda part: (part.price_cents, part.sku)))
