"""Block 1: what the outside looks like. For the owner's interest; evidence of nothing."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from service.catalog.appearance import TraitDifference
from service.catalog.parts import Part
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
class AppearanceBlock:
    """Block 1 of the report."""

    __pydantic_config__ = EDGE_CONFIG

    look: Look
    keeps_stock_exterior: KeepsStockExterior
    parts: tuple[PartLook, ...]
    caution: Text = CAUTION


_ANSWERS = {
    Look.AS_STOCK: KeepsStockExterior.YES,
    Look.DIFFERS: KeepsStockExterior.NO,
    Look.NOT_ASSESSED: KeepsStockExterior.NOT_ASSESSED,
}


def appearance_block(parts: Iterable[Part]) -> AppearanceBlock:
    """Return how the parts look, by SKU. One part that differs makes the kit differ."""
    looks = tuple(_part_look(part) for part in sorted(parts, key=lambda part: part.sku))
    seen = {one.look for one in looks}
    if Look.DIFFERS in seen:
        look = Look.DIFFERS
    else:
        look = Look.AS_STOCK if seen == {Look.AS_STOCK} else Look.NOT_ASSESSED
    return AppearanceBlock(look=look, keeps_stock_exterior=_ANSWERS[look], parts=looks)


def _part_look(part: Part) -> PartLook:
    exterior = part.exterior
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
        internal_change=exterior.internal_change,
    )
