"""The limits that one kit misses: by how much, by which part, and what would help."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import isfinite

import numpy as np

from service.catalog.parts import Part
from service.fitup.findings import Reading
from service.kits.figures import told
from service.kits.kit import Kit
from service.kits.power import PowerAnswer
from service.searches.curves import Curves, read_curves
from service.searches.field import Field, cents_of, lead_days_of
from service.searches.measured import CurveMeasure, KitMeasure, Limit
from service.searches.ranking import Hand
from service.searches.why import MissedLimit

AnyMeasure = CurveMeasure | KitMeasure


def only_row(field: Field, row: int) -> Field:
    """Return a field of one of its kits alone."""
    return replace(
        field,
        rows=field.rows[[row]],
        cents=field.cents[[row]],
        lead_days=field.lead_days[[row]],
        curve_of=np.zeros(1, dtype=np.int32),
        by_curve=np.zeros(1, dtype=np.int32),
        curves=field.curves.only(field.curve_of[[row]]),
    )


def only_kit(field: Field, kit: Kit, hand: Hand, answer: PowerAnswer | None) -> Field:
    """Return a field of a kit that is in none, as it does not go together.

    Without an answer of the surface it has no curve, and none may be asked for.
    """
    rows = hand.astype(np.uint8)[None]
    cents, _ = cents_of(field.kit, field.offer, rows)
    curves = field.curves.only(np.zeros(0, dtype=np.intp))
    if answer is not None:
        torque = [point.torque_nm for point in answer.curve]
        curves = curve_of(torque, answer.curve[-1].speed_rpm, kit.request.band_share)
    return replace(
        field,
        rows=rows,
        cents=cents,
        lead_days=lead_days_of(field.kit, field.offer, rows),
        curve_of=np.zeros(1, dtype=np.int32),
        by_curve=np.zeros(1, dtype=np.int32),
        curves=curves,
    )


def curve_of(torque_nm: Sequence[float], limit_rpm: float, band_share: float) -> Curves:
    """Return one curve as an assessment tells it."""
    return read_curves(np.array([torque_nm]), np.array([0]), [limit_rpm], band_share)


def missed(one: Field, limits: Sequence[Limit]) -> tuple[MissedLimit, ...]:
    """Return what the only kit of a field misses, as far as it can be told."""
    return tuple(each for limit in limits if _readable(one, limit) for each in _of(one, limit))


def missed_by_curve(curves: Curves, limits: Sequence[Limit]) -> tuple[MissedLimit, ...]:
    """Return what one curve misses of the limits that a curve decides."""
    return tuple(
        _figure(limit, measure, float(have[0]))
        for limit in limits
        for measure in limit.measures
        if isinstance(measure, CurveMeasure) and measure.gap(have := measure.of(curves))[0] > 0.0
    )


def _readable(one: Field, limit: Limit) -> bool:
    read_off = any(isinstance(measure, CurveMeasure) for measure in limit.measures)
    return not read_off or one.curves.limit.size > 0


def _of(one: Field, limit: Limit) -> Iterator[MissedLimit]:
    if limit.passing(one)[0]:
        return
    if limit.measures:
        for measure in limit.measures:
            have = measure.read(one)
            if measure.gap(have)[0] > 0.0:
                yield _figure(limit, measure, float(have[0]))
        return
    yield _kind(limit, [part for part in one.parts_at(0).values() if _spoils(one, limit, part)])


def _spoils(one: Field, limit: Limit, part: Part) -> bool:
    return limit.spoils is not None and limit.spoils(one, part)


def _figure(limit: Limit, measure: AnyMeasure, have: float) -> MissedLimit:
    wanted = f"{_text(measure.wanted)} {measure.unit}"
    if not isfinite(have):
        return MissedLimit(
            limit=limit.name,
            parts=(),
            measured=None,
            wanted=Reading(value=measure.wanted, unit=measure.unit),
            reason=f"Its {measure.what} is not all in {measure.unit}.",
            remedy=f"Choose parts that are priced in {measure.unit}.",
        )
    gap = abs(have - measure.wanted)
    most, more = ("at least", "more") if measure.at_least else ("at most", "less")
    return MissedLimit(
        limit=limit.name,
        parts=(),
        measured=Reading(value=told(have), unit=measure.unit),
        wanted=Reading(value=measure.wanted, unit=measure.unit),
        reason=f"Its {measure.what} is {_text(have)} {measure.unit}; asked for is {most} {wanted}.",
        remedy=f"Take parts that bring it {_text(gap)} {measure.unit} {more}, or ask for {most} "
        f"{_text(have)} {measure.unit}.",
    )


def _text(figure: float) -> str:
    whole, _, rest = f"{figure:,.2f}".partition(".")
    return f"{whole}.{rest}".rstrip("0").rstrip(".")


def _kind(limit: Limit, parts: Sequence[Part]) -> MissedLimit:
    skus = tuple(sorted(part.sku for part in parts))
    named = ", ".join(skus)
    reason, remedy = (
        (f"{named} breaks it.", f"Put another part in place of {named}, or leave the limit out.")
        if skus
        else (
            "Its parts together break it; none does by itself.",
            "Read the block of its assessment that the limit is about, or leave the limit out.",
        )
    )
    return MissedLimit(
        limit=limit.name, parts=skus, measured=None, wanted=None, reason=reason, remedy=remedy
    )
