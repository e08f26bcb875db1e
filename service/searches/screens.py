"""What keeps parts from going together, as screens over the few slots that it looks at.

Each screen is filled in by the code that an assessment runs: the rule, the joint, the
interface. `tests/searches/test_screens.py` holds the two together over random catalogues.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations, product

import numpy as np

from service.catalog.interfaces import InterfaceKind
from service.catalog.parts import Part
from service.catalog.rules import RuleQuantity, RuleSeverity, Selector, ShopRule
from service.catalog.slots import Slot
from service.fitup.check import LOOKS_AT, PER_PART_RULES
from service.fitup.findings import Finding
from service.fitup.openings import joints, step_severity
from service.fitup.rules import QUANTITY_SLOTS, shop_rule_findings
from service.fitup.subject import FitSubject
from service.searches.joining import Allowed, Screen

SubjectOf = Callable[[Mapping[Slot, Part]], FitSubject]
"""Makes the subject of an assessment from a complete kit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What may be chosen from: the members of every slot, in a fixed order."""

    members: Mapping[Slot, tuple[Part, ...]]
    """At least one for each slot."""

    @property
    def slots(self) -> tuple[Slot, ...]:
        """Return the slots in the order of a row."""
        return tuple(self.members)

    @property
    def sizes(self) -> tuple[int, ...]:
        """Return how many members each slot has."""
        return tuple(len(parts) for parts in self.members.values())

    def parts_of(self, row: Sequence[int]) -> dict[Slot, Part]:
        """Return the parts that a row of members stands for."""
        return {
            slot: parts[member]
            for (slot, parts), member in zip(self.members.items(), row, strict=True)
        }

    def places(self, slots: Iterable[Slot]) -> tuple[int, ...]:
        """Return where slots stand in a row, in ascending order."""
        order = self.slots
        return tuple(sorted(order.index(slot) for slot in set(slots)))

    def cases(self, places: Sequence[int]) -> Iterator[tuple[tuple[int, ...], dict[Slot, Part]]]:
        """Yield every choice of the members of a few places, with its parts."""
        slots = [self.slots[place] for place in places]
        for index in product(*(range(self.sizes[place]) for place in places)):
            yield index, {s: self.members[s][i] for s, i in zip(slots, index, strict=True)}


def fit_screens(
    offer: Offer,
    subject_of: SubjectOf,
    rules: Sequence[ShopRule],
    supplies: Iterable[Part] = (),
) -> list[Screen]:
    """Return a screen for everything that blocks a kit, whatever power it makes."""
    adapters = [part for part in supplies if part.slot is Slot.ADAPTERS]
    return [
        *_part_screens(offer, subject_of),
        *_interface_screens(offer, subject_of, adapters),
        *_joint_screens(offer),
        *_rule_screens(offer, subject_of),
        *_shop_screens(offer, subject_of, rules),
    ]


def _part_screens(offer: Offer, subject_of: SubjectOf) -> list[Screen]:
    first = subject_of(offer.parts_of((0,) * len(offer.sizes)))
    found = []
    for place in range(len(offer.sizes)):
        blocked: defaultdict[str, list[int]] = defaultdict(list)
        for (member,), parts in offer.cases((place,)):
            alone = _holding(first, parts)
            for rule in PER_PART_RULES:
                for code in _blocking(rule(alone)):
                    blocked[code].append(member)
        found += [
            _without(code, (place,), offer.sizes, [(one,) for one in members])
            for code, members in blocked.items()
        ]
    return found


def _rule_screens(offer: Offer, subject_of: SubjectOf) -> list[Screen]:
    return [
        screen
        for rule, slots in LOOKS_AT.items()
        for screen in _evaluated(offer, subject_of, slots, rule)
    ]


def _shop_screens(offer: Offer, subject_of: SubjectOf, rules: Sequence[ShopRule]) -> list[Screen]:
    found = []
    for rule in rules:
        if rule.severity is RuleSeverity.BLOCKS:
            slots = slots_of(rule, offer)
            found += _evaluated(
                offer, subject_of, slots, partial(shop_rule_findings, rules=(rule,))
            )
    return found


def slots_of(rule: ShopRule, offer: Offer) -> set[Slot]:
    """Return which slots a rule of the shop looks at."""
    slots = {slot for each in (rule.when, rule.other) for slot in _selected(each, offer)}
    if isinstance(rule.quantity, RuleQuantity):
        slots |= set(QUANTITY_SLOTS[rule.quantity])
    return slots & offer.members.keys()


def _selected(selector: Selector | None, offer: Offer) -> set[Slot]:
    if selector is None:
        return set()
    if selector.skus:
        return {
            slot
            for slot, parts in offer.members.items()
            if any(part.sku in selector.skus for part in parts)
        }
    return set() if selector.slot is None else {selector.slot}


def _evaluated(
    offer: Offer,
    subject_of: SubjectOf,
    slots: Iterable[Slot],
    findings: Callable[[FitSubject], tuple[Finding, ...]],
) -> list[Screen]:
    """Return what blocks among all choices of a few slots, a screen for each code."""
    places = offer.places(slots)
    if not places:
        return []
    plain = offer.parts_of((0,) * len(offer.sizes))
    blocked: defaultdict[str, list[tuple[int, ...]]] = defaultdict(list)
    for index, parts in offer.cases(places):
        for code in _blocking(findings(subject_of({**plain, **parts}))):
            blocked[code].append(index)
    return [_without(code, places, offer.sizes, cases) for code, cases in blocked.items()]


def _joint_screens(offer: Offer) -> list[Screen]:
    """Screen the steps between openings: each is between two slots."""
    found = []
    for places in combinations(range(len(offer.sizes)), 2):
        blocked: defaultdict[str, list[tuple[int, ...]]] = defaultdict(list)
        for index, parts in offer.cases(places):
            for joint in joints(parts):
                if step_severity(joint) is RuleSeverity.BLOCKS:
                    blocked[joint.code].append(index)
        found += [_without(code, places, offer.sizes, cases) for code, cases in blocked.items()]
    return found


def _interface_screens(
    offer: Offer, subject_of: SubjectOf, adapters: Sequence[Part]
) -> list[Screen]:
    """Screen the needs: who asks for a joint must find another who offers it, or an adapter.

    The engine's own offers count for parts only, and no part closes its own need, as
    `fitup.changes.open_needs` has it; an adapter's needs are closed in the same way.
    """
    family = subject_of(offer.parts_of((0,) * len(offer.sizes))).family
    by_family = {(each.kind, each.code) for each in family.provides}
    found = []
    for need in family.needs:
        if not need.optional:
            wanted = (need.kind, need.code)
            found += _clause(offer, None, wanted, _ways(adapters, wanted, frozenset()))
    for place in range(len(offer.sizes)):
        asked = {
            (need.kind, need.code)
            for part in offer.members[offer.slots[place]]
            for need in part.needs
            if not need.optional
        }
        for wanted in sorted(asked - by_family):
            found += _clause(offer, place, wanted, _ways(adapters, wanted, by_family))
    return found


_Wanted = tuple[InterfaceKind, str]


def _ways(
    adapters: Iterable[Part], wanted: _Wanted, by_family: Collection[_Wanted]
) -> list[frozenset[_Wanted]]:
    """Return what has to be offered, all of it, for the need to be closed: itself, or by adapter.

    What the engine offers is there in any case.
    """
    return [
        frozenset({wanted}),
        *(
            frozenset((need.kind, need.code) for need in part.needs) - frozenset(by_family)
            for part in adapters
            if wanted in {(each.kind, each.code) for each in part.provides}
        ),
    ]


def _clause(
    offer: Offer, asking: int | None, need: _Wanted, ways: Sequence[frozenset[_Wanted]]
) -> list[Screen]:
    asks = {} if asking is None else {asking: _having(offer, asking, need, asked=True)}
    offers = {
        one: {
            place: having
            for place in range(len(offer.sizes))
            if place != asking and (having := _having(offer, place, one, asked=False)).any()
        }
        for one in frozenset().union(*ways)
    }
    # Where nobody at all can close a need of the engine, no kit goes together.
    places = tuple(sorted({*asks, *(p for by in offers.values() for p in by)})) or (0,)
    shape = [offer.sizes[place] for place in places]
    closed = np.zeros(shape, dtype=bool)
    for way in ways:
        open_ = np.ones(shape, dtype=bool)
        for one in way:
            met = np.zeros(shape, dtype=bool)
            for place, having in offers[one].items():
                met |= _along(having, places.index(place), len(places))
            open_ &= met
        closed |= open_
    for place, having in asks.items():
        closed |= ~_along(having, places.index(place), len(places))
    if closed.all():
        return []
    return [Screen(name=f"interface.{need[0].value}", places=places, allowed=closed)]


def _having(offer: Offer, place: int, wanted: tuple[InterfaceKind, str], *, asked: bool) -> Allowed:
    return np.array(
        [
            any(
                (each.kind, each.code) == wanted and not (asked and each.optional)
                for each in (part.needs if asked else part.provides)
            )
            for part in offer.members[offer.slots[place]]
        ]
    )


def _along(values: Allowed, axis: int, axes: int) -> Allowed:
    shape = [1] * axes
    shape[axis] = values.size
    return values.reshape(shape)


def _holding(subject: FitSubject, parts: Mapping[Slot, Part]) -> FitSubject:
    return replace(subject, parts=parts)


def _blocking(findings: Iterable[Finding]) -> set[str]:
    return {each.code for each in findings if each.severity is RuleSeverity.BLOCKS}


def _without(
    name: str, places: tuple[int, ...], sizes: Sequence[int], cases: Iterable[tuple[int, ...]]
) -> Screen:
    allowed = np.ones([sizes[place] for place in places], dtype=bool)
    for case in cases:
        allowed[case] = False
    return Screen(name=name, places=places, allowed=allowed)
