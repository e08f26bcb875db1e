"""What there is to say of gaskets, bolts and torques of the joints that a kit opens."""

from collections.abc import Sequence

from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity
from service.catalog.supplies import JointPlace
from service.fitup.access import AccessFault
from service.fitup.bolted import OpenedJoint, opened_joints
from service.fitup.bolting import TriedBolt, bolts_tried, tapped_into
from service.fitup.bolts import LengthFault
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.gasket_words import refused_in_words
from service.fitup.moved import bolts_start
from service.fitup.spans import Span
from service.fitup.stated_torques import (
    StatedTorque,
    conflicts,
    pair_conflict,
    stated_for,
    weighed_torque,
)
from service.fitup.subject import FitSubject

BOLT_SOURCE = (
    "Length: NASA-STD-5020B 4.7.5. Stripping: FED-STD-H28/2B. Torque: NASA-TM-106943, "
    "MSFC-STD-486B and public tables; a torque that the part's maker prints goes before it."
)
_FAULTS = {
    LengthFault.TOO_SHORT: "too short to hold",
    LengthFault.RUNS_OUT: "would run into incomplete threads",
    LengthFault.BOTTOMS: "would bottom",
    LengthFault.RIDES_ON_SHANK: "would ride on its shank",
    AccessFault.HEAD_FOULS: "has a head too wide for its boss",
    AccessFault.WASHER_FOULS: "stands on a washer too wide for its boss",
    AccessFault.SOCKET_FOULS: "leaves no room for its socket",
}
SEE_WHETHER_IT_FITS = (
    "Room for head, washer and socket is not on record in full: set bolt and socket on dry first."
)
MAKERS_TORQUE = (
    "Take the torque, its steps and angles from the maker of bolts and head gasket. What thread "
    "and bolt bear, were it an ordinary joint, is "
)


def joint_findings(subject: FitSubject, supplies: Sequence[Part]) -> tuple[Finding, ...]:
    """Return what gaskets and bolts of the opened joints have to be, and which are refused."""
    joints = opened_joints(subject, supplies)
    return (
        *(
            finding
            for joint in joints
            for finding in (
                *_gasket(joint),
                *bolts_start(joint),
                *_bolts(subject, joint, supplies),
            )
        ),
        *_left_over(subject, joints),
    )


def _gasket(joint: OpenedJoint) -> tuple[Finding, ...]:
    if not joint.refused:
        return ()
    cut = [part.sku for part, _, lugs in joint.refused if lugs]
    if joint.gaskets:
        remedy = f"Take {joint.gaskets[0].sku}."
    elif cut:
        remedy = f"Cut the lugs off {cut[0]}, which its maker allows, or take one without lugs."
    else:
        remedy = "Find out what is not known, machine the faces, or have a gasket made."
    return (
        Finding(
            code=f"gasket.{joint.place.value}.{'refused' if joint.gaskets else 'none_fits'}",
            severity=RuleSeverity.NOTES if joint.gaskets else RuleSeverity.WARNS,
            parts=joint.skus,
            reason=f"Of the gaskets for {_words(joint)}, these are refused: "
            f"{refused_in_words(joint)}.",
            remedy=remedy,
            source="Figures recorded for the gaskets in the catalogue; half of a gasket's travel "
            f"for flatness: {COMMON_PRACTICE}.",
        ),
    )


def _bolts(
    subject: FitSubject, joint: OpenedJoint, supplies: Sequence[Part]
) -> tuple[Finding, ...]:
    stated = _stated(subject, joint)
    if joint.layout is None:
        return _conflicts(joint, conflicts(None, stated))
    tried = bolts_tried(subject, joint, supplies)
    fitting = [bolt for bolt in tried if not bolt.faulty]
    refused = [bolt for bolt in tried if bolt.faulty]
    against = _conflicts(joint, conflicts(fitting[0].advice if fitting else None, stated))
    if not fitting:
        return ((_none_fits(joint, refused),) if refused else ()) + against
    return (_chosen(subject, joint, fitting[0], refused), *against)


def _none_fits(joint: OpenedJoint, refused: Sequence[TriedBolt]) -> Finding:
    return Finding(
        code=f"bolts.{joint.place.value}.none_fits",
        severity=RuleSeverity.WARNS,
        parts=joint.skus,
        reason=f"No bolt in the catalogue is safe in the holes of {_words(joint)}: "
        f"{_lengths(refused)}.",
        remedy="Measure depths and threads of the holes, and the room at each boss; repair threads "
        "with inserts or take bolts made to length, with heads that go in. Do not grind a bolt "
        "shorter without dressing its lead, nor a washer or a boss narrower than it bears.",
        source=BOLT_SOURCE,
    )


def _chosen(
    subject: FitSubject, joint: OpenedJoint, bolt: TriedBolt, refused: Sequence[TriedBolt]
) -> Finding:
    advice = bolt.advice
    weighed = weighed_torque(advice, _stated(subject, joint))
    torque = weighed.torque if weighed else advice.torque
    preload = advice.preload_n * (torque.torque_nm / advice.torque.torque_nm)
    longer = [each for each in refused if each.fits[0].length_mm > bolt.fits[0].length_mm]
    heads = MAKERS_TORQUE if joint.place is JointPlace.CYLINDER_HEADS else "Tighten to "
    less = f" Longer is not better: {_lengths(longer[:1])}." if longer else ""
    return Finding(
        code=f"bolts.{joint.place.value}",
        severity=RuleSeverity.NOTES,
        parts=joint.skus,
        measured=Reading(value=round(bolt.engaged_mm.low, 2), unit="mm"),
        limit=Reading(value=round(bolt.needed_mm, 2), unit="mm"),
        reason=f"{bolt.part.sku} ({bolt.part.title}) for {_words(joint)}: {_mm(bolt.engaged_mm)} "
        f"of thread engaged where {bolt.needed_mm:.1f} mm are needed in "
        f"{tapped_into(subject, joint.place).name}, {_mm(bolt.margin_mm)} from the bottom.{less}",
        remedy=f"{heads}{torque}, threads and heads {_state(bolt)}: a preload of "
        f"{_kn(preload)} kN; thread or bolt gives at {advice.limit_n / 1e3:.1f} kN. "
        "Start every bolt by hand, and measure a hole before the first goes in."
        f"{'' if bolt.access.known else f' {SEE_WHETHER_IT_FITS}'}",
        source=BOLT_SOURCE,
    )


def _lengths(bolts: Sequence[TriedBolt]) -> str:
    return "; ".join(
        f"{bolt.part.sku} {' and '.join(_FAULTS[fault] for fault in _faults(bolt))} "
        f"({_mm(bolt.engaged_mm)} engaged, {bolt.needed_mm:.1f} mm needed, "
        f"{_mm(bolt.margin_mm)} from the bottom)"
        for bolt in bolts
    )


def _faults(bolt: TriedBolt) -> list[LengthFault | AccessFault]:
    found = {fault for fit in bolt.fits for fault in fit.faults}
    return [*(fault for fault in LengthFault if fault in found), *bolt.access.faults]


def _state(bolt: TriedBolt) -> str:
    return f"with {bolt.advice.state.value.replace('_', '-')}"


def _words(joint: OpenedJoint) -> str:
    return f"{joint.place.value.replace('_', ' ')}, {joint.pattern}"


def _mm(span: Span) -> str:
    low, high = f"{span.low:.1f}", f"{span.high:.1f}"
    return f"{low} mm" if low == high else f"{low} to {high} mm"


def _kn(span: Span) -> str:
    return f"{span.low / 1e3:.1f} to {span.high / 1e3:.1f}"


def stated_torques_agree(subject: FitSubject) -> tuple[Finding, ...]:
    """Name each torque that was written down as two that are not one."""
    stated = subject.machined.stated_torques if subject.machined else ()
    return tuple(
        Finding(
            code="torque.pair_disagrees",
            severity=RuleSeverity.WARNS,
            parts=(),
            reason=f"For {_of(one)}: {pair_conflict(one)}",
            remedy="Ask the maker of the part. Until then no more than the lowest.",
            source="The inch and the foot, exact by agreement.",
        )
        for one in stated
        if one.disagrees
    )


def _stated(subject: FitSubject, joint: OpenedJoint) -> tuple[StatedTorque, ...]:
    every = subject.machined.stated_torques if subject.machined else ()
    return stated_for(every, joint.place.value, joint.pattern)


def _conflicts(joint: OpenedJoint, found: Sequence[str]) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            code=f"torque.{joint.place.value}.conflict",
            severity=RuleSeverity.WARNS,
            parts=joint.skus,
            reason=f"For {_words(joint)}: {one}",
            remedy="Ask the maker of the part which torque holds.",
            source=BOLT_SOURCE,
        )
        for one in found
    )


def _left_over(subject: FitSubject, joints: Sequence[OpenedJoint]) -> tuple[Finding, ...]:
    """Say of each stated torque that no joint takes up where it stays."""
    every = subject.machined.stated_torques if subject.machined else ()
    taken = {one for joint in joints for one in _stated(subject, joint)}
    return tuple(
        Finding(
            code="torque.no_joint",
            severity=RuleSeverity.WARNS,
            parts=(),
            reason=f"A torque is stated for {_of(one)}, {one}, and this kit opens no such joint.",
            remedy="Use it on no other joint; see whether another one was meant.",
            source="The parts of the kit and the flanges that they need.",
        )
        for one in every
        if one not in taken
    )


def _of(one: StatedTorque) -> str:
    return f"the {one.joint.value.replace('_', ' ')}" + (f", {one.pattern}" if one.pattern else "")
