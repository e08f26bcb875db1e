"""The work sheet of one kit on one engine, put together from its assessment."""

from dataclasses import dataclass, field
from datetime import date

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot, UseClass
from service.compliance.marine import open_questions
from service.errors import FieldProblem, InvalidInput, NotFound, RuleBroken
from service.fitup.lengths import with_inches
from service.install.checks import Check
from service.install.demanded import demanded_checks
from service.install.joints import JointSheet
from service.install.laid_out import LayOut, laid_out
from service.install.opened import joint_sheets
from service.install.sealing import EndRails, end_rails
from service.install.steps import Step, cautions_for, steps_for, tools_of
from service.install.told import BoltedJoint
from service.install.work import INTAKE, Work
from service.kits.assessment import Assessment
from service.kits.kit import Kit
from service.quantities import EDGE_CONFIG, Count, Flag, Name, Text

SHEET_VERSION = "sheet-5"
"""Raised whenever the same inputs make another sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetInputs:
    """What the sheet was made from; the same inputs make the same sheet."""

    __pydantic_config__ = EDGE_CONFIG

    assessment: Name
    """Key of the assessment."""
    catalog_revision: Count
    model_version: Name
    sheet_version: Name
    assessed_on: date
    joints: tuple[BoltedJoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPart:
    """One part to be laid out."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    sku: Name
    title: Name
    fitted_now: Flag
    """False: it stays on the engine, as the factory put it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheet:
    """Everything that is printed; lengths in mm, torques in three units."""

    __pydantic_config__ = EDGE_CONFIG

    family: Name
    family_title: Name
    model_year: Count
    use: UseClass
    place: Name
    place_title: Text = ""
    """Empty on sheets that were made before it was kept."""
    inputs: SheetInputs
    cautions: tuple[Text, ...]
    safety_questions: tuple[Text, ...]
    """Of a vessel, with the papers that answer them."""
    parts: tuple[SheetPart, ...]
    lay_out: LayOut = field(default_factory=LayOut)
    """The complete parts list; empty on sheets that were made before it was kept."""
    findings: tuple[Text, ...]
    """What the fit check says to look at first."""
    tools: tuple[Text, ...]
    steps: tuple[Step, ...]
    checks: tuple[Check, ...]
    end_rails: EndRails | None
    joints: tuple[JointSheet, ...]
    documents: tuple[Text, ...]


class WorkSheetNotFound(NotFound):
    """No work sheet has this number."""

    def __init__(self, sheet_id: int) -> None:
        super().__init__(f"There is no work sheet {sheet_id}.")


class KitDoesNotFit(RuleBroken):
    """The kit cannot be bolted on as it stands."""

    def __init__(self, reasons: tuple[str, ...]) -> None:
        super().__init__(
            f"No work sheet is made for a kit that does not go together: {' '.join(reasons)}"
        )


class SafetyQuestionsOpen(RuleBroken):
    """A vessel's questions of fire safety are not answered."""

    def __init__(self, questions: tuple[str, ...]) -> None:
        super().__init__(
            "No work sheet is made for a vessel while questions of flame control or ignition "
            "protection are open. File safety evidence that names the part, then ask again. "
            f"Open: {' '.join(questions)}"
        )


class JointOfNoChange(InvalidInput):
    """A joint was told of for a part that stays where it is, or twice for one part."""

    def __init__(self, place: int, why: str) -> None:
        super().__init__(
            FieldProblem(pointer=f"/joints/{place}/slot", code="not_this_joint", detail=why)
        )


def work_sheet(
    key: str,
    assessment: Assessment,
    kit: Kit,
    joints: tuple[BoltedJoint, ...],
    supplies: tuple[Part, ...],
) -> WorkSheet:
    """Return the sheet; raise `KitDoesNotFit`, `SafetyQuestionsOpen` or `JointOfNoChange`."""
    _require_ready(assessment)
    _require_own_joints(kit, joints)
    sheets = joint_sheets(kit, joints, supplies)
    changed = frozenset(kit.chosen)
    rails = end_rails(kit.family, kit.request.engine.machined) if INTAKE & changed else None
    work = _work(kit, rails=rails is not None)
    steps = steps_for(work)
    return WorkSheet(
        family=kit.family.key,
        family_title=kit.family.title,
        model_year=kit.request.model_year,
        use=kit.request.use,
        place=kit.request.place,
        place_title=assessment.jurisdiction_note.title,
        inputs=_inputs(key, assessment, joints),
        cautions=cautions_for(changed, marine=work.marine, said=assessment.cautions),
        safety_questions=_answered(assessment),
        parts=_parts(assessment),
        lay_out=laid_out(assessment.parts_list),
        findings=_findings(assessment),
        tools=tools_of(steps),
        steps=steps,
        checks=demanded_checks(kit.family, changed, sheets, rails=work.rails),
        end_rails=rails,
        joints=sheets,
        documents=_documents(assessment),
    )


def _work(kit: Kit, *, rails: bool) -> Work:
    return Work(
        changed=frozenset(kit.chosen),
        rails=rails,
        marine=kit.request.use is UseClass.MARINE,
        fuel=(kit.compression_range.high, kit.octane_aki),
    )


def _answered(assessment: Assessment) -> tuple[str, ...]:
    return tuple(
        f"{one.sku}: {one.question} Answered by {', '.join(one.answered_by)}. [{one.source}]"
        for one in assessment.jurisdiction_note.safety_questions
    )


def _parts(assessment: Assessment) -> tuple[SheetPart, ...]:
    return tuple(
        SheetPart(slot=line.slot, sku=line.sku, title=line.title, fitted_now=line.chosen)
        for line in assessment.kit
    )


def _findings(assessment: Assessment) -> tuple[str, ...]:
    return tuple(
        with_inches(f"{one.reason} {one.remedy}")
        for one in assessment.fit
        if one.severity is RuleSeverity.WARNS
    )


def _require_ready(assessment: Assessment) -> None:
    blocking = tuple(
        f"{one.reason} {one.remedy}"
        for one in assessment.fit
        if one.severity is RuleSeverity.BLOCKS
    )
    if blocking:
        raise KitDoesNotFit(blocking)
    note = assessment.jurisdiction_note
    if note.blocks_work_sheet:
        asked = open_questions(note.safety_questions)
        raise SafetyQuestionsOpen(tuple(f"{one.sku}: {one.question}" for one in asked))


def _require_own_joints(kit: Kit, joints: tuple[BoltedJoint, ...]) -> None:
    seen: set[tuple[Slot, str | None]] = set()
    for place, joint in enumerate(joints):
        if joint.slot not in kit.chosen:
            names = ", ".join(slot.value for slot in kit.chosen) or "none"
            raise JointOfNoChange(
                place, f"The {joint.slot.value} stays as it is; parts that go on: {names}."
            )
        same = {pattern for slot, pattern in seen if slot is joint.slot}
        if joint.pattern in same or (same and None in {joint.pattern, *same}):
            raise JointOfNoChange(
                place,
                f"The {joint.slot.value} has a joint already; tell one, or the pattern of each.",
            )
        seen.add((joint.slot, joint.pattern))


def _inputs(key: str, assessment: Assessment, joints: tuple[BoltedJoint, ...]) -> SheetInputs:
    told = assessment.provenance
    return SheetInputs(
        assessment=key,
        catalog_revision=told.catalog_revision,
        model_version=told.model_version,
        sheet_version=SHEET_VERSION,
        assessed_on=told.assessed_on,
        joints=joints,
    )


def _documents(assessment: Assessment) -> tuple[str, ...]:
    """Return the papers of what goes on; those of the rest stand in the paper trail."""
    note = assessment.jurisdiction_note
    others = tuple(f"{line.sku}: " for line in assessment.kit if not line.chosen)
    return (
        *(
            f"Keep with the vehicle: {line}"
            for line in note.documented
            if not line.startswith(others)
        ),
        *(f"Missing: {line}" for line in note.missing if not line.startswith(others)),
        assessment.street_use.sentence,
    )
