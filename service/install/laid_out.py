"""Everything that is laid out before the engine is opened, and what of it is missing."""

from dataclasses import dataclass

from service.catalog.slots import Slot
from service.kits.parts_list import PartsList
from service.quantities import EDGE_CONFIG, Count, Name, Text


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOut:
    """One line of the parts list, without its price."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    sku: Name
    title: Name
    count: Count
    needed_for: Text
    instead: tuple[Name, ...]
    """SKUs on the shelf that would do as well, where this one is not."""
    on_shelf: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LayOut:
    """The complete parts list as a mechanic needs it."""

    __pydantic_config__ = EDGE_CONFIG

    lines: tuple[LaidOut, ...] = ()
    missing: tuple[Text, ...] = ()
    """What the kit takes and the shop does not list."""
    machining: tuple[Text, ...] = ()
    """Work on parts before they go on."""


def laid_out(parts: PartsList) -> LayOut:
    """Return the lines of a parts list, what is missing, and the machining before."""
    return LayOut(
        lines=tuple(
            LaidOut(
                slot=line.slot,
                sku=line.sku,
                title=line.title,
                count=line.count,
                needed_for="; ".join(line.needed_for),
                instead=line.instead,
                on_shelf=line.on_shelf,
            )
            for line in parts.lines
        ),
        missing=tuple(f"{one.what}, for {one.needed_for}" for one in parts.missing),
        machining=tuple(f"{one.title} ({one.sku})" for one in parts.machining),
    )
