"""From values to places on a drawing, and the round numbers written along an axis."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, log10

TICKS_WANTED = 6
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
"""Mantissas of a step that a reader can count in."""
HAIR = 1e-9
"""Rounding of a division, as a share of a step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """A straight scale between two ends, with its round numbers."""

    low: float
    high: float
    start: float
    """Where `low` stands on the drawing."""
    end: float
    ticks: tuple[float, ...]

    def at(self, value: float) -> float:
        """Return where a value stands."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def scale_over(
    values: Iterable[float], start: float, end: float, *, from_zero: bool = False
) -> Scale:
    """Return a scale that holds every value and ends on round numbers."""
    found = [*values, *([0.0] if from_zero else [])]
    low, high = min(found), max(found)
    if low == high:
        low, high = (low - 1.0, high + 1.0) if low else (0.0, 1.0)
    step = _step((high - low) / TICKS_WANTED)
    first, last = floor(low / step + HAIR), ceil(high / step - HAIR)
    ticks = tuple(round(count * step, 10) for count in range(first, last + 1))
    return Scale(low=ticks[0], high=ticks[-1], start=start, end=end, ticks=ticks)


def tick_text(value: float) -> str:
    """Write a round number: thousands apart, no digits that say nothing."""
    return f"{value:,.6g}"


def _step(rough: float) -> float:
    power: float = 10.0 ** floor(log10(rough))
    return next(mantissa * power for mantissa in STEPS if mantissa * power >= rough * (1 - HAIR))
