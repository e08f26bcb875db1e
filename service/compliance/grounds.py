"""The decision table: which of its rows apply to a kit, and what each comes to.

Each ground names its row of the table. Where an input is not known, the row that would be
worse for the kit applies. Appearance is not among the inputs.
"""

from collections.abc import Iterator

from service.catalog.devices import Device
from service.catalog.slots import Slot, UseClass
from service.compliance.devices import DeviceBlock, DeviceRow, DeviceState
from service.compliance.evidence import Evidence, Ground
from service.compliance.inspections import FIRST_OBD_MODEL_YEAR, Functional
from service.compliance.jurisdictions import Mark, PaperRule, Topic
from service.compliance.marine import open_questions, safety_questions
from service.compliance.matching import Match
from service.compliance.outcomes import Outcome
from service.compliance.paperwork import Combination, PartPaperwork
from service.compliance.reasons import NOT_LISTED_WORDS, PAPER_WORDS, STATE_WORDS

ENGINE_CONTROLS = frozenset(
    {
        Device.ECM,
        Device.PCM,
        Device.OBD,
        Device.SPARK,
        Device.CALIBRATION_ID,
        Device.CALIBRATION_VERIFICATION,
    }
)
"""What a calibration changes by its nature; the order that names it speaks of them."""

SAFETY_ROW = 27
"""Row of the table that holds back the work sheet of a vessel."""

READINESS_ROW = 17
"""Row of the table on monitors that were not ready."""

SOLE_COMPETITION_ROW = 25
"""Row of the table on an engine that is said to be for competition alone."""

_EXECUTIVE_ORDER_ROWS = {
    Outcome.NO_PAPER: 4,
    Outcome.PAPER_MATCHES: 5,
    Outcome.PAPER_PARTIAL: 6,
    Outcome.PAPER_DOES_NOT_MATCH: 7,
}
_DIFFERENCE_ROWS = {"internal_change": 10, "parts_together": 9}
_COMMON_ROWS = {
    Outcome.IDENTITY_CLAIMED: 12,
    Outcome.IDENTITY_SHOWN: 12,
    Outcome.CONFLICT_DESCRIBED: 13,
    Outcome.NO_RULE_IN_PROFILE: 34,
    Outcome.NOT_COVERED: 21,
}


def grounds(evidence: Evidence) -> tuple[Ground, ...]:
    """Return every row of the table that applies, by its number."""
    return tuple(
        sorted(
            (
                *_coverage_grounds(evidence),
                *_use_grounds(evidence),
                *_device_grounds(evidence),
                *_paper_grounds(evidence),
                *_safety_grounds(evidence),
            ),
            key=lambda ground: (ground.row, ground.because, ground.parts),
        )
    )


def _coverage_grounds(evidence: Evidence) -> Iterator[Ground]:
    application, profile = evidence.application, evidence.profile
    if profile is None or evidence.rule is None:
        yield Ground(
            row=21,
            outcome=Outcome.NOT_COVERED,
            because=f"No rule about parts is held for {application.place} and the use "
            f"{application.use.value}.",
        )
    elif not profile.is_confirmed(Topic.PAPERS, application.use, evidence.today):
        yield Ground(
            row=32,
            outcome=Outcome.NOT_COVERED,
            because="Profile not confirmed: its rows on papers are from memory, out of force or "
            "checked too long ago.",
        )


def _use_grounds(evidence: Evidence) -> Iterator[Ground]:
    application = evidence.application
    if application.for_competition:
        nonroad = application.use is UseClass.NONROAD
        yield Ground(
            row=SOLE_COMPETITION_ROW if nonroad else 24,
            outcome=Outcome.AUTHORITY_MUST_DECIDE,
            because="Competition use is claimed; whether that counts is disputed, or asks for "
            "evidence that is not on file.",
        )
    if not application.has_own_engine:
        yield Ground(
            row=18,
            outcome=Outcome.AUTHORITY_MUST_DECIDE,
            because="The engine is from another vehicle, year or class, or may be.",
        )
    if application.specially_constructed is not False:
        yield Ground(
            row=19,
            outcome=Outcome.AUTHORITY_MUST_DECIDE,
            because="The vehicle was built from parts or a kit, or may have been.",
        )


def _device_grounds(evidence: Evidence) -> Iterator[Ground]:
    devices = evidence.devices
    if not devices.fitted_known:
        yield Ground(
            row=2,
            outcome=Outcome.DEVICE_QUESTION,
            because="The catalogue does not record which devices the factory fitted for this model "
            "year and use.",
        )
    for row in devices.in_state(DeviceState.REMOVED, DeviceState.CONNECTION_LOST):
        yield _lost_device(evidence, row)
    for row in devices.in_state(DeviceState.CHANGED, DeviceState.UNKNOWN):
        if not _is_spoken_for(evidence, row):
            yield Ground(
                row=_calibration_row(evidence, row),
                outcome=Outcome.DEVICE_QUESTION,
                because=f"{row.device.value}: {_state_words(row)}.",
                parts=row.by_parts,
            )
    yield from _test_grounds(devices)
    yield from _readiness_grounds(evidence)
    yield from _software_grounds(evidence)


def _state_words(row: DeviceRow) -> str:
    return STATE_WORDS[row.state] if row.listed else NOT_LISTED_WORDS


def _test_grounds(devices: DeviceBlock) -> Iterator[Ground]:
    """Row 2; a device that was off for repair and tested working afterwards is row 3: none."""
    for row in devices.rows:
        if row.functional is Functional.FAILED:
            yield Ground(
                row=2,
                outcome=Outcome.DEVICE_QUESTION,
                because=f"{row.device.value}: it failed its test.",
                parts=row.by_parts,
            )
    if any(row.functional is Functional.NOT_TESTED for row in devices.rows):
        yield Ground(
            row=2,
            outcome=Outcome.DEVICE_QUESTION,
            because="Not every device was seen working; being present and connected does not "
            "show it.",
        )


def _readiness_grounds(evidence: Evidence) -> Iterator[Ground]:
    year, profile = evidence.application.model_year, evidence.profile
    incomplete = evidence.application.monitors_incomplete
    if profile is None or not incomplete or year < FIRST_OBD_MODEL_YEAR:
        return
    for allowance in profile.readiness:
        within = allowance.first_model_year <= year <= allowance.last_model_year
        if within and allowance.is_exceeded(incomplete):
            yield Ground(
                row=READINESS_ROW,
                outcome=Outcome.DEVICE_QUESTION,
                because="Readiness past its allowance for this model year; incomplete: "
                f"{', '.join(sorted(incomplete))}.",
            )


def _lost_device(evidence: Evidence, row: DeviceRow) -> Ground:
    """Return a conflict wherever more than memory says that losing a device is one."""
    profile = evidence.profile
    rows = profile.rows_about(Topic.DEVICES, evidence.application.use) if profile else ()
    listed = any(one.mark is not Mark.MEMORY for one in rows)
    return Ground(
        row=1,
        outcome=Outcome.CONFLICT_DESCRIBED if listed else Outcome.DEVICE_QUESTION,
        because=f"{row.device.value}: {STATE_WORDS[row.state]}.",
        parts=row.by_parts,
    )


def _calibration_row(evidence: Evidence, row: DeviceRow) -> int:
    """Return row 16 for the calibration of an engine with diagnostics, else row 2."""
    has_diagnostics = evidence.application.model_year >= FIRST_OBD_MODEL_YEAR
    return 16 if has_diagnostics and _by_calibration(evidence, row) else 2


def _by_calibration(evidence: Evidence, row: DeviceRow) -> bool:
    calibrations = {part.sku for part in evidence.parts if part.slot is Slot.CALIBRATION}
    return row.device in ENGINE_CONTROLS and set(row.by_parts) <= calibrations


def _is_spoken_for(evidence: Evidence, row: DeviceRow) -> bool:
    """Whether the paper of the calibration that changes engine controls matches in full."""
    papers = {one.sku: one.outcome for one in evidence.paperwork.parts}
    return (
        row.state is DeviceState.CHANGED
        and _by_calibration(evidence, row)
        and all(papers.get(sku) is Outcome.PAPER_MATCHES for sku in row.by_parts)
    )


def _software_grounds(evidence: Evidence) -> Iterator[Ground]:
    changed = tuple(part.sku for part in evidence.changed if part.slot is Slot.CALIBRATION)
    if changed and evidence.profile and evidence.profile.software_must_stay:
        yield Ground(
            row=31,
            outcome=Outcome.CONFLICT_DESCRIBED,
            because="The software is changed; the original system has to be retained with it.",
            parts=changed,
        )


def _paper_grounds(evidence: Evidence) -> Iterator[Ground]:
    rule = evidence.rule
    for one in evidence.paperwork.parts:
        yield Ground(
            row=_paper_row(one, rule),
            outcome=one.outcome,
            because=" ".join((PAPER_WORDS[one.outcome], *one.reasons)),
            parts=(one.sku,),
        )
        full = one.original or one.outcome in (Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN)
        if rule is not None and rule.official_without_paper and not full:
            yield _for_an_official(rule, (one.sku,))
    if evidence.paperwork.outcome is Outcome.NOT_COVERED and not evidence.paperwork.parts:
        yield Ground(row=21, outcome=Outcome.NOT_COVERED, because="The kit holds no part.")
    if evidence.paperwork.combination is Combination.NOT_DOCUMENTED and _papers_count(evidence):
        if rule is not None and rule.official_without_paper:
            yield _for_an_official(rule, tuple(part.sku for part in evidence.changed))
        yield Ground(
            row=8,
            outcome=Outcome.PAPER_PARTIAL,
            because="Combination not documented: no paper names the changed parts together. "
            "Ask the authority in writing.",
            parts=tuple(sorted(part.sku for part in evidence.changed)),
        )


def _for_an_official(rule: PaperRule, parts: tuple[str, ...]) -> Ground:
    return Ground(
        row=rule.decision_row or 4,
        outcome=Outcome.AUTHORITY_MUST_DECIDE,
        because="Without paper that names vehicle and combination an official expert decides on "
        "the single vehicle.",
        parts=tuple(sorted(parts)),
    )


def _papers_count(evidence: Evidence) -> bool:
    elsewhere = (Outcome.NOT_COVERED, Outcome.NO_RULE_IN_PROFILE)
    return any(one.outcome not in elsewhere for one in evidence.paperwork.parts)


def _paper_row(one: PartPaperwork, rule: PaperRule | None) -> int:
    if one.outcome in _COMMON_ROWS:
        return _COMMON_ROWS[one.outcome]
    if rule is not None and rule.decision_row is not None:
        return rule.decision_row
    differing = {
        check.field
        for document in one.documents
        for check in document.checks
        if check.match is Match.DIFFERS
    }
    if one.outcome is Outcome.PAPER_DOES_NOT_MATCH:
        for field, row in _DIFFERENCE_ROWS.items():
            if field in differing:
                return row
    return _EXECUTIVE_ORDER_ROWS[one.outcome]


def _safety_grounds(evidence: Evidence) -> Iterator[Ground]:
    asked = safety_questions(evidence.parts, evidence.application.use, evidence.paperwork)
    for question in open_questions(asked):
        yield Ground(
            row=SAFETY_ROW,
            outcome=Outcome.DEVICE_QUESTION,
            because=f"Safety: {question.question} No evidence on file answers it.",
            parts=(question.sku,),
        )
