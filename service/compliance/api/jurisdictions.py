"""Jurisdiction profiles over HTTP: every version, and which of its rows still count."""

from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from typing import Annotated

from fastapi import APIRouter, Query

from service.bodies import ApiRoute
from service.catalog.slots import UseClass
from service.compliance.jurisdictions import (
    JurisdictionNotFound,
    Profile,
    ProfileRow,
    profiles_on,
)
from service.compliance.outcomes import closing
from service.compliance.profiles.store import find_profile_versions
from service.conditional import ValidatorsDep, content_etag
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Key

router = APIRouter(prefix="/v1/jurisdictions", tags=["compliance"], route_class=ApiRoute)

DayQuery = Annotated[date | None, Query(description="As it was read on this day; unsaid: today.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class JurisdictionSummary:
    """One place in a list."""

    key: str
    title: str
    decided_by: str
    version: int
    """Of the profile; rises with every change."""
    issued_on: date
    uses_covered: tuple[UseClass, ...]
    """Uses for which the profile says what papers are asked for."""
    row_count: int
    not_confirmed_count: int
    """Rows that decide nothing on the day asked about."""
    next_stale_on: date | None
    """First day on which a row that counts now will have been checked too long ago."""
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JurisdictionRow(ProfileRow):
    """One point of law, and whether it counts on the day asked about."""

    confirmed: bool
    not_confirmed_because: str | None
    counts_until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Jurisdiction:
    """One version of a profile as data, its rows held against a day."""

    on: date
    profile: Profile
    rows: tuple[JurisdictionRow, ...]
    """The rows of the profile, in their order."""
    versions: tuple[int, ...]
    """All that can be read."""
    sentence: str


@router.get("", responses=problem_responses(400, 422))
def list_jurisdictions(paging: PagingDep, on: DayQuery = None) -> Page[JurisdictionSummary]:
    """Return the places that have a profile, by key."""
    day = on or _today()
    after = str(paging.after[0]) if paging.after else ""
    profiles = profiles_on(find_profile_versions(), day)
    found = [_summary(profile, day) for key, profile in profiles.items() if key > after]
    return paging.page(found, lambda item: (item.key,))


@router.get("/{key}", responses=problem_responses(404, 422))
def read_jurisdiction(
    key: Key,
    validators: ValidatorsDep,
    on: DayQuery = None,
    version: Annotated[
        int | None, Query(ge=1, description="Of the profile; unsaid: the one read on the day.")
    ] = None,
) -> Jurisdiction:
    """Return one profile with all its rows; an old version stays readable."""
    day = on or _today()
    held = [profile for profile in find_profile_versions() if profile.key == key]
    profile = (
        profiles_on(held, day).get(key)
        if version is None
        else next((one for one in held if one.version == version), None)
    )
    if profile is None:
        which = "" if not held else f" on {day}" if version is None else f" in version {version}"
        raise JurisdictionNotFound(key, which)
    validators.send(content_etag(key, profile.version, repr(profile), day.isoformat()))
    return Jurisdiction(
        on=day,
        profile=profile,
        rows=tuple(_row(row, day) for row in profile.rows),
        versions=tuple(one.version for one in held),
        sentence=closing(profile.authority),
    )


def _today() -> date:
    return datetime.now(UTC).date()


def _summary(profile: Profile, day: date) -> JurisdictionSummary:
    confirmed = [row for row in profile.rows if row.is_confirmed(day)]
    return JurisdictionSummary(
        key=profile.key,
        title=profile.title,
        decided_by=profile.authority,
        version=profile.version,
        issued_on=profile.issued_on,
        uses_covered=tuple(profile.papers),
        row_count=len(profile.rows),
        not_confirmed_count=len(profile.rows) - len(confirmed),
        next_stale_on=profile.next_stale_on(day),
        sentence=closing(profile.authority),
    )


def _row(row: ProfileRow, day: date) -> JurisdictionRow:
    return JurisdictionRow(
        **{f.name: getattr(row, f.name) for f in fields(ProfileRow)},
        confirmed=row.is_confirmed(day),
        not_confirmed_because=row.doubt(day),
        counts_until=row.fresh_until,
    )
