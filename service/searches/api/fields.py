"""Fields at hand: listed once, held within a bound, and never waited for where they are."""

from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.searches.curves import Curves
from service.searches.field import Field

MOST_BYTES = 200_000_000
"""Of arrays in all fields at hand, equal ones counted once; one field is held whatever it
takes. The largest of the demo takes 65 MB, and for another use hardly any more."""


class FieldsAtHand:
    """What goes together, by key, the one that was asked for last at the end."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._most_bytes = most_bytes
        self._held: OrderedDict[str, Field] = OrderedDict()
        self._holding = Lock()
        """Never held for longer than a look."""
        self._listing = Lock()
        """Of two that are listed at once, each would take twice as long and twice the room."""

    def get(self, key: str, list_it: Callable[[], Field]) -> Field:
        """Return a field; it is listed where it is not at hand, by one caller for all."""
        found = self._find(key)
        if found is not None:
            return found
        with self._listing:
            found = self._find(key)
            if found is None:
                found = self._keep(key, list_it())
        return found

    def __len__(self) -> int:
        return len(self._held)

    @property
    def held_bytes(self) -> int:
        """Return what all of them take together."""
        held = [each for one in self._held.values() for each in (one, one.curves)]
        arrays = [array for one in held for array in _arrays(one).values()]
        return sum({id(array): array.nbytes for array in arrays}.values())

    def _find(self, key: str) -> Field | None:
        with self._holding:
            found = self._held.get(key)
            if found is not None:
                self._held.move_to_end(key)
        return found

    def _keep(self, key: str, listed: Field) -> Field:
        # Another use, year or price leaves most curves as they are.
        shared = _sharing(listed, tuple(self._held.values()))
        with self._holding:
            self._held[key] = shared
            while len(self._held) > 1 and self.held_bytes > self._most_bytes:
                self._held.popitem(last=False)
        return shared


def _arrays(of: Field | Curves) -> dict[str, NDArray[Any]]:
    found = {each.name: getattr(of, each.name) for each in fields(of)}
    return {name: value for name, value in found.items() if isinstance(value, np.ndarray)}


def _sharing(listed: Field, others: Iterable[Field]) -> Field:
    """Return a field that takes from others what is equal there, so that it is held once."""
    for other in others:
        curves = replace(listed.curves, **_equal(listed.curves, other.curves))
        listed = replace(listed, curves=curves, **_equal(listed, other))
    return listed


def _equal(one: Field | Curves, other: Field | Curves) -> dict[str, Any]:
    theirs = _arrays(other)
    return {
        name: theirs[name]
        for name, own in _arrays(one).items()
        if np.array_equal(own, theirs[name])
    }
