"""Searches for whoever stands at the edge: what is looked up, and what is kept at hand."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import partial

from pydantic import TypeAdapter

from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Fuel, Slot
from service.catalog.specs import CalibrationSpec
from service.catalog.store.shelves import Shelf, Shelves
from service.conditional import content_etag
from service.database import Database, ReadSessionDep
from service.engine.curve import PointRunner
from service.engine.cycle import KERNEL_VERSION
from service.errors import InvalidInput
from service.kits.api import Assessor, SurfaceFinder, kit_off_shelf, look_around, take_shelf
from service.kits.assessment import Surroundings
from service.kits.fitted import FittedSurface
from service.kits.kit import AssessmentRequest, Kit
from service.kits.surface_power import NoSurface
from service.revision import load_catalog_revision
from service.searches.api.fields import FieldsAtHand
from service.searches.api.memory import CurveMemory
from service.searches.checks import check, contradictions
from service.searches.confirming import Yardstick
from service.searches.field import Field, field_of
from service.searches.question import SearchRequest
from service.searches.ranking import factory_row, torque_range
from service.searches.reasons import why_gone
from service.searches.screens import Offer
from service.searches.search import search
from service.searches.since import since_then, snapshot
from service.searches.store import KeptSearch
from service.searches.task import Task

_QUESTION = TypeAdapter(AssessmentRequest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Searcher:
    """Answers searches; what goes together is listed once for a catalogue as it stands."""

    database: Database
    run: PointRunner
    surface_of: SurfaceFinder
    shelves: Shelves
    memory: CurveMemory
    fields: FieldsAtHand = field(default_factory=FieldsAtHand, repr=False)
    """A key holds the catalogue's revision."""

    @classmethod
    def beside(cls, assessor: Assessor) -> "Searcher":
        """Return a searcher that shares what an assessor has at hand."""
        return cls(
            database=assessor.database,
            run=assessor.run,
            surface_of=assessor.surface_of,
            shelves=assessor.shelves,
            memory=CurveMemory(os.cpu_count() or 1),
        )

    def answer(self, asked: SearchRequest) -> KeptSearch:
        """Return the answer, not kept yet."""
        return _answered(self.task(asked))

    def again(self, before: KeptSearch) -> KeptSearch:
        """Return the answer to a search as the catalogue stands, with what changed since."""
        task = self.task(before.request)
        kept = _answered(task)
        since = since_then(
            before.id,
            before.parts,
            kept.parts,
            before.result.ranking,
            kept.result.ranking,
            model_changed=before.model_version != KERNEL_VERSION,
            gone=partial(why_gone, task),
        )
        return replace(kept, since_then=since)

    def task(self, asked: SearchRequest) -> Task:
        """Look everything up that a search rests on, or name the field that is wrong."""
        plain = replace(asked.question, parts={})
        with self.database.reading() as session:
            revision = load_catalog_revision(session)
            shelf = take_shelf(self.shelves, session, asked.question.family, revision)
            factory = _asked_for(session, plain, shelf)
            _asked_for(session, asked.question, shelf)
            around = self._around(session, factory, shelf, revision)
        fitted = around.surface
        if fitted is None or not fitted.is_of_this_version:
            raise NoSurface(factory.family)
        offer = offer_of(factory, around.alternatives)
        check(asked, factory.family, offer.members, around.profiles)
        found = self._field(factory, offer, around, fitted)
        contradictions(asked, offer, found.screens)
        # The same kits, asked about for another place or by another owner.
        found = replace(found, kit=factory)
        return Task(field=found, asked=asked, around=around, fitted=fitted, run=self.run)

    def _around(
        self, session: ReadSessionDep, factory: Kit, shelf: Shelf, revision: int
    ) -> Surroundings:
        parts = (*shelf.parts.values(), *factory.parts.values())
        around = look_around(session, parts, shelf, revision, datetime.now(UTC).date())
        return replace(around, surface=self.surface_of(session, factory.family.key))

    def _field(
        self, factory: Kit, offer: Offer, around: Surroundings, fitted: FittedSurface
    ) -> Field:
        list_it = partial(
            field_of,
            factory,
            offer,
            around.rules,
            fitted,
            read=self.memory.read,
            supplies=around.supplies,
        )
        return self.fields.get(_key(factory.request, around, fitted), list_it)


def _answered(task: Task) -> KeptSearch:
    result = search(task)
    field, curves = task.field, task.field.curves
    low, high = torque_range(field, task.asked)
    factory = factory_row(field)
    stock = curves.only(field.curve_of[[] if factory is None else [factory]])
    parts = [part for members in field.offer.members.values() for part in members]
    return KeptSearch(
        created_at=datetime.now(UTC),
        catalog_revision=task.around.catalog_revision,
        model_version=KERNEL_VERSION,
        request=task.asked,
        result=result,
        yardstick=Yardstick(
            peak_power=float(stock.peak_power.sum()),
            mean_torque=float(stock.mean_torque(low, high).sum()),
            torque_low_rpm=low,
            torque_high_rpm=high,
        ),
        parts=snapshot(parts, task.around, task.places, task.fitted),
    )


def _asked_for(session: ReadSessionDep, question: AssessmentRequest, shelf: Shelf) -> Kit:
    """Return the kit of a question; what is wrong with it stands inside a search."""
    try:
        return kit_off_shelf(session, question, shelf)
    except InvalidInput as error:
        raise error.below("/question") from error


def _key(request: AssessmentRequest, around: Surroundings, fitted: FittedSurface) -> str:
    """Name what the list of kits and their curves depend on."""
    return content_etag(
        request.family,
        request.use.value,
        request.model_year,
        _QUESTION.dump_json(
            request, include={"engine", "weather", "correction_standard", "band_share"}
        ),
        around.catalog_revision,
        KERNEL_VERSION,
        fitted.fitted_at.isoformat(),
    )


def offer_of(factory: Kit, listed: Mapping[Slot, Sequence[Part]]) -> Offer:
    """Return what may be chosen: the current parts, and the factory's own."""
    fuel = factory.request.engine.fuel
    members: dict[Slot, tuple[Part, ...]] = {}
    for slot in KIT_SLOTS:
        parts = {part.sku: part for part in listed.get(slot, ())}
        stock = factory.parts[slot]
        parts.setdefault(stock.sku, stock)
        members[slot] = tuple(parts[sku] for sku in sorted(parts) if _burns(parts[sku], fuel))
    return Offer(members=members)


def _burns(part: Part, fuel: Fuel | None) -> bool:
    """Whether a part goes with the fuel that the owner asks for; only calibrations care."""
    return fuel is None or not isinstance(part.spec, CalibrationSpec) or part.spec.fuel is fuel
