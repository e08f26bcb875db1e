"""What would have to give where nothing fits, and what a step from a kit in hand brings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.inputs import FloatArray
from service.searches.field import Field, price_cents
from service.searches.limits import Bits
from service.searches.ranking import Hand, best_rows

MOST_CHANGES = 3
"""A change of more parts than this is another kit."""
THERE = -1.0
"""How far a kit is from the goal that keeps every limit: nearer than any that does not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxation:
    """A smallest set of limits without which some kit fits, and the best kit it opens."""

    limits: tuple[int, ...]
    """Numbers of the limits."""
    row: int
    kits: int
    """How many kits it opens."""


def relaxations(
    field: Field, bits: Bits, values: FloatArray, masks: Sequence[np.uint64]
) -> tuple[Relaxation, ...]:
    """Return sets of limits without which some kit fits, each with the best kit it opens.

    A set opens a kit when it holds every limit that the kit breaks; so the smallest sets
    are those sets of broken limits that contain no other.
    """
    found = []
    for mask in masks:
        among = np.flatnonzero((bits & ~mask) == 0)
        found.append(
            Relaxation(
                limits=tuple(number for number in range(64) if int(mask) >> number & 1),
                row=int(best_rows(field, values, among, 1)[0]),
                kits=int(among.size),
            )
        )
    return tuple(found)


def minimal_masks(masks: NDArray[np.uint64]) -> list[np.uint64]:
    """Return the masks that contain no other, fewest bits first.

    >>> [int(mask) for mask in minimal_masks(np.array([7, 3, 4, 12], dtype=np.uint64))]
    [4, 3]
    """
    by_size = sorted(masks, key=lambda mask: (int(mask).bit_count(), int(mask)))
    kept: list[np.uint64] = []
    for mask in by_size:
        if not any((other & mask) == other for other in kept):
            kept.append(mask)
    return kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The cheapest change of so many parts that reaches what is asked for."""

    changes: int
    row: int
    reaches: bool
    """False: none of so many parts does; this one comes nearest."""
    cents: int
    """Of the new parts."""


def steps(
    field: Field,
    hand: Hand,
    values: FloatArray,
    reached: NDArray[np.bool_],
    missing: FloatArray,
) -> tuple[Step, ...]:
    """Return the ladder from a kit in hand: one part, two, three; none where it is there.

    `missing` says how far each kit is from the goal. A rung that reaches it costs less than
    every rung before it that does, one that does not is nearer than the kit in hand and every
    rung before it: the cheapest of the nearest. Values, then SKUs, decide between equal ones.
    """
    apart = (field.rows != hand).sum(axis=1)
    far = np.where(reached, THERE, missing)
    best = float(far[apart == 0].min(initial=np.inf)), -1
    found: list[Step] = []
    for changes in range(1, MOST_CHANGES + 1):
        among = np.flatnonzero(apart == changes)
        if among.size == 0:
            continue
        cents = change_cents(field, hand, among)
        first = int(np.lexsort((among, -values[among], cents, far[among]))[0])
        row = int(among[first])
        step = Step(changes=changes, row=row, reaches=bool(reached[row]), cents=int(cents[first]))
        if far[row] < best[0] or (step.reaches and step.cents < best[1]):
            best = float(far[row]), step.cents
            found.append(step)
    return tuple(found)


def change_cents(field: Field, hand: Hand, among: NDArray[np.intp]) -> NDArray[np.int64]:
    """Return what the parts cost that differ from those in hand."""
    total = np.zeros(among.size, dtype=np.int64)
    for place, slot in enumerate(field.offer.slots):
        cents = np.array(
            [price_cents(field.kit, part) for part in field.offer.members[slot]], dtype=np.int64
        )
        member = field.rows[among, place]
        total += np.where(member != hand[place], cents[member], 0)
    return total
