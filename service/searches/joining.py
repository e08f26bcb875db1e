"""Combinations that pass every screen: counted without being listed, and listed.

A choice is one member out of each place; a screen says of the members of a few places
which go together. Counting contracts the screens as a tensor network; listing joins place
after place, so that no more rows are ever held than what can still become a choice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Members = NDArray[np.uint8]
"""Of shape (n, places): which member of each place."""
Allowed = NDArray[np.bool_]
MOST_ENTRIES = 1 << 26
"""Of a table between two contractions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """Which members of a few places go together."""

    name: str
    """Screens of one name are counted as one."""
    places: tuple[int, ...]
    """In ascending order."""
    allowed: Allowed
    """One axis for each of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """Choices that pass, in the order of their members."""

    rows: Members
    complete: bool
    """False: more would pass, but the budget of rows was spent."""
    proven: tuple[int, ...]
    """Members of the first place whose choices are all here."""


def raw_count(sizes: Sequence[int]) -> int:
    """Return how many choices there are before any screen.

    >>> raw_count((3, 4, 5))
    60
    """
    total = 1
    for size in sizes:
        total *= size
    return total


def passing_count(sizes: Sequence[int], screens: Sequence[Screen]) -> int:
    """Return how many choices pass, without listing them.

    >>> even = Screen(name="even", places=(0, 1), allowed=np.eye(3, 4, dtype=bool))
    >>> passing_count((3, 4, 5), [even])
    15
    """
    operands: list[Any] = []
    for screen in screens:
        operands += [screen.allowed.astype(np.float64), list(screen.places)]
    seen = {place for screen in screens for place in screen.places}
    free = raw_count([size for place, size in enumerate(sizes) if place not in seen])
    if not operands:
        return free
    # Counts are whole and below 2**53, so that sums of doubles are exact.
    # Without room for them, a step's small tables would all be contracted in one loop.
    found = np.einsum(*operands, [], optimize=("greedy", MOST_ENTRIES))
    return free * round(float(found))


def listing(sizes: Sequence[int], screens: Sequence[Screen], most: int) -> Listing:
    """List the choices that pass, up to `most` of them.

    Where there are more, the members of the first place are taken one after the other for
    as long as all choices of each still fit.
    """
    if passing_count(sizes, screens) <= most:
        everything = tuple(range(sizes[0]))
        return Listing(rows=_joined(sizes, screens), complete=True, proven=everything)
    parts, proven, room = [np.zeros((0, len(sizes)), dtype=np.uint8)], [], most
    for member in range(sizes[0]):
        only = np.arange(sizes[0]) == member
        own = [*screens, Screen(name="", places=(0,), allowed=only)]
        count = passing_count(sizes, own)
        if count <= room:
            parts.append(_joined(sizes, own))
            proven.append(member)
            room -= count
    return Listing(rows=np.concatenate(parts), complete=False, proven=tuple(proven))


def passes(rows: Members, screen: Screen) -> NDArray[np.bool_]:
    """Return which rows pass one screen."""
    return np.asarray(screen.allowed[tuple(rows[:, place] for place in screen.places)])


def _joined(sizes: Sequence[int], screens: Sequence[Screen]) -> Members:
    left = list(range(len(sizes)))
    order: list[int] = []
    rows: Members = np.zeros((1, 0), dtype=np.uint8)
    while left:
        place = _next_place(left, order, sizes, screens)
        left.remove(place)
        order.append(place)
        ready = [s for s in screens if place in s.places and set(s.places) <= set(order)]
        fits = np.ones((len(rows), sizes[place]), dtype=bool)
        for screen in ready:
            others = [other for other in screen.places if other != place]
            table = np.moveaxis(screen.allowed, screen.places.index(place), -1)
            fits &= table[tuple(rows[:, order.index(other)] for other in others)]
        of, member = np.nonzero(fits)
        rows = np.concatenate((rows[of], member.astype(np.uint8)[:, None]), axis=1)
    rows = rows[:, np.argsort(order)]
    return rows[np.lexsort(rows.T[::-1])]


def _next_place(
    left: Sequence[int], order: Sequence[int], sizes: Sequence[int], screens: Sequence[Screen]
) -> int:
    """Return the place that lets the fewest rows through, as far as its screens tell."""

    def growth(place: int) -> tuple[float, int]:
        share = 1.0
        for screen in screens:
            if place in screen.places and set(screen.places) <= {*order, place}:
                share *= float(screen.allowed.mean())
        waiting = sum(place in screen.places for screen in screens)
        return share * sizes[place], -waiting

    return min(left, key=growth)
