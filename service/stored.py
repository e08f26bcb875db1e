"""A value as the store keeps it: with its version and the time of its last change."""

from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored(Generic[T_co]):
    """One kept value."""

    value: T_co
    version: int
    """Starts at 1 and rises by one with every change."""
    updated_at: datetime
    """Of the last change, in UTC."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """How many values a bulk write made, changed and left as they were."""

    created: int = 0
    updated: int = 0
    unchanged: int = 0
