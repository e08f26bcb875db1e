"""The trade's flag for street use, drawn from devices, papers and the note alone.

It records what is documented. It never looks at appearance, and it always travels with
its sentence and with who decides.
"""

from service.catalog.flags import StreetLegalFlag, StreetUse
from service.catalog.parts import Part
from service.catalog.slots import UseClass
from service.compliance.application import Application, is_original
from service.compliance.devices import DeviceBlock, DeviceState
from service.compliance.grounds import READINESS_ROW
from service.compliance.inspections import Functional
from service.compliance.note import NOBODY_NAMED, JurisdictionNote
from service.compliance.outcomes import Outcome, closing
from service.compliance.paperwork import Combination, PaperworkBlock

_WITHOUT_PAPER = (
    Outcome.CONFLICT_DESCRIBED,
    Outcome.NO_PAPER,
    Outcome.PAPER_DOES_NOT_MATCH,
)
_IN_FULL = (Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN)


def street_use(
    application: Application,
    devices: DeviceBlock,
    paperwork: PaperworkBlock,
    note: JurisdictionNote,
) -> StreetUse:
    """Return the flag of a kit, or of a part judged as a kit of one."""
    flag, because = _flag(application, devices, paperwork, note)
    return StreetUse(
        street_legal_flag=flag,
        decided_by=note.decided_by,
        sentence=f"{because} {closing(note.decided_by)}",
    )


def street_use_without_application(part: Part, on_file: frozenset[str]) -> StreetUse:
    """Return the flag of a part of which vehicle, use and place are not known.

    `on_file` are the numbers of the documents that name it.
    """
    if is_original(part):
        flag = StreetLegalFlag.UNDETERMINED
        because = (
            f"{part.sku} is recorded as the factory's own; whether it stays on the engine that "
            "left the factory with it is not known."
        )
    elif on_file:
        flag = StreetLegalFlag.UNDETERMINED
        because = (
            f"Paper on file speaks of {part.sku}; whether it names the vehicle, use and place is "
            "not known."
        )
    else:
        flag = StreetLegalFlag.NOT_DOCUMENTED
        because = f"No paper on file speaks of {part.sku}."
    return StreetUse(
        street_legal_flag=flag,
        decided_by=NOBODY_NAMED,
        sentence=f"{because} {closing(NOBODY_NAMED)}",
    )


def _flag(
    application: Application,
    devices: DeviceBlock,
    paperwork: PaperworkBlock,
    note: JurisdictionNote,
) -> tuple[StreetLegalFlag, str]:
    if application.use is not UseClass.ROAD:
        return (
            StreetLegalFlag.NOT_FOR_STREET_USE,
            f"The use asked about is {application.use.value}, not the road.",
        )
    lost = devices.in_state(DeviceState.REMOVED, DeviceState.CONNECTION_LOST)
    if lost:
        names = ", ".join(row.device.value for row in lost)
        return (
            StreetLegalFlag.NOT_FOR_STREET_USE,
            f"As recorded, the engine loses devices that the factory fitted: {names}.",
        )
    outcomes = _outcomes_in_question(paperwork)
    if any(outcome in _WITHOUT_PAPER for outcome in outcomes):
        return StreetLegalFlag.NOT_DOCUMENTED, "Not every part has paper for this application."
    if _conflict(note):
        return StreetLegalFlag.NOT_DOCUMENTED, "What is described stands on a prohibited list."
    return _flag_of_paper(outcomes, devices, paperwork, note)


def _flag_of_paper(
    outcomes: list[Outcome],
    devices: DeviceBlock,
    paperwork: PaperworkBlock,
    note: JurisdictionNote,
) -> tuple[StreetLegalFlag, str]:
    """Return the flag where nothing recorded speaks against the kit."""
    in_full = all(outcome in _IN_FULL for outcome in outcomes)
    if not in_full or paperwork.unknowns or not paperwork.parts or _open_questions(devices, note):
        return (
            StreetLegalFlag.UNDETERMINED,
            "Something is unproven, unknown or for a named official; the note lists it.",
        )
    untested = _untested(devices)
    if untested:
        return (
            StreetLegalFlag.UNDETERMINED,
            (
                "Paper on file names every part for this application, or shows it identical to "
                f"the factory's; devices not seen working: {', '.join(untested)}."
            ),
        )
    return (
        StreetLegalFlag.DOCUMENTED,
        (
            "Paper on file names every part for this application in every field, or shows it "
            "identical to the factory's; every device on record passed the test told of."
        ),
    )


def _outcomes_in_question(paperwork: PaperworkBlock) -> list[Outcome]:
    """Return the outcomes that the flag rests on.

    The catalogue's word that a part is the factory's own is a claim like any other (row 12):
    without evidence of identity it leaves the flag open.
    """
    outcomes = [one.outcome for one in paperwork.parts]
    if paperwork.combination is Combination.NOT_DOCUMENTED:
        outcomes.append(Outcome.PAPER_PARTIAL)
    return outcomes


def _conflict(note: JurisdictionNote) -> bool:
    return any(ground.outcome is Outcome.CONFLICT_DESCRIBED for ground in note.grounds)


def _open_questions(devices: DeviceBlock, note: JurisdictionNote) -> bool:
    """Return whether anything but the missing test of a kept device is open."""
    failed = any(row.functional is Functional.FAILED for row in devices.rows)
    unsettled = (Outcome.AUTHORITY_MUST_DECIDE, Outcome.NOT_COVERED, Outcome.NO_RULE_IN_PROFILE)
    return (
        failed
        or not devices.fitted_known
        or any(
            ground.outcome in unsettled
            or (ground.outcome is Outcome.DEVICE_QUESTION and bool(ground.parts))
            or ground.row == READINESS_ROW
            for ground in note.grounds
        )
    )


def _untested(devices: DeviceBlock) -> list[str]:
    """Row 2: present and connected, but not seen working, is a device in question."""
    return [row.device.value for row in devices.rows if row.functional is not Functional.PASSED]
