"""One paper against one part: field by field, as written.

No near year, no similar engine. A field that the paper, the part or the application
leaves open is unproven; unproven is never a match.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from service.catalog.parts import Part
from service.compliance.application import Application
from service.compliance.days import FRESH_FOR_DAYS, is_to_come
from service.compliance.documents import (
    Document,
    DocumentStatus,
    DocumentType,
    IdentityPiece,
    ScopeLine,
)
from service.compliance.jurisdictions import PaperRule, Profile
from service.compliance.outcomes import Outcome
from service.quantities import EDGE_CONFIG, Flag, IsoDate, Name, Text

NOT_FOR_A_KIT = (
    DocumentType.SAFETY_EVIDENCE,
    DocumentType.IDENTITY_EVIDENCE,
    DocumentType.PERIODIC_TEST,
)
"""Types that are no permission to fit a part, not even one for something else."""


class Match(StrEnum):
    """How one field of a paper compares."""

    MATCHES = "matches"
    UNPROVEN = "unproven"
    DIFFERS = "differs"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldCheck:
    """One field of a paper against this kit."""

    __pydantic_config__ = EDGE_CONFIG

    field: Name
    match: Match
    says: Text
    """What the paper says of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentMatch:
    """One paper that speaks of a part, and its best scope line."""

    __pydantic_config__ = EDGE_CONFIG

    number: Name
    type: DocumentType
    issuer: Name
    issued_on: IsoDate
    status: DocumentStatus
    copy_on_file: Flag
    checked_on: IsoDate | None
    conditions: tuple[Text, ...]
    names_together: tuple[Name, ...]
    """Maker references on the line."""
    outcome: Outcome
    checks: tuple[FieldCheck, ...]
    identity_pieces: tuple[IdentityPiece, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What all parts of a kit are judged by."""

    application: Application
    profile: Profile | None
    unknowns: tuple[str, ...]
    all_references: frozenset[str]
    changed_references: frozenset[str]
    today: date

    @property
    def rule(self) -> PaperRule | None:
        """What papers the profile asks for; None: the use is not covered."""
        return self.profile.paper_rule(self.application.use) if self.profile else None

    def places(self, document_type: DocumentType) -> frozenset[str]:
        """Return the keys of the profiles whose papers of this type count."""
        if document_type is DocumentType.SAFETY_EVIDENCE:
            honoured = self.profile.honours_safety if self.profile else ()
        else:
            honoured = self.rule.honours if self.rule else ()
        return frozenset({self.application.place, *honoured})

    @property
    def without_papers(self) -> Outcome | None:
        """The outcome where papers are not what is asked for; None: they are."""
        if self.rule is None:
            return Outcome.NOT_COVERED
        first = self.rule.first_model_year
        if first is not None and self.application.model_year < first:
            return Outcome.NO_RULE_IN_PROFILE
        return None


def lines_naming(document: Document, part: Part) -> tuple[ScopeLine, ...]:
    """Return the scope lines that name this part."""
    return tuple(line for line in document.scope if part.maker_reference in line.part_references)


def document_match(document: Document, part: Part, case: Case) -> DocumentMatch:
    """Return how a paper compares, by the scope line that comes nearest."""
    lines = lines_naming(document, part)
    whole = _document_checks(document, case.today)
    candidates = [
        ((*_line_checks(line, part, document.type, case), *whole), line) for line in lines
    ]
    if candidates:
        checks, line = max(candidates, key=lambda one: _rank(one[0]))
        together = line.part_references
    else:
        differs = FieldCheck(
            field="part_reference", match=Match.DIFFERS, says="it does not name this part."
        )
        checks, together = (differs, *whole), ()
    return DocumentMatch(
        number=document.number,
        type=document.type,
        issuer=document.issuer,
        issued_on=document.issued_on,
        status=document.status,
        copy_on_file=document.file_sha256 is not None,
        checked_on=document.checked_on,
        conditions=document.conditions,
        names_together=together,
        outcome=_checks_outcome(checks),
        checks=checks,
        identity_pieces=document.identity_pieces,
    )


def _checks_outcome(checks: tuple[FieldCheck, ...]) -> Outcome:
    matches = {check.match for check in checks}
    if Match.DIFFERS in matches:
        return Outcome.PAPER_DOES_NOT_MATCH
    return Outcome.PAPER_PARTIAL if Match.UNPROVEN in matches else Outcome.PAPER_MATCHES


def _rank(checks: tuple[FieldCheck, ...]) -> tuple[int, int]:
    """Order of two lines of one paper: fewer differences first, then fewer open points."""
    matches = [check.match for check in checks]
    return -matches.count(Match.DIFFERS), -matches.count(Match.UNPROVEN)


def _line_checks(
    line: ScopeLine, part: Part, document_type: DocumentType, case: Case
) -> tuple[FieldCheck, ...]:
    application = case.application
    years = range(line.first_model_year, line.last_model_year + 1)
    return (
        _revision_check(line, part),
        _check("family", line.family == application.family, f"it says {line.family}."),
        _check(
            "model_year",
            application.model_year in years,
            f"it says {line.first_model_year} to {line.last_model_year}.",
        ),
        *_restrictions(line, application),
        _check("use", line.use is application.use, f"it says {line.use.value}."),
        _check(
            "place",
            bool(case.places(document_type) & set(line.jurisdictions)),
            f"it says {', '.join(sorted(line.jurisdictions))}.",
        ),
        _together_check(line, document_type, case),
        _change_check(line, part, document_type, application),
    )


def _change_check(
    line: ScopeLine, part: Part, document_type: DocumentType, application: Application
) -> FieldCheck:
    """Compare a change inside: evidence of identity and a part cut afterwards know none."""
    spoken_for = (
        line.covers_internal_change
        and document_type is not DocumentType.IDENTITY_EVIDENCE
        and part.slot not in application.altered_slots
    )
    return _check(
        "internal_change",
        part.exterior.internal_change is None or spoken_for,
        "the paper speaks of the change inside."
        if spoken_for
        else "it does not speak of a change inside.",
    )


def _restrictions(line: ScopeLine, application: Application) -> tuple[FieldCheck, ...]:
    """Compare what only some papers restrict: fuel, certification, weight, the one vehicle."""
    weight, most = application.gross_weight_kg, line.max_gross_weight_kg
    checks = (
        _restriction("fuel", line.fuel, application.fuel),
        _restriction("certification", line.certification, application.certification),
        _restriction("vehicle_id", line.vehicle_id, application.vehicle_id),
        _restriction("engine_serial", line.engine_serial, application.engine_serial),
        _restriction("gross_weight", most, most if weight and most and weight <= most else weight),
    )
    return tuple(check for check in checks if check is not None)


def _restriction(field: str, named: object | None, ours: object | None) -> FieldCheck | None:
    if named is None:
        return None
    says = f"it says {named}."
    if ours is None:
        return FieldCheck(field=field, match=Match.UNPROVEN, says=says)
    return _check(field, ours == named, says)


def _revision_check(line: ScopeLine, part: Part) -> FieldCheck:
    if not line.revisions:
        return FieldCheck(
            field="part_revision", match=Match.UNPROVEN, says="it names no revision of the part."
        )
    return _check(
        "part_revision",
        part.revision in line.revisions,
        f"it says {', '.join(sorted(line.revisions))}.",
    )


def _together_check(line: ScopeLine, document_type: DocumentType, case: Case) -> FieldCheck:
    """Compare the kit with a line that names several parts: nothing less, nothing more."""
    named = set(line.part_references)
    together = len(named) == 1 or (
        named <= case.all_references
        and (document_type in NOT_FOR_A_KIT or case.changed_references <= named)
    )
    return _check(
        "parts_together", together, f"it names {', '.join(sorted(named))} and nothing else."
    )


def _document_checks(document: Document, today: date) -> tuple[FieldCheck, ...]:
    status = {
        DocumentStatus.IN_FORCE: Match.MATCHES,
        DocumentStatus.UNKNOWN: Match.UNPROVEN,
    }.get(document.status, Match.DIFFERS)
    if document.superseded_by is not None:
        status = Match.DIFFERS
    conditions = {True: Match.MATCHES, False: Match.DIFFERS, None: Match.UNPROVEN}
    met = conditions[document.conditions_met]
    if not document.conditions and document.conditions_met is None:
        met = Match.MATCHES
    return (
        FieldCheck(field="status", match=status, says=f"it is {document.status.value}."),
        FieldCheck(
            field="conditions", match=met, says=f"it sets {len(document.conditions)} conditions."
        ),
        _proof("copy_on_file", shown=document.file_sha256 is not None, says="a copy of its text."),
        _checked(document.checked_on, today),
        *_issued(document.issued_on, today),
    )


def _checked(day: date | None, today: date) -> FieldCheck:
    """Return whether somebody asked its issuer lately: an old answer is not confirmed."""
    if day is None:
        return _proof("checked", shown=False, says="a check with its issuer.")
    fresh = not is_to_come(day, today) and today - day <= timedelta(days=FRESH_FOR_DAYS)
    if fresh:
        return _proof("checked", shown=True, says="a check with its issuer.")
    return FieldCheck(
        field="checked",
        match=Match.UNPROVEN,
        says=f"not confirmed: it was checked on {day.isoformat()}, not within the "
        f"{FRESH_FOR_DAYS} days before {today.isoformat()}.",
    )


def _issued(day: date, today: date) -> tuple[FieldCheck, ...]:
    """Return the difference of a paper that did not exist yet on the day of the question."""
    if not is_to_come(day, today):
        return ()
    return (_check("issued_on", matches=False, says=f"it says {day.isoformat()}."),)


def _check(field: str, matches: bool, says: str) -> FieldCheck:  # noqa: FBT001 - reads as one sentence.
    return FieldCheck(field=field, match=Match.MATCHES if matches else Match.DIFFERS, says=says)


def _proof(field: str, *, shown: bool, says: str) -> FieldCheck:
    match = Match.MATCHES if shown else Match.UNPROVEN
    return FieldCheck(
        field=field, match=match, says=f"{'there is' if shown else 'missing is'} {says}"
    )
