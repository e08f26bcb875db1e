"""A work sheet as plain blocks of words: what the page and the printed sheet both draw."""

from dataclasses import dataclass
from datetime import datetime

from service.install.checks import CheckUnit, Judgement
from service.plots.svg import Drawing


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value that was written down."""

    check: str
    place: str | None
    value: float
    unit: CheckUnit
    outcome: Judgement | None
    by: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A heading with what stands under it; what is empty is left out."""

    heading: str
    lines: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    widths: tuple[str, ...] = ()
    """Of the columns on paper: a number is a share of what `auto` leaves over."""
    rows: tuple[tuple[str, ...], ...] = ()
    drawing: Drawing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Everything of a work sheet that is drawn."""

    title: str
    about: str
    note: str
    blocks: tuple[Block, ...]
