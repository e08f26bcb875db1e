"""Block 1: what the outside looks like. For the owner's interest; evidence of nothing."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import StrEnum

from service.catalog.appearance import FactoryTrait, Trait, TraitDifference
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot
from service.compliance.application import ALTERED
from service.quantities import EDGE_CONFIG, Name, Text

CAUTION = (
    "Appearance is reported for the owner's interest. It says nothing about emissions, papers "
    "or inspection: a device that is present and connected may still be disabled."
)


class Look(StrEnum):
    """How the outside compares with the factory's."""

    AS_STOCK = "as_stock"
    DIFFERS = "differs"
    NOT_ASSESSED = "not_assessed"


class KeepsStockExterior(StrEnum):
    """The same, as an answer to a question."""

    YES = "yes"
    NO = "no"
    NOT_ASSESSED = "not_assessed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLook:
    """How one part compares."""

    __pydantic_config__ = EDGE_CONFIG

    sku: Name
    look: Look
    differences: tuple[TraitDifference, ...] = ()
    internal_change: Text | None = None
    """A declared change that cannot be seen; it alters no word of this block."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenDifference:
    """What differs in one trait of one part, and where one has to stand to see it."""

    __pydantic_config__ = EDGE_CONFIG

    sku: Name
    what: Text
    seen_from: Text


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitLook:
    """One visible trait of the whole kit."""

    __pydantic_config__ = EDGE_CONFIG

    trait: Trait
    look: Look
    by_parts: tuple[Name, ...] = ()
    """SKUs of the parts that differ, or that nobody assessed."""
    factory: Text | None = None
    """The family's description of it when new; None: nobody described it."""
    differences: tuple[SeenDifference, ...] = ()
    """What differs, by part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AppearanceBlock:
    """Block 1 of the report."""

    __pydantic_config__ = EDGE_CONFIG

    look: Look
    keeps_stock_exterior: KeepsStockExterior
    parts: tuple[PartLook, ...]
    traits: tuple[TraitLook, ...] = ()
    """Every trait, in the order of the list."""
    caution: Text = CAUTION


_ANSWERS = {
    Look.AS_STOCK: KeepsStockExterior.YES,
    Look.DIFFERS: KeepsStockExterior.NO,
    Look.NOT_ASSESSED: KeepsStockExterior.NOT_ASSESSED,
}


_MANIFOLDS = frozenset({Slot.INTAKE_MANIFOLD, Slot.EXHAUST_MANIFOLD})
_CASTINGS = _MANIFOLDS | {Slot.THROTTLE_BODY, Slot.CYLINDER_HEADS}
_INTAKE = frozenset({Slot.AIR_INLET, Slot.THROTTLE_BODY, Slot.INTAKE_MANIFOLD})
_OUTSIDE = frozenset(KIT_SLOTS) - {Slot.CAMSHAFT, Slot.CALIBRATION}
_SHOWN_BY = {
    Trait.CASTING_OUTLINE: _CASTINGS,
    Trait.FINISH: _OUTSIDE,
    Trait.VISIBLE_WELDS: _OUTSIDE,
    Trait.RUNNER_SHAPE: _MANIFOLDS,
    Trait.PLENUM_SHAPE: frozenset({Slot.INTAKE_MANIFOLD}),
    Trait.THROTTLE_SIZE: frozenset({Slot.THROTTLE_BODY}),
    Trait.FASTENERS: _OUTSIDE,
    Trait.HOSES: _INTAKE,
    Trait.BRACKETS: _OUTSIDE,
    Trait.LABELS: _OUTSIDE,
    Trait.AIR_INLET: frozenset({Slot.AIR_INLET}),
    Trait.EXHAUST: frozenset({Slot.EXHAUST_MANIFOLD, Slot.EXHAUST_SYSTEM}),
}
"""Slots on which a trait shows; common practice, no source."""


def appearance_block(
    parts: Iterable[Part],
    factory: Iterable[FactoryTrait] = (),
    slots_cut: Collection[Slot] = (),
) -> AppearanceBlock:
    """Return how the parts look, by SKU. One part that differs makes the kit differ.

    What was cut on this engine is told beside it as a change inside, and alters no look.
    """
    kit = sorted(parts, key=lambda part: part.sku)
    looks = tuple(_part_look(part, slots_cut) for part in kit)
    described = {one.trait: one.description for one in factory}
    seen = {one.look for one in looks}
    if Look.DIFFERS in seen:
        look = Look.DIFFERS
    else:
        look = Look.AS_STOCK if seen == {Look.AS_STOCK} else Look.NOT_ASSESSED
    return AppearanceBlock(
        look=look,
        keeps_stock_exterior=_ANSWERS[look],
        parts=looks,
        traits=tuple(_trait_look(trait, kit, described.get(trait)) for trait in Trait),
    )


def _trait_look(trait: Trait, kit: Iterable[Part], factory: str | None) -> TraitLook:
    shows = [part for part in kit if part.slot in _SHOWN_BY[trait] or _differs(part, trait)]
    differing = [part.sku for part in shows if _differs(part, trait)]
    unseen = [part.sku for part in shows if not (part.exterior.assessed or part.factory_part)]
    if differing:
        look, by_parts = Look.DIFFERS, differing
    elif unseen or not shows:
        look, by_parts = Look.NOT_ASSESSED, unseen
    else:
        look, by_parts = Look.AS_STOCK, []
    return TraitLook(
        trait=trait,
        look=look,
        by_parts=tuple(by_parts),
        factory=factory,
        differences=tuple(
            SeenDifference(sku=part.sku, what=one.what, seen_from=one.seen_from)
            for part in shows
            for one in part.exterior.differences
            if one.trait is trait
        ),
    )


def _differs(part: Part, trait: Trait) -> bool:
    return any(difference.trait is trait for difference in part.exterior.differences)


def _part_look(part: Part, slots_cut: Collection[Slot]) -> PartLook:
    exterior = part.exterior
    declared = exterior.internal_change
    if declared is None and part.slot in slots_cut:
        declared = ALTERED
    if exterior.differences:
        look = Look.DIFFERS
    elif exterior.assessed or part.factory_part:
        look = Look.AS_STOCK
    else:
        look = Look.NOT_ASSESSED
    return PartLook(
        sku=part.sku,
        look=look,
        differences=exterior.differences,
        internal_change=declared,
    )
