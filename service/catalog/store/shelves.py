"""What stands on record of a family, held for as long as the catalogue stands still."""

from collections import OrderedDict, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlmodel import Session

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.slots import Slot
from service.catalog.store.families import load_family
from service.catalog.store.lists import find_rules
from service.catalog.store.parts import find_family_parts, find_family_supplies

FAMILIES_AT_HAND = 8
"""Each has some hundred parts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What stands on record of a family; good for one revision of the catalogue."""

    family: EngineFamily
    parts: Mapping[str, Part]
    """The current parts that are listed for it and go into a kit, by SKU."""
    by_slot: Mapping[Slot, tuple[Part, ...]]
    supplies: tuple[Part, ...]
    """What a kit for it is bolted on with, by SKU."""
    rules: tuple[ShopRule, ...]


@dataclass(frozen=True, slots=True)
class Shelves:
    """Shelves of one database; reading one takes longer than all other look-ups together."""

    held: OrderedDict[tuple[int, str], Shelf] = field(default_factory=OrderedDict, repr=False)
    """By revision and family, oldest first."""

    def take(self, session: Session, family: str, revision: int) -> Shelf:
        """Return a family's shelf at this revision, which has to be the session's.

        Raises `FamilyNotFound`.
        """
        key = revision, family
        found = self.held.get(key)
        if found is None:
            found = self.held[key] = read_shelf(session, family)
            if len(self.held) > FAMILIES_AT_HAND:
                self.held.popitem(last=False)
        return found


def read_shelf(session: Session, family: str) -> Shelf:
    """Return a family's shelf as it is now. Raises `FamilyNotFound`."""
    known = load_family(session, family).value
    parts = [stored.value for stored in find_family_parts(session, family)]
    by_slot: defaultdict[Slot, list[Part]] = defaultdict(list)
    for part in parts:
        by_slot[part.slot].append(part)
    return Shelf(
        family=known,
        parts={part.sku: part for part in parts},
        by_slot={slot: tuple(members) for slot, members in by_slot.items()},
        supplies=tuple(stored.value for stored in find_family_supplies(session, family)),
        rules=tuple(stored.value for stored in find_rules(session)),
    )
