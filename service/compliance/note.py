"""Block 4: outcome, what is documented, what is missing, who decides, on which citations.

The worst ground heads the note; a matter for an authority, or one that no profile covers,
is shown beside it. Nothing here concludes that anything may be done.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from service.catalog.devices import DEVICE_TERMS
from service.catalog.slots import UseClass
from service.compliance.application import Application
from service.compliance.days import TEST_COUNTS_FOR_DAYS
from service.compliance.devices import DeviceBlock
from service.compliance.evidence import Evidence, Ground
from service.compliance.grounds import SOLE_COMPETITION_ROW, grounds
from service.compliance.inspections import Functional, counting_tests
from service.compliance.jurisdictions import Profile, ProfileRow, Topic
from service.compliance.marine import SafetyQuestion, open_questions, safety_questions
from service.compliance.outcomes import Outcome, Statement, closing, shown, statement
from service.compliance.paperwork import Combination, PaperworkBlock
from service.compliance.reasons import PAPER_WORDS
from service.quantities import EDGE_CONFIG, Flag, Key, Name, PositiveCount, Text

NOBODY_NAMED = "The authority of the place"


@dataclass(frozen=True, slots=True, kw_only=True)
class CitedRow:
    """A row of the profile that the note rests on."""

    __pydantic_config__ = EDGE_CONFIG

    row: ProfileRow
    confirmed: Flag
    """False: from memory, out of date, or checked too long ago; decides nothing."""
    not_confirmed_because: Text | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JurisdictionNote:
    """Block 4 of the report."""

    __pydantic_config__ = EDGE_CONFIG

    place: Key
    title: Name
    outcome: Outcome
    """The worst; the first of `statements`."""
    statements: tuple[Statement, ...]
    grounds: tuple[Ground, ...]
    documented: tuple[Text, ...]
    missing: tuple[Text, ...]
    decided_by: Name
    cautions: tuple[Text, ...]
    citations: tuple[CitedRow, ...]
    profile_version: PositiveCount | None = None
    """Version of the profile that was read; it stays readable."""
    safety_questions: tuple[SafetyQuestion, ...] = ()
    """What a vessel is asked; an open one holds back the work sheet."""
    blocks_work_sheet: Flag
    """Whether safety evidence is missing without which no work sheet is printed."""


def jurisdiction_note(evidence: Evidence) -> JurisdictionNote:
    """Return the note for one kit in one place."""
    profile = evidence.profile
    authority = profile.authority if profile else NOBODY_NAMED
    found = grounds(evidence)
    outcomes = shown(ground.outcome for ground in found)
    asked = safety_questions(evidence.parts, evidence.application.use, evidence.paperwork)
    return JurisdictionNote(
        place=evidence.application.place,
        title=profile.title if profile else evidence.application.place,
        outcome=outcomes[0],
        statements=tuple(statement(outcome, authority) for outcome in outcomes),
        grounds=found,
        documented=(*_documented(evidence.paperwork), *_tested(evidence.devices)),
        missing=_missing(evidence, found),
        decided_by=authority,
        cautions=_cautions(evidence, authority),
        citations=_citations(evidence),
        profile_version=profile.version if profile else None,
        safety_questions=asked,
        blocks_work_sheet=bool(open_questions(asked)),
    )


def _documented(paperwork: PaperworkBlock) -> tuple[str, ...]:
    return tuple(
        f"{one.sku}: {match.number}, {match.type.value.replace('_', ' ')} of {match.issuer}, "
        f"{match.issued_on.isoformat()}."
        for one in paperwork.parts
        for match in one.documents
        if match.outcome is Outcome.PAPER_MATCHES
    )


def _tested(devices: DeviceBlock) -> tuple[str, ...]:
    """Return the tests told of; a repair that ends with one is on record by it (row 3)."""
    return tuple(
        f"{row.device.value}: {'refitted after repair and ' if row.test.after_repair else ''}"
        f"{row.test.result.value} its test of {row.test.tested_on.isoformat()} by "
        f"{row.test.by_whom}: {row.test.method}"
        for row in devices.rows
        if row.test is not None and row.test.result is not Functional.NOT_TESTED
    )


SOLE_COMPETITION = (
    "Evidence of sole competition: a sanctioning body, features that make other use "
    "impractical, no other use, the label destroyed, written notice to the next holder."
)
"""What an authority looks at (40 CFR 1068.235; 13 CCR 2440(a)(3))."""


def _missing(evidence: Evidence, found: Iterable[Ground]) -> tuple[str, ...]:
    full = (Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN)
    open_parts = [
        f"{one.sku}: {' '.join(one.reasons) or PAPER_WORDS[one.outcome]}"
        for one in evidence.paperwork.parts
        if one.outcome not in full
    ]
    if evidence.paperwork.combination is Combination.NOT_DOCUMENTED:
        open_parts.append("A paper that names the changed parts together.")
    untested = [
        DEVICE_TERMS[row.device].title
        for row in evidence.devices.rows
        if row.functional is Functional.NOT_TESTED
    ]
    if untested:
        open_parts.append(f"A test on the vehicle of each of these devices: {'; '.join(untested)}.")
    told = evidence.application.device_tests
    if counting_tests(told, evidence.application.changed_on, evidence.today) != told:
        open_parts.append(
            "Tests told of that count: none from before the parts were fitted is taken, and where "
            f"that day is not said, none older than {TEST_COUNTS_FOR_DAYS} days."
        )
    if any(ground.row == SOLE_COMPETITION_ROW for ground in found):
        open_parts.append(SOLE_COMPETITION)
    return tuple(open_parts)


def _cautions(evidence: Evidence, authority: str) -> tuple[str, ...]:
    application, profile = evidence.application, evidence.profile
    cautions = [closing(authority)]
    if any(one.outcome is Outcome.NO_PAPER for one in evidence.paperwork.parts):
        cautions.append(
            "No exemption is on file for this application. Parts of this kind are commonly barred "
            "from sale or use on vehicles with emission controls, whoever sells or installs them."
        )
    if any(one.documents for one in evidence.paperwork.parts):
        cautions.append(
            "A paper covers only the parts, vehicles and conditions that it names; a change to "
            "any of them ends it."
        )
    if application.for_competition:
        cautions.append("A statement that use is for competition only does not change this report.")
    if profile is not None:
        cautions += _inspection_cautions(application, profile, evidence.today)
    if evidence.changed:
        cautions.append("Changed parts may affect the emission warranty.")
        cautions.append(
            "Whether the engine is the vehicle's own is not known unless the application says so; "
            "fuel, weight and certification label are compared where a paper restricts them."
        )
    return tuple(cautions)


def _inspection_cautions(application: Application, profile: Profile, today: date) -> Iterator[str]:
    """Rows 14 and 15: no periodic test is not the same as no rule."""
    if application.use is not UseClass.ROAD:
        return
    counts = profile.is_confirmed(Topic.INSPECTION, application.use, today)
    doubt = "" if counts else " Not confirmed."
    until = profile.no_periodic_test_until_model_year
    newest = profile.no_periodic_test_for_model_years
    if until is not None and application.model_year <= until:
        yield (
            f"Model year {until} and older has no periodic emission test here; the rules about "
            f"parts and tampering hold all the same.{doubt}"
        )
    if newest is not None and 0 <= today.year - application.model_year <= newest:
        yield (
            f"Vehicles of up to {newest} model years have no periodic test here; they may be "
            f"tested where tampering is indicated.{doubt}"
        )


def _citations(evidence: Evidence) -> tuple[CitedRow, ...]:
    if evidence.profile is None:
        return ()
    return tuple(
        CitedRow(
            row=row,
            confirmed=row.is_confirmed(evidence.today),
            not_confirmed_because=row.doubt(evidence.today),
        )
        for row in evidence.profile.rows_for(evidence.application.use)
    )
