"""Every joint that a kit opens: as somebody told of it, else as the family records it."""

from collections.abc import Iterator
from dataclasses import replace

from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.fitup.bolted import OpenedJoint, opened_joints
from service.fitup.bolting import bolts_that_fit
from service.fitup.gasket_words import gasket_in_words
from service.fitup.stated_torques import stated_for
from service.install.joints import BOLTS_DOWN, JointSheet, joint_sheet, recorded_joint
from service.install.told import BoltedJoint
from service.kits.kit import Kit
from service.kits.views import fit_subject

SEVERAL_PATTERNS = (
    "More than one pattern of bolts holds this part: bring all of them to snug, then all to part, "
    "then all to full, each in its own order (common practice, no source)."
)


def joint_sheets(
    kit: Kit, told: tuple[BoltedJoint, ...], supplies: tuple[Part, ...]
) -> tuple[JointSheet, ...]:
    """Return the joints in the order of their slots, each with a name and key of its own."""
    sheets = (*_told(kit, told, supplies), *_recorded(kit, told, supplies))
    return tuple(
        named for slot in Slot for named in _named([each for each in sheets if each.slot is slot])
    )


def _told(
    kit: Kit, told: tuple[BoltedJoint, ...], supplies: tuple[Part, ...]
) -> Iterator[JointSheet]:
    opened = opened_joints(fit_subject(kit), supplies)
    machined = kit.request.engine.machined
    for one in told:
        stated = stated_for(
            machined.stated_torques if machined else (), one.slot.value, one.pattern
        )
        gaskets = [gasket_in_words(joint) for joint in opened if _tells_of(one, joint)]
        yield joint_sheet(one, stated, " ".join(gaskets))


def _recorded(
    kit: Kit, told: tuple[BoltedJoint, ...], supplies: tuple[Part, ...]
) -> Iterator[JointSheet]:
    subject = fit_subject(kit)
    machined = kit.request.engine.machined
    for joint in opened_joints(subject, supplies):
        if any(_tells_of(one, joint) for one in told):
            continue
        bolts = bolts_that_fit(subject, joint, supplies)
        stated = stated_for(
            machined.stated_torques if machined else (), joint.place.value, joint.pattern
        )
        yield recorded_joint(joint, bolts[0] if bolts else None, stated)


def _tells_of(told: BoltedJoint, joint: OpenedJoint) -> bool:
    return told.slot.value == joint.place.value and told.pattern in (None, joint.pattern)


def _named(sheets: list[JointSheet]) -> Iterator[JointSheet]:
    """Tell the patterns of one part apart, where there is more than one."""
    stacked = any(BOLTS_DOWN in line for sheet in sheets for line in sheet.findings)
    for number, sheet in enumerate(sheets, start=1):
        name = sheet.slot.value.replace("_", " ")
        if len(sheets) == 1:
            yield replace(sheet, key=sheet.slot.value, name=name)
        else:
            yield replace(
                sheet,
                key=f"{sheet.slot.value}.{number}",
                name=f"{name}, {sheet.pattern or f'pattern {number}'}",
                findings=(*sheet.findings, *(() if stacked else (SEVERAL_PATTERNS,))),
            )
