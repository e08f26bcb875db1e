"""The passes over the bolts of a joint, and the preload that each of them leaves by a model."""

from dataclasses import dataclass
from itertools import combinations
from math import hypot

from service.fitup.tightening import (
    NEIGHBOUR_SHARE,
    BoltPlace,
    by_distance,
    ring_order,
    rounds_until_still,
    tighten,
)
from service.fitup.torque import Torque
from service.install.told import BoltAt
from service.quantities import EDGE_CONFIG, Count, Text

REACH_IN_SPACINGS = 2.0
"""How far tightening is felt, in least distances between bolts (assumption of the model) [-]."""
_TITLES = ("Snug", "Part", "Full")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreeTorques:
    """One torque in the three units in which a wrench may be marked; always together."""

    __pydantic_config__ = EDGE_CONFIG

    torque_nm: float
    torque_lbft: float
    torque_lbin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One pass over the bolts."""

    __pydantic_config__ = EDGE_CONFIG

    number: Count
    title: Text
    share: float
    """Of the full torque [-]."""
    torque: ThreeTorques | None
    """Null: no torque is known; it is written in by hand."""
    order: tuple[int, ...]
    """Numbers of the bolts in the order of the drawing; empty: the layout is not known."""
    least_left: float | None
    """Of the full preload in the loosest bolt after it, by the model [-]."""


def three_torques(torque_nm: float) -> ThreeTorques:
    """Return one torque in all three units."""
    torque = Torque(torque_nm=torque_nm)
    return ThreeTorques(
        torque_nm=torque_nm, torque_lbft=torque.torque_lbft, torque_lbin=torque.torque_lbin
    )


def bolt_places(places: tuple[BoltAt, ...]) -> list[BoltPlace]:
    """Return the bolts as the tightening order looks at them."""
    return [
        BoltPlace(label=str(rank), along_mm=place.along_mm, across_mm=place.across_mm)
        for rank, place in enumerate(places)
    ]


def passes_over(
    places: list[BoltPlace], order: tuple[int, ...], torque: ThreeTorques | None
) -> tuple[tuple[Pass, ...], tuple[float, ...]]:
    """Return the passes, and what the model leaves in each bolt after the first full one."""
    if not places:
        blank = [(title, share) for title, share in zip(_TITLES, (0.2, 0.6, 1.0), strict=True)]
        blank.append(("Full, round and round until no bolt turns", 1.0))
        return tuple(
            _pass(number, title, share, torque, (), None)
            for number, (title, share) in enumerate(blank, start=1)
        ), ()
    number_of = {bolt: number for number, bolt in enumerate(order, start=1)}
    reach = REACH_IN_SPACINGS * _spacing_mm(places)
    shares = by_distance(places, next_share=NEIGHBOUR_SHARE, reach_mm=reach)
    rounds = rounds_until_still(order, ring_order(places), shares)
    left = tighten(rounds, shares).after_round
    passes = tuple(
        _pass(
            rank + 1,
            _TITLES[rank] if rank < len(_TITLES) else "Full, round the joint",
            each.share,
            torque,
            tuple(number_of[bolt] for bolt in each.order),
            min(left[rank]),
        )
        for rank, each in enumerate(rounds)
    )
    return passes, tuple(left[2][bolt] for bolt in order)


def _pass(
    number: int,
    title: str,
    share: float,
    torque: ThreeTorques | None,
    order: tuple[int, ...],
    least: float | None,
) -> Pass:
    return Pass(
        number=number,
        title=title,
        share=share,
        torque=None if torque is None else three_torques(share * torque.torque_nm),
        order=order,
        least_left=least,
    )


def _spacing_mm(places: list[BoltPlace]) -> float:
    apart = (
        hypot(a.along_mm - b.along_mm, a.across_mm - b.across_mm)
        for a, b in combinations(places, 2)
    )
    return max(min(apart, default=1.0), 1.0)
