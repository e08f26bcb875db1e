"""The fewest parts to swap so that one obstacle goes and no other comes.

An obstacle is an interface that finds no partner, or a step between two openings that
blocks. The search goes one swap, two swaps, three; within a count the lowest price wins.
Every set of swaps that closes a need holds one part that closes it alone (it offers what
was missing, or no longer asks for it), so that only such parts are tried, and then what
they open is ended in the same way. A step may want both of its sides swapped.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from service.catalog.families import EngineFamily
from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part, PartStatus
from service.catalog.rules import RuleSeverity
from service.catalog.slots import KIT_SLOTS, Slot
from service.fitup.openings import joints, step_severity

MOST_SWAPS = 3
"""A change of more parts than this is another kit."""

Alternatives = Mapping[Slot, tuple[Part, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenNeed:
    """An interface that nobody else in the kit offers."""

    owner: Slot | None
    """Slot of the part that asks; None: the engine or the vehicle."""
    need: Interface


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """What stands in the way, and which swaps could end it."""

    key: str
    slots: frozenset[Slot]
    """Swapping the part of one of these may end it."""
    missing: tuple[InterfaceKind, str] | None = None
    """A part that offers this ends it too, whatever its slot."""


def open_needs(family: EngineFamily, parts: Mapping[Slot, Part]) -> tuple[OpenNeed, ...]:
    """Return the needs without a partner, the engine's first, then by slot."""
    asking: list[tuple[Slot | None, tuple[Interface, ...]]] = [(None, family.needs)]
    asking += [(slot, parts[slot].needs) for slot in KIT_SLOTS if slot in parts]
    return tuple(
        OpenNeed(owner=owner, need=need)
        for owner, needs in asking
        for need in needs
        if not any(
            offer.kind is need.kind and offer.code == need.code
            for offer in offers(family, parts, but_not=owner)
        )
    )


def offers(
    family: EngineFamily, parts: Mapping[Slot, Part], *, but_not: Slot | None
) -> Iterator[Interface]:
    """Yield what all others offer: no part closes its own need, nor does the engine."""
    if but_not is not None:
        yield from family.provides
    for slot, part in parts.items():
        if slot is not but_not:
            yield from part.provides


def need_key(open_need: OpenNeed) -> str:
    """Return the name under which an open need is an obstacle."""
    owner = open_need.owner or "engine"
    return f"{owner} needs {open_need.need.kind} {open_need.need.code}"


def obstacles(family: EngineFamily, parts: Mapping[Slot, Part]) -> dict[str, Obstacle]:
    """Return everything that keeps the kit from going together, by key."""
    found = [
        Obstacle(
            key=need_key(one),
            slots=frozenset({one.owner} if one.owner else ()),
            missing=(one.need.kind, one.need.code),
        )
        for one in open_needs(family, parts)
        if not one.need.optional
    ]
    found += [
        Obstacle(key=joint.code, slots=frozenset({joint.upstream_slot, joint.downstream_slot}))
        for joint in joints(parts)
        if step_severity(joint) is RuleSeverity.BLOCKS
    ]
    return {obstacle.key: obstacle for obstacle in found}


def smallest_change(
    family: EngineFamily, parts: Mapping[Slot, Part], alternatives: Alternatives, target: str
) -> tuple[Part, ...] | None:
    """Return the fewest, then cheapest, parts that end the obstacle `target`; None: none do."""
    before = obstacles(family, parts)
    if target not in before:
        return None
    search = _Search(
        family=family,
        alternatives=_usable(family, alternatives),
        accepted=frozenset(before) - {target},
    )
    for depth in range(1, MOST_SWAPS + 1):
        found = list(search.changes(dict(parts), (), before[target], depth))
        if found:
            return min(found, key=_effort)
    return None


def change_in_words(change: tuple[Part, ...]) -> str:
    """Return the sentence that tells the builder what to swap."""
    swaps = " and ".join(
        f"the {part.slot.value.replace('_', ' ')} for {part.sku}" for part in change
    )
    return f"Swap {swaps}."


def _usable(family: EngineFamily, alternatives: Alternatives) -> Alternatives:
    return {
        slot: tuple(
            part
            for part in alternatives[slot]
            if family.key in part.families and part.status is PartStatus.CURRENT
        )
        for slot in KIT_SLOTS
        if slot in alternatives
    }


def _effort(change: tuple[Part, ...]) -> tuple[int, tuple[str, ...]]:
    return sum(part.price_cents for part in change), tuple(part.sku for part in change)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Search:
    family: EngineFamily
    alternatives: Alternatives
    accepted: frozenset[str]

    def changes(
        self, parts: dict[Slot, Part], swapped: tuple[Part, ...], focus: Obstacle, depth: int
    ) -> Iterator[tuple[Part, ...]]:
        """Yield the sets of at most `depth` more swaps that leave only accepted obstacles."""
        for part in self._candidates(parts, swapped, focus):
            tried = parts | {part.slot: part}
            after = obstacles(self.family, tried)
            change = tuple(sorted((*swapped, part), key=lambda one: one.sku))
            if focus.key in after:
                if focus.missing is None and depth > 1:
                    yield from self.changes(tried, change, focus, depth - 1)
                continue
            opened = [obstacle for key, obstacle in after.items() if key not in self.accepted]
            if not opened:
                yield change
            elif depth > 1:
                yield from self.changes(tried, change, opened[0], depth - 1)

    def _candidates(
        self, parts: Mapping[Slot, Part], swapped: tuple[Part, ...], focus: Obstacle
    ) -> Iterator[Part]:
        taken = {part.slot for part in swapped}
        for slot, choice in self.alternatives.items():
            if slot in taken:
                continue
            for part in choice:
                if slot in parts and part.sku == parts[slot].sku:
                    continue
                if slot in focus.slots or _offers(part, focus.missing):
                    yield part


def _offers(part: Part, missing: tuple[InterfaceKind, str] | None) -> bool:
    return missing is not None and any(
        (offer.kind, offer.code) == missing for offer in part.provides
    )
