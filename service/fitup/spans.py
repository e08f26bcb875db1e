"""A quantity that is known between two bounds: what nobody measured is carried as a range."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Span:
    """Lowest and highest value that a quantity may have."""

    low: float
    high: float

    @classmethod
    def exactly(cls, value: float) -> "Span":
        """Return the span of a measured value."""
        return cls(value, value)

    @classmethod
    def around(cls, value: float, tolerance: float) -> "Span":
        """Return value ± tolerance."""
        return cls(value - tolerance, value + tolerance)

    def __add__(self, other: "Span") -> "Span":
        return Span(self.low + other.low, self.high + other.high)

    def __sub__(self, other: "Span") -> "Span":
        return Span(self.low - other.high, self.high - other.low)

    def __mul__(self, factor: "Span | float") -> "Span":
        """Return the span of all products."""
        other = factor if isinstance(factor, Span) else Span.exactly(factor)
        ends = [mine * its for mine in (self.low, self.high) for its in (other.low, other.high)]
        return Span(min(ends), max(ends))

    @property
    def middle(self) -> float:
        """Half way between the ends."""
        return (self.low + self.high) / 2.0

    @property
    def width(self) -> float:
        """From end to end."""
        return self.high - self.low

    @property
    def greatest_size(self) -> float:
        """The greatest absolute value."""
        return max(abs(self.low), abs(self.high))

    @property
    def least_size(self) -> float:
        """The least absolute value."""
        return 0.0 if self.low <= 0.0 <= self.high else min(abs(self.low), abs(self.high))

    def holds(self, other: "Span") -> bool:
        """Whether every value of `other` lies in this span."""
        return self.low <= other.low and other.high <= self.high


def hull(spans: Iterable[Span]) -> Span:
    """Return the least span that holds all of them."""
    every = tuple(spans)
    return Span(min(span.low for span in every), max(span.high for span in every))


def total(spans: Iterable[Span]) -> Span:
    """Return the sum of spans."""
    result = Span.exactly(0.0)
    for span in spans:
        result += span
    return result
