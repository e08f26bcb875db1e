"""What a jurisdiction profile holds: rows of law, each with its citation, mark and date."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from typing import Annotated

from annotated_types import MinLen

from service.catalog.slots import UseClass
from service.compliance.days import FRESH_FOR_DAYS
from service.compliance.documents import DocumentType
from service.compliance.inspections import ReadinessAllowance
from service.errors import NotFound
from service.quantities import EDGE_CONFIG, Flag, IsoDate, Key, Name, PositiveCount, Text, Year


class Mark(StrEnum):
    """How well a row is known."""

    READ = "read"
    READ_IN_PART = "read_in_part"
    SECONDARY = "secondary"
    MEMORY = "memory"


class Topic(StrEnum):
    """What a row speaks of."""

    PAPERS = "papers"
    DEVICES = "devices"
    SOFTWARE = "software"
    INSPECTION = "inspection"
    COMPETITION = "competition"
    CHANGED_ENGINE = "changed_engine"
    SAFETY = "safety"
    PENALTY = "penalty"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileRow:
    """One point of law, in our own words."""

    __pydantic_config__ = EDGE_CONFIG

    topic: Topic
    uses: tuple[UseClass, ...] = ()
    """Empty: all."""
    citation: Annotated[Text, MinLen(1)]
    text: Annotated[Text, MinLen(1)]
    mark: Mark
    valid_from: IsoDate | None = None
    valid_to: IsoDate | None = None
    checked_on: IsoDate
    decided_by: Name
    sources_differ: Text | None = None
    """What another source says, or what the one read leaves open; such a row decides nothing.
    None: none that was read differs."""

    def speaks_of(self, use: UseClass) -> bool:
        """Return whether the row is about this use."""
        return not self.uses or use in self.uses

    @property
    def fresh_until(self) -> date:
        """Last day on which the check still counts."""
        return self.checked_on + timedelta(days=FRESH_FOR_DAYS)

    def is_confirmed(self, today: date) -> bool:
        """Return whether the row may decide anything today."""
        return self.doubt(today) is None

    def doubt(self, today: date) -> str | None:
        """Return why the row may not decide anything today; None: it may."""
        reason = self._never() or self._not_on(today)
        return None if reason is None else f"not confirmed: {reason}"

    def _never(self) -> str | None:
        """Return why it decides nothing on any day."""
        if self.mark is Mark.MEMORY:
            return "written from memory"
        if self.sources_differ is not None:
            return f"sources differ. {self.sources_differ}"
        return None

    def _not_on(self, today: date) -> str | None:
        """Return why it does not count on this day."""
        if self.valid_from is not None and today < self.valid_from:
            return f"in force from {self.valid_from.isoformat()}"
        if self.valid_to is not None and self.valid_to < today:
            return f"in force until {self.valid_to.isoformat()}"
        if today < self.checked_on:
            return f"checked later, on {self.checked_on.isoformat()}"
        if self.fresh_until < today:
            return f"checked more than {FRESH_FOR_DAYS} days ago, on {self.checked_on.isoformat()}"
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperRule:
    """Which papers a profile asks for, for one use."""

    __pydantic_config__ = EDGE_CONFIG

    groups: Annotated[tuple[tuple[DocumentType, ...], ...], MinLen(1)]
    """Of every group one paper is needed."""
    honours: tuple[Key, ...] = ()
    """Other profiles whose papers for this use count here."""
    unconfirmed: tuple[DocumentType, ...] = ()
    """Types that are said to serve and are not confirmed: at best they serve in part."""
    first_model_year: Year | None = None
    """No emission rule of the profile is older."""
    decision_row: PositiveCount | None = None
    """Row of the decision table; None: the rows for executive orders."""
    official_without_paper: Flag = False
    """Whether a named official decides where paper is missing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One jurisdiction, as far as its rules are known here."""

    __pydantic_config__ = EDGE_CONFIG

    key: Key
    version: PositiveCount
    """Rises with every change of its content; older versions stay readable."""
    issued_on: IsoDate
    """Day from which this version is the one that assessments read."""
    title: Name
    authority: Name
    """Who decides."""
    honours_safety: tuple[Key, ...] = ()
    """Other profiles whose safety evidence counts here."""
    papers: dict[UseClass, PaperRule] = field(default_factory=dict)
    """By use; a use that is not named is not covered."""
    software_must_stay: Flag = False
    """Whether changed software is by itself a prohibited act."""
    no_periodic_test_until_model_year: Year | None = None
    no_periodic_test_for_model_years: PositiveCount | None = None
    """Vehicles up to this age have no periodic test. [model years]"""
    readiness: tuple[ReadinessAllowance, ...] = ()
    """Room that a periodic test leaves for incomplete monitors."""
    rows: Annotated[tuple[ProfileRow, ...], MinLen(1)]

    def rows_for(self, use: UseClass) -> tuple[ProfileRow, ...]:
        """Return the rows that speak of a use."""
        return tuple(row for row in self.rows if row.speaks_of(self._ruled_as(use)))

    def rows_about(self, topic: Topic, use: UseClass) -> tuple[ProfileRow, ...]:
        """Return the rows on a topic for a use."""
        return tuple(row for row in self.rows_for(use) if row.topic is topic)

    def is_confirmed(self, topic: Topic, use: UseClass, today: date) -> bool:
        """Return whether a row on the topic may decide today."""
        return any(row.is_confirmed(today) for row in self.rows_about(topic, use))

    def next_stale_on(self, today: date) -> date | None:
        """Return the first day on which a row that counts today was checked too long ago."""
        counting = [row.fresh_until for row in self.rows if row.is_confirmed(today)]
        return min(counting) + timedelta(days=1) if counting else None

    def paper_rule(self, use: UseClass) -> PaperRule | None:
        """Return the paper rule for a use; None: the use is not covered."""
        return self.papers.get(self._ruled_as(use))

    def _ruled_as(self, use: UseClass) -> UseClass:
        """Return the use whose rows apply: a claim of competition leaves those of the road."""
        if use is UseClass.COMPETITION and use not in self.papers:
            return UseClass.ROAD
        return use


Profiles = Mapping[str, Profile]


class JurisdictionNotFound(NotFound):
    """No profile has this key, or none of that version or day."""

    def __init__(self, key: str, which: str = "") -> None:
        super().__init__(f"No jurisdiction profile has the key {key!r}{which}.")


def profiles_on(versions: Iterable[Profile], day: date) -> dict[str, Profile]:
    """Return of each jurisdiction the version that was read on a day, by its key."""
    issued = sorted(
        (profile for profile in versions if profile.issued_on <= day),
        key=lambda profile: (profile.key, profile.version),
    )
    return {profile.key: profile for profile in issued}
