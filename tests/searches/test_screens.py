"""What a search holds apart is what an assessment finds, on kits drawn from the demo."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.slots import KIT_SLOTS, Slot, UseClass
from service.fitup.check import BUILT_IN_RULES, LOOKS_AT, PER_PART_RULES, fit_findings
from service.fitup.machined import BankAsMachined, EngineAsMachined
from service.fitup.rules import every_required_slot_is_filled
from service.fitup.spans import Span
from service.fitup.subject import FitSubject
from service.kits.kit import EngineAsItStands, Kit
from service.kits.views import fit_subject
from service.searches.field import kit_with
from service.searches.joining import listing, passes, passing_count
from service.searches.screens import Offer, fit_screens
from tests.kits.assembled import around, assembled, supplies
from tests.seed import FAMILIES, of, shop_rules

DRAWN = 250

CUT = EngineAsMachined(right=BankAsMachined(head_mill_mm=1.0))
"""Cuts to be told of, so that the rule about them looks at its slots."""


@cache
def offer_of(family: str) -> Offer:
    return Offer(members={slot: tuple(sorted(of(family, slot), key=_sku)) for slot in KIT_SLOTS})


def _sku(part: Part) -> str:
    return part.sku


def blocking(kit: Kit) -> set[str]:
    """Codes of what blocks a kit, whatever power it makes."""
    surroundings = around(kit.family.key)
    found = fit_findings(fit_subject(kit), surroundings.rules, {}, None, surroundings.supplies)
    return {each.code for each in found if each.severity is RuleSeverity.BLOCKS}


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(
    "changes",
    [{}, {"use": UseClass.MARINE}, {"engine": EngineAsItStands(rev_limit_rpm=6900.0)}],
    ids=["road", "marine", "revving"],
)
def test_a_search_holds_apart_what_an_assessment_blocks(
    family: str, changes: dict[str, Any]
) -> None:
    """Half of the kits are drawn from those that go together: by chance hardly any would."""
    factory, offer = assembled(family, **changes), offer_of(family)
    screens = fit_screens(
        offer,
        lambda parts: fit_subject(kit_with(factory, parts)),
        shop_rules(),
        supplies(family),
    )
    generator = np.random.default_rng(FAMILIES.index(family))
    wild = np.stack([generator.integers(0, size, DRAWN) for size in offer.sizes], axis=1)
    listed = listing(offer.sizes, screens, 10**7).rows
    fitting = listed[generator.integers(0, len(listed), DRAWN)] if len(listed) else listed

    for row in np.concatenate([wild.astype(np.uint8), fitting]):
        found = {screen.name for screen in screens if not passes(row[None, :], screen)[0]}
        assert found == blocking(kit_with(factory, offer.parts_of(row.tolist())))


def test_the_demo_has_the_combinations_that_the_shop_works_with() -> None:
    """At least one and a half million for the largest family."""
    offer = offer_of("quay-7-6")

    assert np.prod([float(size) for size in offer.sizes]) >= 1.5e6
    assert passing_count(offer.sizes, []) >= 1_500_000


class _Read(Mapping[Slot, Part]):
    """Parts that remember which slots were looked at."""

    def __init__(self, parts: Mapping[Slot, Part]) -> None:
        self._parts, self.seen = parts, set[Slot]()

    def __getitem__(self, slot: Slot) -> Part:
        self.seen.add(slot)
        return self._parts[slot]

    def __iter__(self) -> Iterator[Slot]:
        return iter(self._parts)

    def __len__(self) -> int:
        return len(self._parts)

    def __contains__(self, slot: object) -> bool:
        return slot in self._parts


class _ReadAlong(FitSubject):
    """A subject that tells what its rule looked at; ratio and rev limit count as their parts."""

    def spec(self, kind: type[Any]) -> Any:  # noqa: ANN401 - a spec of any slot.
        slot = next(slot for slot, part in kept(self).items() if isinstance(part.spec, kind))
        return self.parts[slot].spec

    def skus(self, *slots: Slot) -> tuple[str, ...]:
        del slots  # Named in a finding; they decide nothing.
        return ()

    @property
    def compression_ratio(self) -> float:
        _ = self.parts[Slot.CYLINDER_HEADS]
        return 11.9

    @property
    def compression(self) -> Span:
        return Span.exactly(self.compression_ratio)

    @property
    def rev_limit_rpm(self) -> float:
        _ = self.parts[Slot.CALIBRATION]
        return 7000.0


def kept(subject: FitSubject) -> Mapping[Slot, Part]:
    parts: Any = subject.parts
    found: Mapping[Slot, Part] = parts._parts  # noqa: SLF001 - the test's own class.
    return found


def kits_to_read() -> Iterable[Kit]:
    for family in FAMILIES:
        factory, offer = assembled(family), offer_of(family)
        generator = np.random.default_rng(1)
        for use in (UseClass.ROAD, UseClass.MARINE):
            for _ in range(20):
                row = [int(generator.integers(size)) for size in offer.sizes]
                kit = kit_with(factory, offer.parts_of(row))
                yield replace(kit, octane_aki=80.0, request=replace(kit.request, use=use))


def test_every_built_in_rule_looks_at_no_more_than_is_written_down() -> None:
    """A search tries a rule on these slots alone."""
    told = {*LOOKS_AT, *PER_PART_RULES, every_required_slot_is_filled}

    assert told == set(BUILT_IN_RULES)
    for kit in kits_to_read():
        plain = fit_subject(kit)
        for rule, slots in LOOKS_AT.items():
            parts = _Read(kit.parts)
            subject = object.__new__(_ReadAlong)
            for name in ("family", "bore_mm", "stroke_mm", "octane_aki", "model_year", "use"):
                object.__setattr__(subject, name, getattr(plain, name))
            object.__setattr__(subject, "parts", parts)
            object.__setattr__(subject, "machined", CUT)
            rule(subject)
            assert parts.seen <= set(slots), rule.__name__
