"""In which order bolts are tightened, in which passes, and what preload is left.

From the middle outward pushes a flange and its gasket flat; sides alternate. Tightening one
bolt relaxes its neighbours, up to a third and more with a gasket, so that the last passes go
round at full torque until no bolt turns.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, hypot, isclose, pi

import numpy as np
from numpy.typing import NDArray

STAGED_SHARES = (0.2, 0.6, 1.0)
"""Snug, part and full torque (after ASME PCC-1, from memory) [-]."""
NEIGHBOUR_SHARE = 0.35
"""Of a rise, taken from the next bolt at most without a gasket; more with one (engineering page on
elastic interaction; ASME PVP2005-71 on gasketed joints, abstract) [-]."""
RETORQUE_AFTER_HOURS = 4.0
"""After which a last round finds what the gasket let go (after ASME PCC-1, from memory)."""
_STILL_TURNS = 0.01
"""Rise, as a share of the full preload, that a hand on the wrench does not feel."""
_SAME_PLACE_MM = 0.5
_FEWEST_FOR_A_CIRCLE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltPlace:
    """Where a bolt stands, seen from above [mm]."""

    label: str
    along_mm: float
    """Along the crank."""
    across_mm: float
    """Across it; one bank is positive."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One pass over all bolts."""

    order: tuple[int, ...]
    share: float
    """Of full torque [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tightening:
    """What is left in every bolt after every round, as shares of the full preload."""

    after_round: tuple[tuple[float, ...], ...]
    turned: tuple[int, ...]
    """How many bolts turned in each round."""


def tightening_order(places: Sequence[BoltPlace]) -> tuple[int, ...]:
    """Return indices of bolts in the order in which they are tightened."""
    if not places:
        return ()
    along = [place.along_mm for place in places]
    across = [place.across_mm for place in places]
    middle = ((min(along) + max(along)) / 2.0, (min(across) + max(across)) / 2.0)
    if _stand_on_a_circle(places, middle):
        return _crosswise(places, middle)
    sides: tuple[list[int], list[int]] = ([], [])
    for index in sorted(range(len(places)), key=lambda i: _outwards(places[i], middle)):
        sides[int(places[index].across_mm < middle[1] - _SAME_PLACE_MM)].append(index)
    return _in_turn(places, sides, middle)


def _outwards(place: BoltPlace, middle: tuple[float, float]) -> tuple[float, float, float]:
    from_middle = abs(place.along_mm - middle[0])
    return (round(from_middle / _SAME_PLACE_MM), place.along_mm, place.across_mm)


def _in_turn(
    places: Sequence[BoltPlace], sides: tuple[list[int], list[int]], middle: tuple[float, float]
) -> tuple[int, ...]:
    """Take from either side in turn; the longer side goes on alone."""
    first, second = (
        sides
        if not sides[1]
        or (
            sides[0]
            and _outwards(places[sides[0][0]], middle)[0]
            <= _outwards(places[sides[1][0]], middle)[0]
        )
        else (sides[1], sides[0])
    )
    order: list[int] = []
    for rank in range(max(len(first), len(second))):
        order += first[rank : rank + 1] + second[rank : rank + 1]
    return tuple(order)


def _stand_on_a_circle(places: Sequence[BoltPlace], middle: tuple[float, float]) -> bool:
    """Whether all bolts are as far from the middle, and evenly round it: a flange."""
    if len(places) < _FEWEST_FOR_A_CIRCLE:
        return False
    radii = [hypot(p.along_mm - middle[0], p.across_mm - middle[1]) for p in places]
    turns = sorted(_turn(place, middle) for place in places)
    gaps = [b - a for a, b in zip(turns, [*turns[1:], turns[0] + 2.0 * pi], strict=True)]
    return all(isclose(r, radii[0], rel_tol=0.01) for r in radii) and all(
        isclose(gap, gaps[0], rel_tol=0.02) for gap in gaps
    )


def _turn(place: BoltPlace, middle: tuple[float, float]) -> float:
    return atan2(place.along_mm - middle[0], place.across_mm - middle[1]) % (2.0 * pi)


def _crosswise(places: Sequence[BoltPlace], middle: tuple[float, float]) -> tuple[int, ...]:
    """Return opposite pairs, each as far as can be from those before (MIL-HDBK-60, fig. 4)."""
    ring = sorted(range(len(places)), key=lambda i: _turn(places[i], middle))
    half = len(ring) // 2
    if len(ring) % 2:
        return tuple(ring[rank] for rank in _spread(len(ring)))
    return tuple(ring[rank + far] for rank in _spread(half) for far in (0, half))


def _spread(count: int) -> tuple[int, ...]:
    """Return places on a ring, each the farthest from all before it, the first of equals."""
    chosen = [0]
    while len(chosen) < count:
        rest = [place for place in range(count) if place not in chosen]
        chosen.append(
            max(
                rest,
                key=lambda p: (min(min((p - c) % count, (c - p) % count) for c in chosen), -p),
            )
        )
    return tuple(chosen)


def ring_order(places: Sequence[BoltPlace]) -> tuple[int, ...]:
    """Return bolts one after the other round the flange, or along it where they stand in a row."""
    if not places:
        return ()
    along = [place.along_mm for place in places]
    across = [place.across_mm for place in places]
    if max(across) - min(across) <= _SAME_PLACE_MM:
        return tuple(sorted(range(len(places)), key=lambda i: along[i]))
    middle = ((min(along) + max(along)) / 2.0, (min(across) + max(across)) / 2.0)
    return tuple(sorted(range(len(places)), key=lambda i: _turn(places[i], middle)))


def by_distance(
    places: Sequence[BoltPlace], *, next_share: float, reach_mm: float
) -> NDArray[np.float64]:
    """Return what tightening takes from bolts nearby, falling to nothing over `reach_mm` [-]."""
    at = np.array([(place.along_mm, place.across_mm) for place in places])
    apart = np.linalg.norm(at[:, None] - at[None, :], axis=2)
    shares: NDArray[np.float64] = next_share * np.clip(1.0 - apart / reach_mm, 0.0, None)
    np.fill_diagonal(shares, 0.0)
    return shares


def tighten(rounds: Sequence[Round], shares: NDArray[np.float64]) -> Tightening:
    """Return preloads after each round, in the order of the bolts' places.

    Raising a bolt by ΔF lowers bolt j by `shares[j, bolt]` ΔF once j has been tightened; a bolt
    at or above the target of a round is not turned.
    """
    left = np.zeros(len(shares))
    held = np.zeros(len(shares))
    after, turned = [], []
    for this in rounds:
        moved = 0
        for bolt in this.order:
            rise = this.share - left[bolt]
            if rise > 0.0:
                left -= held * shares[:, bolt] * rise
                left[bolt], held[bolt] = this.share, 1.0
                moved += rise > _STILL_TURNS
        after.append(tuple(float(each) for each in left))
        turned.append(int(moved))
    return Tightening(after_round=tuple(after), turned=tuple(turned))


def rounds_until_still(
    order: Sequence[int], ring: Sequence[int], shares: NDArray[np.float64], *, most: int = 20
) -> tuple[Round, ...]:
    """Return snug, part and full in tightening order, then full ones in a ring until none turns."""
    rounds = [Round(order=tuple(order), share=share) for share in STAGED_SHARES]
    while tighten(rounds, shares).turned[-1] and len(rounds) < most:
        rounds.append(Round(order=tuple(ring), share=1.0))
    return tuple(rounds)
