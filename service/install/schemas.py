"""What is sent and answered about work sheets."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from annotated_types import Ge, Le, MaxLen, MinLen

from service.install.checks import CheckUnit, Judgement
from service.install.sheet import WorkSheet
from service.install.told import BoltedJoint
from service.quantities import ANSWER_KEY, EDGE_CONFIG, STRICT, Name, Text

AssessmentKey = Annotated[str, STRICT, ANSWER_KEY]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheetIn:
    """A work sheet to be made."""

    __pydantic_config__ = EDGE_CONFIG

    assessment: AssessmentKey
    """Key of the assessment of the kit; it is assessed anew where the catalogue has moved on."""
    by: Name
    """Who asks for it."""
    joints: Annotated[tuple[BoltedJoint, ...], MaxLen(10)] = ()
    """Joints whose bolts are known; for the others the sheet leaves blanks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheetOut:
    """One work sheet as it was made."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    made_at: datetime
    made_by: str
    sheet: WorkSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingIn:
    """One value from the sheet."""

    __pydantic_config__ = EDGE_CONFIG

    check: Name
    """Key of the check."""
    place: Name | None = None
    """Where it was read, as the check names it; null: one value for all, the worst."""
    value: Annotated[float, STRICT, Ge(-10_000), Le(10_000)]
    unit: CheckUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsIn:
    """Values that somebody read off the engine."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    """Who read them."""
    readings: Annotated[tuple[ReadingIn, ...], MinLen(1), MaxLen(500)]
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingOut:
    """One value that was entered."""

    __pydantic_config__ = EDGE_CONFIG

    number: int
    check: str
    place: str | None
    """Null: one value for the whole check."""
    value: float
    unit: CheckUnit
    outcome: Judgement | None
    """Null: the sheet knows no limit for it."""
    by: str
    at: datetime
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsOut:
    """Every value that was entered, and what is open."""

    __pydantic_config__ = EDGE_CONFIG

    readings: tuple[ReadingOut, ...]
    out_of_range: tuple[str, ...]
    """Checks whose newest value is past its reject value."""
    missing: tuple[str, ...]
    """Checks without a value, or without one for each of their places."""
