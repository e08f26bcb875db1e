"""Every kit of a family that goes together, with its price and its curve.

It is searched in again and again, as long as catalogue, engine and weather stay the same.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.slots import Slot
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.errors import FieldProblem, InvalidInput
from service.fitup.fuelling import power_at_full_duty_hp
from service.kits.fitted import FittedSurface
from service.kits.kit import Kit, kit_of
from service.kits.power import basis_of, curve_speeds_rpm
from service.kits.translation import ambient, engine_spec
from service.kits.views import fit_subject
from service.searches.airflow import airflows, readable
from service.searches.curves import Curves, read_curves
from service.searches.joining import (
    Members,
    Screen,
    listing,
    passing_count,
    raw_count,
)
from service.searches.screens import Offer, fit_screens
from service.units import rpm_to_rad_per_s, w_to_hp

MOST_ROWS = 3_000_000
"""Kits that are listed: some 200 bytes each while they are worked on."""
OUTSIDE_RANGE = "surface.outside_fitted_range"
DUTY = "injectors.duty"
TorqueReader = Callable[[FittedSurface, FloatArray, FloatArray], NDArray[np.float32]]
"""Reads torque off a surface: of engines of shape (n, p) at speeds of shape (n, s)."""


class NothingReadable(InvalidInput):
    """No kit on this engine lies inside the range of the family's surface."""

    def __init__(self, factory: Kit) -> None:
        super().__init__(
            FieldProblem(
                pointer="/question/engine",
                code="outside_fitted_range",
                detail=f"On this engine, in this weather, no kit of {factory.family.key} lies "
                "inside the range that its surface was fitted over: searches read curves off it "
                "and extrapolate nothing. Assess single kits by simulation.",
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """How many combinations one rule takes away."""

    name: str
    in_order: int
    """Of those that the rules before it left."""
    alone: int | None
    """As if there were no other: a rule of fit of all combinations, a limit of those that go
    together and carry their power. Null for the surface's range and the injectors' duty: both
    rest on the airflow of a kit, which parts that do not go together have none of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """What goes together, listed."""

    kit: Kit
    """The factory kit on this engine."""
    offer: Offer
    screens: tuple[Screen, ...]
    combinations: int
    removals: tuple[Removal, ...]
    """By the rules of fit, in order."""
    rows: Members
    """In the order of their SKUs, slot by slot."""
    cents: NDArray[np.int64]
    """Of the parts that change; -1: some are in another currency than most parts."""
    lead_days: NDArray[np.int32]
    curve_of: NDArray[np.int32]
    by_curve: NDArray[np.int32]
    """All rows: those of one curve together, the cheapest first."""
    curves: Curves
    currency: str
    complete: bool
    proven: tuple[str, ...]
    """SKUs of the first slot's parts whose kits were all looked at, where not all were."""

    def kit_at(self, row: int) -> Kit:
        """Return the kit of a row."""
        return kit_with(self.kit, self.parts_at(row))

    def parts_at(self, row: int) -> dict[Slot, Part]:
        """Return the parts of a row."""
        return self.offer.parts_of([int(member) for member in self.rows[row]])


def kit_with(factory: Kit, parts: Mapping[Slot, Part]) -> Kit:
    """Return other parts on the engine of the factory kit."""
    heads = factory.parts[Slot.CYLINDER_HEADS]
    return kit_of(factory.request, factory.family, parts, heads)


def field_of(
    factory: Kit,
    offer: Offer,
    rules: Sequence[ShopRule],
    fitted: FittedSurface,
    *,
    read: TorqueReader,
    supplies: Sequence[Part] = (),
    most: int = MOST_ROWS,
) -> Field:
    """List what goes together, adapters among `supplies`, and read every curve off the surface."""
    screens = _screens(factory, offer, rules, supplies)
    found = listing(offer.sizes, screens, most)
    rows, known, curve_of, curves = _with_curves(factory, offer, found.rows, fitted, read)
    strong = _carried(factory, offer, rows, curves.peak_power[curve_of])
    removals = (
        *fit_removals(offer.sizes, screens),
        _removal(OUTSIDE_RANGE, known, len(found.rows)),
        _removal(DUTY, strong, len(rows)),
    )
    rows, curve_of = rows[strong], curve_of[strong]
    cents, currency = cents_of(factory, offer, rows)
    first_slot = offer.members[offer.slots[0]]
    return Field(
        kit=factory,
        offer=offer,
        screens=tuple(screens),
        combinations=raw_count(offer.sizes),
        removals=removals,
        rows=rows,
        cents=cents,
        lead_days=lead_days_of(factory, offer, rows),
        curve_of=curve_of,
        by_curve=np.lexsort((cents, curve_of)).astype(np.int32),
        curves=curves,
        currency=currency,
        complete=found.complete,
        proven=() if found.complete else tuple(first_slot[one].sku for one in found.proven),
    )


def _screens(
    factory: Kit, offer: Offer, rules: Sequence[ShopRule], supplies: Sequence[Part]
) -> list[Screen]:
    return fit_screens(offer, lambda parts: fit_subject(kit_with(factory, parts)), rules, supplies)


def _with_curves(
    factory: Kit, offer: Offer, rows: Members, fitted: FittedSurface, read: TorqueReader
) -> tuple[Members, NDArray[np.bool_], NDArray[np.int32], Curves]:
    """Return the rows whose curves can be read, which they are, and their curves."""
    limits_rpm, limit_of = _rev_limits(factory, offer)

    def spec_of(parts: Mapping[Slot, Part]) -> EngineSpec:
        return engine_spec(kit_with(factory, parts))

    flows = airflows(offer, rows, spec_of, ambient(factory.request.weather), limit_of)
    speeds = np.asarray(
        rpm_to_rad_per_s(np.array([curve_speeds_rpm(limit) for limit in limits_rpm]))
    )
    reached = speeds[:, -1] <= fitted.surface.box.fastest * (1.0 + 1e-9)
    known = readable(fitted.surface, flows, offer, rows, spec_of)
    known &= reached[flows.limit[flows.of_row.astype(np.intp)]]
    if len(rows) and not known.any():
        raise NothingReadable(factory)
    used, curve_of = np.unique(flows.of_row[known].astype(np.intp), return_inverse=True)
    limit, parameters = flows.limit[used], flows.parameters[used]
    del flows
    torque = read(fitted, parameters, speeds[limit])
    factor = basis_of(factory, bounds="", assumptions=()).correction_factor
    if factor != 1.0:
        torque = torque * np.float32(factor)
    curves = read_curves(torque, limit, limits_rpm, factory.request.band_share)
    return rows[known], known, curve_of.astype(np.int32), curves


def fit_removals(sizes: Sequence[int], screens: Sequence[Screen]) -> list[Removal]:
    """Return what each name among screens takes away, in order and alone."""
    total = left = raw_count(sizes)
    before: list[Screen] = []
    removals = []
    for name in dict.fromkeys(screen.name for screen in screens):
        own = [screen for screen in screens if screen.name == name]
        before += own
        now = passing_count(sizes, before)
        alone = total - passing_count(sizes, own)
        removals.append(Removal(name=name, in_order=left - now, alone=alone))
        left = now
    return removals


def stays(factory: Kit, part: Part) -> bool:
    """Whether a part is the factory's own, which is on the engine already."""
    return factory.family.stock_parts.get(part.slot) == part.sku


def price_cents(factory: Kit, part: Part) -> int:
    """Return what a part costs on this engine."""
    return 0 if stays(factory, part) else part.price_cents


def lead_days(factory: Kit, part: Part) -> int:
    """Return how long a part is waited for."""
    return 0 if stays(factory, part) or part.stock_count else part.lead_time_days


def _removal(name: str, passing: NDArray[np.bool_], of: int) -> Removal:
    gone = of - int(passing.sum())
    return Removal(name=name, in_order=gone, alone=None)


def _rev_limits(factory: Kit, offer: Offer) -> tuple[list[float], NDArray[np.intp]]:
    """Return the rev limits that occur, and which of them each calibration runs to."""
    each = [
        kit_with(factory, {**factory.parts, Slot.CALIBRATION: part}).rev_limit_rpm
        for part in offer.members[Slot.CALIBRATION]
    ]
    distinct = sorted(set(each))
    return distinct, np.array([distinct.index(one) for one in each])


def _carried(factory: Kit, offer: Offer, rows: Members, power: FloatArray) -> NDArray[np.bool_]:
    """Return which kits have injectors that carry their power."""
    places = offer.places((Slot.INJECTORS, Slot.CALIBRATION))
    most = np.full([offer.sizes[place] for place in places], np.inf)
    for index, parts in offer.cases(places):
        subject = fit_subject(kit_with(factory, {**factory.parts, **parts}))
        limit = power_at_full_duty_hp(subject)
        most[index] = np.inf if limit is None else limit
    return np.asarray(w_to_hp(power) <= most[tuple(rows[:, place] for place in places)])


def cents_of(factory: Kit, offer: Offer, rows: Members) -> tuple[NDArray[np.int64], str]:
    """Return the price of each row, and the currency that most parts are in."""
    bought = [
        part for parts in offer.members.values() for part in parts if price_cents(factory, part) > 0
    ]
    currencies = [part.currency for part in bought]
    currency = max(sorted(set(currencies)), key=currencies.count) if bought else ""
    total = np.zeros(len(rows), dtype=np.int64)
    other = np.zeros(len(rows), dtype=bool)
    for place, slot in enumerate(offer.slots):
        parts = offer.members[slot]
        cents = np.array([price_cents(factory, part) for part in parts], dtype=np.int64)
        foreign = np.array([part.currency != currency for part in parts]) & (cents > 0)
        total += cents[rows[:, place]]
        other |= foreign[rows[:, place]]
    total[other] = -1
    return total, currency


def lead_days_of(factory: Kit, offer: Offer, rows: Members) -> NDArray[np.int32]:
    """Return how long each row is waited for."""
    longest = np.zeros(len(rows), dtype=np.int32)
    for place, slot in enumerate(offer.slots):
        days = np.array([lead_days(factory, part) for part in offer.members[slot]], dtype=np.int32)
        np.maximum(longest, days[rows[:, place]], out=longest)
    return longest
