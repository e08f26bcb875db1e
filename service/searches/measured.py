"""Limits as tests of every kit; of those that are figures, how far a kit is from them."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from service.catalog.parts import Part
from service.engine.inputs import FloatArray
from service.searches.curves import Curves
from service.searches.field import Field
from service.searches.question import SearchRequest, TorqueAt

Passing = NDArray[np.bool_]
LEAST_WANTED = 1e-9
"""So that a limit of nothing at all is missed altogether, not by a share of nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A figure of a kit beside what is asked for."""

    what: str
    """In words, after `its`."""
    unit: str
    wanted: float
    at_least: bool

    def gap(self, have: FloatArray) -> FloatArray:
        """Return how much is missing; 0 or less: nothing."""
        return self.wanted - have if self.at_least else have - self.wanted

    def share(self, have: FloatArray) -> FloatArray:
        """Return how much of what is asked for is missing, at most all of it."""
        return np.clip(self.gap(have) / max(abs(self.wanted), LEAST_WANTED), 0.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveMeasure(Measure):
    """A figure that is read off a curve."""

    of: Callable[[Curves], FloatArray]

    def read(self, field: Field) -> FloatArray:
        """Return it of every row."""
        return np.asarray(self.of(field.curves)[field.curve_of])

    def kept(self, field: Field) -> Passing:
        """Return which rows have enough."""
        return np.asarray((self.gap(self.of(field.curves)) <= 0.0)[field.curve_of])


@dataclass(frozen=True, slots=True, kw_only=True)
class KitMeasure(Measure):
    """A figure of parts."""

    of: Callable[[Field], FloatArray]

    def read(self, field: Field) -> FloatArray:
        """Return it of every row."""
        return self.of(field)

    def kept(self, field: Field) -> Passing:
        """Return which rows have enough."""
        return np.asarray(self.gap(self.of(field)) <= 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit, by the name of its field in the request."""

    name: str
    passing: Callable[[Field], Passing]
    """Which rows keep it."""
    measures: tuple[CurveMeasure | KitMeasure, ...] = ()
    """What it measures; empty: it is kept or not."""
    spoils: Callable[[Field, Part], bool] | None = None
    """Whether a part by itself breaks it; null: no part does by itself."""


def measured(name: str, *measures: CurveMeasure | KitMeasure) -> Limit:
    """Return a limit that is kept where every figure is."""

    def passing(field: Field) -> Passing:
        return np.asarray(np.all([measure.kept(field) for measure in measures], axis=0))

    return Limit(name=name, passing=passing, measures=measures)


def curve_limits(asked: SearchRequest) -> tuple[Limit, ...]:
    """Return those limits that a curve decides."""
    limits = asked.limits
    found = []
    if limits.rev_limit_at_least_rpm is not None:
        found.append(_rev_limit(limits.rev_limit_at_least_rpm))
    found += [_torque(one) for one in limits.torque_at]
    if limits.band_covers is not None:
        found.append(_band(limits.band_covers.low_rpm, limits.band_covers.high_rpm))
    if limits.power_at_least_kw is not None:
        found.append(_power(limits.power_at_least_kw))
    return tuple(found)


def _rev_limit(least: float) -> Limit:
    measure = CurveMeasure(
        what="rev limit",
        unit="rev/min",
        wanted=least,
        at_least=True,
        of=lambda curves: np.array(curves.limits_rpm)[curves.limit],
    )
    return measured("rev_limit_at_least_rpm", measure)


def _torque(wanted: TorqueAt) -> Limit:
    measure = CurveMeasure(
        what=f"torque at {wanted.speed_rpm:,.0f} rev/min",
        unit="N·m",
        wanted=wanted.torque_at_least_nm,
        at_least=True,
        of=partial(_torque_at, speed_rpm=wanted.speed_rpm),
    )
    return measured(f"torque_at.{wanted.speed_rpm:g}", measure)


def _torque_at(curves: Curves, speed_rpm: float) -> FloatArray:
    return curves.torque_at(speed_rpm)


def _band(low_rpm: float, high_rpm: float) -> Limit:
    low = CurveMeasure(
        what="band's lower end",
        unit="rev/min",
        wanted=low_rpm,
        at_least=False,
        of=lambda curves: curves.band_low_rpm,
    )
    high = CurveMeasure(
        what="band's upper end",
        unit="rev/min",
        wanted=high_rpm,
        at_least=True,
        of=lambda curves: curves.band_high_rpm,
    )
    return measured("band_covers", low, high)


def _power(least_kw: float) -> Limit:
    measure = CurveMeasure(
        what="peak power",
        unit="kW",
        wanted=least_kw,
        at_least=True,
        of=lambda curves: curves.peak_power / 1e3,
    )
    return measured("power_at_least_kw", measure)


def shortfalls(field: Field, limits: tuple[Limit, ...]) -> FloatArray:
    """Return how far every kit is from keeping all limits: the shares missing, added up.

    A limit that is no figure is missed by all of it.
    """
    found = np.zeros(len(field.rows))
    for limit in limits:
        if limit.measures:
            for measure in limit.measures:
                found += measure.share(measure.read(field))
        else:
            found += ~limit.passing(field)
    # Figures that differ in their last bits only are as near.
    return np.round(found, 9)
