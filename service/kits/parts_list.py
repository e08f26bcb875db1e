"""Everything that a kit takes to be bolted on, in the right number."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.catalog.supplies import (
    MachiningSpec,
)
from service.fitup.findings import Finding
from service.kits.kit import Kit
from service.kits.supplying import Wanted, adapters_wanted, wanted_items
from service.kits.views import fit_subject
from service.money import Price, price
from service.quantities import EDGE_CONFIG


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedPart:
    """One line of a parts list."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    sku: str
    title: str
    count: int
    needed_for: tuple[str, ...]
    price: Price | None
    """Of all of them together; null: prices were not asked for."""
    weight_g: int | None
    """Of all of them together; null: not recorded."""
    on_shelf: bool
    """Whether as many are in stock."""
    wait_days: int
    """Until as many are there; 0 where they, or what would do as well, are on the shelf."""
    instead: tuple[str, ...]
    """SKUs on the shelf that would do as well, where this one is not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingItem:
    """Something that the kit takes and the shop does not list."""

    __pydantic_config__ = EDGE_CONFIG

    what: str
    needed_for: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MachiningWork:
    """Work on parts before they go on."""

    __pydantic_config__ = EDGE_CONFIG

    finding: str
    """Code of the fit finding that asks for it."""
    sku: str
    title: str
    price: Price | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsList:
    """A kit with everything that it needs; parts that stay on the engine are not on it."""

    __pydantic_config__ = EDGE_CONFIG

    lines: tuple[ListedPart, ...]
    missing: tuple[MissingItem, ...]
    machining: tuple[MachiningWork, ...]
    wait_days: int
    """Until everything that is listed is there."""
    weight_g: int
    weight_complete: bool
    """Whether every line has a weight."""
    totals: tuple[Price, ...]
    """Parts and machining, one for each currency; empty where prices were not asked for."""


def parts_list(kit: Kit, supplies: Sequence[Part], findings: Iterable[Finding]) -> PartsList:
    """Return the parts that change and what they are bolted on with."""
    priced = kit.request.include_prices
    wanted = tuple(wanted_items(kit, supplies))
    lines = tuple(_line(group, priced=priced) for group in _merged(wanted))
    work = machining_work(supplies, findings, priced=priced)
    return PartsList(
        lines=tuple(sorted(lines, key=lambda line: (list(Slot).index(line.slot), line.sku))),
        missing=tuple(
            MissingItem(what=each.what, needed_for=each.purpose)
            for each in wanted
            if not each.choice
        ),
        machining=work,
        wait_days=max((line.wait_days for line in lines), default=0),
        weight_g=sum(line.weight_g or 0 for line in lines),
        weight_complete=all(line.weight_g is not None for line in lines),
        totals=_totals((*lines, *work)),
    )


def adapters_listed(kit: Kit, supplies: Sequence[Part]) -> tuple[ListedPart, ...]:
    """Return the adapters of a kit alone, priced."""
    wanted = adapters_wanted(fit_subject(kit), supplies)
    return tuple(_line(group, priced=True) for group in _merged(wanted))


def _merged(wanted: Iterable[Wanted]) -> tuple[tuple[Wanted, ...], ...]:
    """Return what resolves to the same article together."""
    merged: dict[str, list[Wanted]] = defaultdict(list)
    for each in wanted:
        if each.choice:
            merged[each.choice[0].sku].append(each)
    return tuple(map(tuple, merged.values()))


def machining_work(
    supplies: Iterable[Part], findings: Iterable[Finding], *, priced: bool
) -> tuple[MachiningWork, ...]:
    """Return the shop's work that findings ask for, by their codes, once each."""
    offered = {part.spec.finding: part for part in supplies if isinstance(part.spec, MachiningSpec)}
    return tuple(
        MachiningWork(
            finding=code,
            sku=offered[code].sku,
            title=offered[code].title,
            price=price(offered[code].price_cents, offered[code].currency) if priced else None,
        )
        for code in sorted({finding.code for finding in findings} & offered.keys())
    )


def _line(group: Sequence[Wanted], *, priced: bool) -> ListedPart:
    part, count = group[0].choice[0], sum(each.count for each in group)
    held = part.stock_count >= count
    others = [set(each.choice[1:]) for each in group]
    instead = [one for one in group[0].choice[1:] if all(one in other for other in others)]
    ready = [one for one in instead if one.stock_count >= count]
    return ListedPart(
        slot=part.slot,
        sku=part.sku,
        title=part.title,
        count=count,
        needed_for=tuple(dict.fromkeys(each.purpose for each in group)),
        price=price(part.price_cents * count, part.currency) if priced else None,
        weight_g=part.weight_g * count or None,
        on_shelf=held,
        wait_days=0 if held or ready else min(one.lead_time_days for one in (part, *instead)),
        instead=() if held else tuple(sorted(one.sku for one in ready)),
    )


def _totals(priced: Iterable[ListedPart | MachiningWork]) -> tuple[Price, ...]:
    cents: defaultdict[str, int] = defaultdict(int)
    for each in priced:
        if each.price is not None:
            cents[each.price.currency] += each.price.cents
    return tuple(price(total, currency) for currency, total in sorted(cents.items()))
