"""How often rules speak, the shop's and those that are built in, for a whole catalogue."""

from collections.abc import Mapping
from functools import partial

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.catalog.store.lists import find_families
from service.catalog.store.shelves import read_shelf
from service.database import ReadSessionDep
from service.errors import InvalidInput
from service.fitup.subject import FitSubject
from service.kits.api import kit_off_shelf
from service.kits.kit import AssessmentRequest, Kit
from service.kits.views import fit_subject
from service.searches.api.searcher import offer_of
from service.searches.field import fit_removals, kit_with
from service.searches.firing import Firing, firings
from service.searches.joining import raw_count
from service.searches.screens import fit_screens


def rule_firings(session: ReadSessionDep) -> list[Firing]:
    """Return how often each rule speaks on each engine, as it left the factory.

    Of what is built in, that which keeps parts apart: its key has a stop, as none of the shop's.
    """
    found: list[Firing] = []
    for stored in find_families(session):
        family = stored.value
        shelf = read_shelf(session, family.key)
        try:
            factory = kit_off_shelf(session, _question(family), shelf)
        except InvalidInput:
            # An engine that is not described to the end yet has no combinations.
            continue
        offer = offer_of(factory, shelf.by_slot)
        subject_of = partial(_subject, factory)
        found += firings(offer, subject_of, family.key, shelf.rules)
        found += (
            Firing(
                key=one.name,
                family=family.key,
                speaks=one.alone,
                combinations=raw_count(offer.sizes),
            )
            for one in fit_removals(offer.sizes, fit_screens(offer, subject_of, (), shelf.supplies))
            if one.alone
        )
    return found


def _subject(factory: Kit, parts: Mapping[Slot, Part]) -> FitSubject:
    return fit_subject(kit_with(factory, parts))


def _question(family: EngineFamily) -> AssessmentRequest:
    return AssessmentRequest(
        family=family.key,
        model_year=family.last_model_year,
        use=family.use_classes[0],
        # No rule of the shop looks at the place.
        place="",
    )
