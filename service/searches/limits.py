"""The limits of a search as tests of every kit: one bit for each limit that a kit breaks."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

import numpy as np
from numpy.typing import NDArray

from service.catalog.devices import Device
from service.catalog.parts import Part
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.specs import CalibrationSpec, ThrottleBodySpec
from service.compliance.appearance import KeepsStockExterior, appearance_block
from service.compliance.application import Application, as_altered
from service.compliance.devices import DeviceState, device_block
from service.compliance.documents import Document
from service.compliance.jurisdictions import Profiles
from service.compliance.outcomes import Outcome, worst
from service.compliance.paperwork import best_part_outcome, paperwork_block
from service.engine.inputs import FloatArray
from service.errors import FieldProblem, InvalidInput
from service.kits.kit import AssessmentRequest
from service.kits.views import application_of
from service.money import Price
from service.searches.field import Field, stays
from service.searches.measured import KitMeasure, Limit, Passing, curve_limits, measured
from service.searches.question import SearchRequest

Bits = NDArray[np.uint64]
MOST_LIMITS = 60
"""Each is one bit."""


class TooManyLimits(InvalidInput):
    """More limits were set than a search keeps apart."""

    def __init__(self, count: int) -> None:
        super().__init__(
            FieldProblem(
                pointer="/limits",
                code="too_many",
                detail=f"{count} limits are set, slots and places counted one by one; "
                f"{MOST_LIMITS} at most.",
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """What papers are looked up in."""

    documents: tuple[Document, ...]
    profiles: Profiles
    today: date


def limits_of(asked: SearchRequest, papers: Papers) -> tuple[Limit, ...]:
    """Return the limits of a request, in the order in which they are told of."""
    limits = (
        *_part_limits(asked),
        *_trait_limits(asked),
        *_paper_limits(asked, papers),
        *_money_limits(asked),
        *curve_limits(asked),
    )
    if len(limits) > MOST_LIMITS:
        raise TooManyLimits(len(limits))
    return limits


def broken(field: Field, limits: Sequence[Limit]) -> Bits:
    """Return for every row the limits that it breaks, as bits from the first limit up."""
    bits = np.zeros(len(field.rows), dtype=np.uint64)
    for number, limit in enumerate(limits):
        bits |= (~limit.passing(field)).astype(np.uint64) << np.uint64(number)
    return bits


def by_part(name: str, slot: Slot, keeps: Callable[[Part], bool]) -> Limit:
    """Return a limit that one slot's part keeps or not."""

    def passing(field: Field) -> Passing:
        kept = np.array([keeps(part) for part in field.offer.members[slot]])
        return np.asarray(kept[field.rows[:, field.offer.slots.index(slot)]])

    def spoils(_field: Field, part: Part) -> bool:
        return part.slot is slot and not keeps(part)

    return Limit(name=name, passing=passing, spoils=spoils)


def each_part(name: str, keeps: Callable[[Field, Part], bool]) -> Limit:
    """Return a limit that every part has to keep by itself."""
    return Limit(
        name=name,
        passing=by_every_part(keeps),
        spoils=lambda field, part: not keeps(field, part),
    )


def by_every_part(keeps: Callable[[Field, Part], bool]) -> Callable[[Field], Passing]:
    """Return a test that every part has to keep by itself."""

    def passing(field: Field) -> Passing:
        kept = np.ones(len(field.rows), dtype=bool)
        for place, slot in enumerate(field.offer.slots):
            own = np.array([keeps(field, part) for part in field.offer.members[slot]])
            if not own.all():
                kept &= own[field.rows[:, place]]
        return kept

    return passing


def _part_limits(asked: SearchRequest) -> Iterable[Limit]:
    for slot in KIT_SLOTS:
        if slot in asked.fixed:
            yield by_part(f"fixed.{slot}", slot, _is(asked.fixed[slot]))
    for slot in KIT_SLOTS:
        if slot in asked.allowed:
            yield by_part(f"allowed.{slot}", slot, _in(asked.allowed[slot]))
    if asked.excluded:
        yield each_part("excluded", lambda _field, part: part.sku not in asked.excluded)


def _is(sku: str) -> Callable[[Part], bool]:
    return lambda part: part.sku == sku


def _in(skus: Sequence[str]) -> Callable[[Part], bool]:
    return lambda part: part.sku in skus


def _trait_limits(asked: SearchRequest) -> Iterable[Limit]:
    limits, question = asked.limits, asked.question
    if limits.keeps_stock_exterior:
        yield each_part("keeps_stock_exterior", _looks_stock)
    for device in limits.devices_kept:
        keeps = partial(_keeps_device, device=device, question=question)
        yield each_part(f"devices_kept.{device}", keeps)
    if limits.octane_aki_at_most is not None:
        yield _octane(limits.octane_aki_at_most)
    if limits.throttle_drive is not None:
        yield by_part("throttle_drive", Slot.THROTTLE_BODY, _drive(asked))


def _keeps_device(field: Field, part: Part, *, device: Device, question: AssessmentRequest) -> bool:
    as_it_stands = as_altered((part,), application_of(question))
    block = device_block(as_it_stands, field.kit.family, question.model_year, question.use)
    return all(row.state is DeviceState.KEPT for row in block.rows if row.device is device)


def _looks_stock(_field: Field, part: Part) -> bool:
    return appearance_block((part,)).keeps_stock_exterior is KeepsStockExterior.YES


def _octane(most: float) -> Limit:
    def asked_for(field: Field) -> FloatArray:
        octanes = [
            part.spec.octane_aki_min if isinstance(part.spec, CalibrationSpec) else np.inf
            for part in field.offer.members[Slot.CALIBRATION]
        ]
        return np.array(octanes)[field.rows[:, field.offer.slots.index(Slot.CALIBRATION)]]

    measure = KitMeasure(
        what="calibration's octane", unit="AKI", wanted=most, at_least=False, of=asked_for
    )
    return measured("octane_aki_at_most", measure)


def _drive(asked: SearchRequest) -> Callable[[Part], bool]:
    def keeps(part: Part) -> bool:
        spec = part.spec
        return isinstance(spec, ThrottleBodySpec) and spec.drive is asked.limits.throttle_drive

    return keeps


def _money_limits(asked: SearchRequest) -> Iterable[Limit]:
    limits = asked.limits
    if limits.price_at_most is not None:
        yield _price(limits.price_at_most)
    if limits.in_stock:
        yield each_part("in_stock", _on_the_shelf)
    days = limits.lead_time_at_most_days
    if days is not None:
        measure = KitMeasure(
            what="longest wait",
            unit="days",
            wanted=float(days),
            at_least=False,
            of=lambda field: field.lead_days.astype(float),
        )
        yield measured("lead_time_at_most_days", measure)


def _price(most: Price) -> Limit:
    def asked_for(field: Field) -> FloatArray:
        known = (field.cents == 0) | ((field.cents > 0) & (field.currency == most.currency))
        return np.where(known, field.cents / 100.0, np.inf)

    measure = KitMeasure(
        what="price",
        unit=most.currency,
        wanted=most.cents / 100.0,
        at_least=False,
        of=asked_for,
    )
    return measured("price_at_most", measure)


def _on_the_shelf(field: Field, part: Part) -> bool:
    return stays(field.kit, part) or part.stock_count > 0


def _paper_limits(asked: SearchRequest, papers: Papers) -> Iterable[Limit]:
    least = asked.limits.paperwork_at_worst
    if least is None:
        return
    for place in asked.limits.places or (asked.question.place,):
        application = replace(application_of(asked.question), place=place)

        passing = partial(_papered, papers=papers, application=application, least=least)
        yield Limit(name=f"paperwork_at_worst.{place}", passing=passing)


def _papered(field: Field, *, papers: Papers, application: Application, least: Outcome) -> Passing:
    """Return which kits have paper of this outcome or better.

    Parts that no paper names and of which the catalogue says the same are one to the
    paperwork, so that each case of such a kind is looked at once.
    """
    profile = papers.profiles.get(application.place)
    about = (papers.documents, application, profile, papers.today)
    possible = by_every_part(
        lambda _field, part: _is_as_good(best_part_outcome(part, *about), least)
    )
    good = possible(field)
    rows = field.rows[good]
    code = np.zeros(len(rows), dtype=np.int64)
    for place, slot in enumerate(field.offer.slots):
        kinds: dict[object, int] = {}
        kind = [
            kinds.setdefault(_paper_kind(part, papers.documents), len(kinds))
            for part in field.offer.members[slot]
        ]
        code = code * len(kinds) + np.array(kind)[rows[:, place]]
    _, first, case = np.unique(code, return_index=True, return_inverse=True)
    case_good = np.empty(first.size, dtype=bool)
    for number, row in enumerate(first):
        parts = field.offer.parts_of([int(member) for member in rows[row]]).values()
        block = paperwork_block(parts, *about)
        case_good[number] = _is_as_good(block.outcome, least)
    good[good] = case_good[case]
    return good


def _is_as_good(outcome: Outcome, least: Outcome) -> bool:
    return outcome is least or worst((outcome, least)) is least


def _paper_kind(part: Part, documents: Iterable[Document]) -> object:
    named = part.documents or any(
        part.maker_reference in line.part_references
        for document in documents
        for line in document.scope
    )
    if named:
        return part.sku
    changed = part.exterior.internal_change is not None
    return part.factory_part, part.replacement_claim, changed


def removals(bits: Bits, limits: Sequence[Limit]) -> Mapping[str, tuple[int, int]]:
    """Return how many kits each limit takes away: after those before it, and alone."""
    found = {}
    for number, limit in enumerate(limits):
        own = np.uint64(1 << number)
        up_to = np.uint64((1 << (number + 1)) - 1)
        in_order = int(((bits & up_to) == own).sum())
        found[limit.name] = in_order, int(((bits & own) != 0).sum())
    return found
