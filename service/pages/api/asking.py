"""Questions of pages, put to the same services as those of the API."""

import json
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, TypeVar

from fastapi import Request
from pydantic import TypeAdapter

from service.bodies import read_document
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.store.lists import find_families
from service.compliance.profiles.store import load_profiles
from service.database import Database
from service.errors import FieldProblem, InvalidInput, ServiceError
from service.kits.api import Answer, Assessor, take_shelf
from service.kits.kit import AssessmentRequest, Tier
from service.kits.surface_power import NoSurface
from service.pages.engine_form import ENGINE
from service.pages.question import CURRENCY, Address, second_place
from service.pages.words import USES, plain
from service.revision import load_catalog_revision
from service.searches.answer import RankedKit, SearchResult
from service.searches.api.searcher import Searcher
from service.searches.question import SearchRequest
from service.searches.search import more_of_ranking

Found = TypeVar("Found")

_ASSESSMENT = TypeAdapter(AssessmentRequest)
_SEARCH = TypeAdapter(SearchRequest)
_RESULT = TypeAdapter(SearchResult)
_RANKED = TypeAdapter(tuple[RankedKit, ...])


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What a form offers."""

    families: tuple[tuple[str, str], ...]
    """Keys and titles."""
    places: tuple[tuple[str, str], ...]


def choices(request: Request) -> Choices:
    """Return the families of the catalogue and the places whose rules are known."""
    with _database(request).reading() as session:
        families = [stored.value for stored in find_families(session)]
    profiles = load_profiles(datetime.now(UTC).date())
    return Choices(
        families=tuple((family.key, family.title) for family in families),
        places=tuple((key, profile.title) for key, profile in sorted(profiles.items())),
    )


def about(request: Request, address: Address) -> str:
    """Write about which engine a page is, for which use and place, and what was machined."""
    known = choices(request)
    family, place, use = (address.get(key, "") for key in ("family", "place", "use"))
    places = dict(known.places)
    told = [
        dict(known.families).get(family, family),
        f"model year {address.get('model_year', '')}",
        USES.get(use, use),
        places.get(place, place),
        *(f"papers for {places.get(other, other)} too" for other in second_place(address)),
        *(f"{plain(field)} {text}" for field in ENGINE if (text := address.get(field))),
    ]
    return ", ".join(told)


def offered(request: Request, family: str) -> dict[Slot, tuple[Part, ...]]:
    """Return the parts that are listed for a family, by slot."""
    assessor: Assessor = request.app.state.assessor
    with _database(request).reading() as session:
        shelf = take_shelf(assessor.shelves, session, family, load_catalog_revision(session))
    return {slot: shelf.by_slot.get(slot, ()) for slot in KIT_SLOTS}


def currency(request: Request, address: Address) -> str:
    """Return what most parts for the caller's engine are priced in, or for any where none is."""
    with _database(request).reading() as session:
        known = [stored.value.key for stored in find_families(session)]
    asked = [family for family in known if family == address.get("family")] or known
    used = Counter(
        part.currency
        for family in asked
        for parts in offered(request, family).values()
        for part in parts
        if part.price_cents
    )
    return max(sorted(used), key=lambda one: used[one], default=CURRENCY)


def answered(request: Request, question: Mapping[str, Any]) -> Answer:
    """Return the API's own answer: off the surface, or simulated where there is none."""
    assessor: Assessor = request.app.state.assessor
    asked = read_document(_ASSESSMENT, question)
    try:
        return assessor.answer(asked)
    except NoSurface:
        return assessor.answer(replace(asked, tier=Tier.SIMULATION))


def assessed(request: Request, question: Mapping[str, Any]) -> dict[str, Any]:
    """Return an assessment as the API answers it."""
    answer: dict[str, Any] = json.loads(answered(request, question).body)
    return answer


def elsewhere(
    request: Request, question: Mapping[str, Any], address: Address
) -> list[tuple[str, dict[str, Any]]]:
    """Return the other place that papers are asked for, and the kit's answer for it."""
    titles = dict(choices(request).places)
    return [
        (titles.get(place, place), assessed(request, {**question, "place": place}))
        for place in second_place(address)
    ]


def searched(request: Request, question: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a search finds, as the API answers it; the address is all that is kept."""
    searcher: Searcher = request.app.state.searcher
    kept = searcher.answer(read_document(_SEARCH, question))
    found: dict[str, Any] = _RESULT.dump_python(kept.result, mode="json")
    return found


def more_kits(request: Request, question: Mapping[str, Any], start: int) -> list[dict[str, Any]]:
    """Return the kits of a ranking after the first `start`, one more than a page holds."""
    searcher: Searcher = request.app.state.searcher
    asked = read_document(_SEARCH, question)
    found = more_of_ranking(searcher.task(asked), start, asked.count + 1)
    kits: list[dict[str, Any]] = _RANKED.dump_python(found, mode="json")
    return kits


def attempt(ask: Callable[[], Found]) -> tuple[Found | None, tuple[FieldProblem, ...]]:
    """Ask; what is wrong with the question is told beside its fields, on the same page."""
    try:
        return ask(), ()
    except InvalidInput as error:
        return None, error.problems
    except ServiceError as error:
        return None, (FieldProblem(pointer="", code="refused", detail=error.message),)


def _database(request: Request) -> Database:
    database: Database = request.app.state.database
    return database
