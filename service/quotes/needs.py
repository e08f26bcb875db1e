"""What a kit takes beside its own parts: supplies that are charged, and what nobody priced."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.slots import SUPPLY_SLOTS
from service.fitup.changes import Alternatives
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.kits.kit import Kit
from service.kits.parts_list import ListedPart, MissingItem, parts_list
from service.kits.views import fit_subject
from service.quotes.content import ChargedKind, QuoteContent, QuoteLine

Listed = Callable[[str], bool]
"""Whether the price list prices an article."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KitNeeds:
    """Of one kit on one engine; a draft and its issue are priced by the same."""

    findings: tuple[Finding, ...] = ()
    """Whatever power it makes: a draft is priced before anything is simulated."""
    supplies: tuple[ListedPart, ...] = ()
    parts: Mapping[str, Part] = field(default_factory=dict)
    """The articles of `supplies`, by SKU."""
    missing: tuple[MissingItem, ...] = ()
    """What the kit takes and the shop does not list."""


def needs_of(
    kit: Kit, rules: tuple[ShopRule, ...], alternatives: Alternatives, supplies: tuple[Part, ...]
) -> KitNeeds:
    """Return what a kit asks for, by the checks and the parts list of its assessment."""
    findings = fit_findings(fit_subject(kit), rules, alternatives, None, supplies)
    listed = parts_list(kit, supplies, findings)
    lines = tuple(line for line in listed.lines if line.slot in SUPPLY_SLOTS)
    skus = {line.sku for line in lines}
    return KitNeeds(
        findings=findings,
        supplies=lines,
        parts={part.sku: part for part in supplies if part.sku in skus},
        missing=listed.missing,
    )


def supply_lines(content: QuoteContent, needs: KitNeeds, listed: Listed) -> Iterator[QuoteLine]:
    """Yield the supplies that have a price and that no line of the desk names."""
    for line, is_priced in _not_named(content, needs, listed):
        if is_priced:
            yield QuoteLine(
                kind=ChargedKind.PART,
                sku=line.sku,
                quantity=str(line.count),
                note=f"For {', '.join(line.needed_for)}.",
            )


def not_priced(content: QuoteContent, needs: KitNeeds, listed: Listed) -> Iterator[str]:
    """Yield what the kit takes and the quote does not charge, for want of a price."""
    for line, is_priced in _not_named(content, needs, listed):
        if not is_priced:
            yield (
                f"{line.count} {line.title} ({line.sku}), for {', '.join(line.needed_for)}: no "
                f"price in {content.currency} on record"
            )
    for item in needs.missing:
        yield f"{item.what}, for {item.needed_for}: not in the catalogue"


def _not_named(
    content: QuoteContent, needs: KitNeeds, listed: Listed
) -> Iterator[tuple[ListedPart, bool]]:
    named = {line.sku for line in content.lines}
    for line in needs.supplies:
        part = needs.parts[line.sku]
        known = part.price_cents > 0 and part.currency == content.currency
        if line.sku not in named:
            yield line, known or listed(line.sku)
