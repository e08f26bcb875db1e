"""A reading that is taken while a kit goes on, and what is said of it.

Between the values that pass and those that do not the reading is taken again and the builder is
asked.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.fitup.lengths import MM_PER_INCH
from service.quantities import EDGE_CONFIG, Name, Text
from service.units import lbft_to_nm, lbin_to_nm


class CheckUnit(StrEnum):
    """In what a reading is written down."""

    MM = "mm"
    INCH = "in"
    NM = "N·m"
    LBFT = "lbf·ft"
    LBIN = "lbf·in"


class Judgement(StrEnum):
    """What is said of a reading."""

    ACCEPTED = "accepted"
    LOOK_AGAIN = "look_again"
    OUT_OF_RANGE = "out_of_range"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One reading to be written down; limits in mm or in N·m."""

    __pydantic_config__ = EDGE_CONFIG

    key: Name
    """By which a reading is entered."""
    title: Text
    how: Text
    unit: CheckUnit
    """`mm` or `N·m`: a reading may be entered in inches, lbf·ft and lbf·in too."""
    accept_from: float | None
    accept_to: float | None
    reject_below: float | None
    reject_above: float | None
    source: Text
    places: tuple[Name, ...] = ()
    """Where it is read, a value for each, such as `cylinder 3`; empty: once."""


def judged(check: Check, value: float) -> Judgement:
    """Return what is said of a reading in the check's own unit."""
    if (check.reject_below is not None and value < check.reject_below) or (
        check.reject_above is not None and value > check.reject_above
    ):
        return Judgement.OUT_OF_RANGE
    if (check.accept_from is not None and value < check.accept_from) or (
        check.accept_to is not None and value > check.accept_to
    ):
        return Judgement.LOOK_AGAIN
    return Judgement.ACCEPTED


def is_judged(check: Check) -> bool:
    """Whether the sheet knows any limit for a reading."""
    limits = (check.accept_from, check.accept_to, check.reject_below, check.reject_above)
    return any(limit is not None for limit in limits)


def in_units_of(check: Check, value: float, unit: CheckUnit) -> float | None:
    """Return a reading in the check's own unit; None: the unit measures something else."""
    if check.unit is CheckUnit.MM:
        return {CheckUnit.MM: value, CheckUnit.INCH: value * MM_PER_INCH}.get(unit)
    return {
        CheckUnit.NM: value,
        CheckUnit.LBFT: lbft_to_nm(value),
        CheckUnit.LBIN: lbin_to_nm(value),
    }.get(unit)
