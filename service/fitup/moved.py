"""What heads that have moved leave of a manifold's place: its holes, its spigots and dowels."""

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.catalog.supplies import Locating
from service.fitup.bolted import OpenedJoint
from service.fitup.bolting import flange_hole_mm
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.machined import Unknown
from service.fitup.subject import FitSubject
from service.fitup.threads import THREADS
from service.fitup.vee import bolt_starts, vee_of

LOCATED_WITHIN_MM = 0.1
"""Offset that a spigot or dowel lets a manifold take (common practice, no source) [mm]."""


def bolts_start(joint: OpenedJoint) -> tuple[Finding, ...]:
    """Speak of holes that have moved so far that a bolt may not find its thread."""
    layout, offset = joint.layout, joint.meets.offset_mm.greatest_size
    if layout is None:
        return ()
    place = joint.place.value.replace("_", " ")
    hole = flange_hole_mm(layout)
    bolt = THREADS[layout.holes.thread.value].diameter_mm
    if bolt_starts(offset, hole_mm=hole, bolt_mm=bolt):
        return ()
    return (
        Finding(
            code=f"bolts.{joint.place.value}.do_not_start",
            severity=RuleSeverity.WARNS,
            parts=joint.skus,
            measured=Reading(value=round(offset, 3), unit="mm"),
            limit=Reading(value=round((hole - bolt) / 2.0, 3), unit="mm"),
            reason=f"Holes of {place}, {joint.pattern}, are, or may be, up to {offset:.2f} mm off; "
            f"holes of {hole:g} mm let a bolt of {bolt:g} mm off by {(hole - bolt) / 2.0:.2f} mm, "
            "so that bolts may not start.",
            remedy="Machine for the offset, or slot the holes of the manifold along its face and "
            "lay washers that cover the slots. Never start a bolt by force, and never draw "
            "a manifold into place with its bolts.",
            source="Geometry of rigid bodies across the crank; holes: as recorded for the part, "
            "else ISO 273, medium.",
        ),
    )


def manifold_finds_its_place(subject: FitSubject) -> tuple[Finding, ...]:
    """Speak of spigots or dowels that hold a manifold where it stood before the cuts."""
    machined, family = subject.machined, subject.family
    vee = vee_of(family.bank_angle_deg, family.intake_face_angle_deg)
    seat = vee.seat(*machined.cuts(family.clearance)) if machined and vee else None
    if machined is None or seat is None:
        return ()
    offset = seat.worst_offset_mm
    located = _located_by(subject)
    if located == {Locating.BOLTS} or not located or offset.greatest_size <= LOCATED_WITHIN_MM:
        return ()
    known = Unknown.UNKNOWN not in located
    held = " or ".join(sorted(each.value for each in located - {Unknown.UNKNOWN, Locating.BOLTS}))
    return (
        Finding(
            code="intake.located_before_the_cuts",
            severity=RuleSeverity.WARNS if known else RuleSeverity.NOTES,
            parts=subject.skus(Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS),
            measured=Reading(value=round(offset.greatest_size, 3), unit="mm"),
            limit=Reading(value=LOCATED_WITHIN_MM, unit="mm"),
            reason=f"A {held or 'spigot or dowel, if there is one,'} holds the manifold where it "
            "stood when new, and the heads have moved under it.",
            remedy="On a dry fit see whether it bears on both faces; take locating pieces out or "
            "ease them before the bolts are tightened.",
            source=f"Geometry of rigid bodies; the play: {COMMON_PRACTICE}.",
        ),
    )


def _located_by(subject: FitSubject) -> set[Locating | Unknown]:
    machined = subject.machined
    if machined is None:
        return set()
    castings = subject.family.castings
    named = [c for c in castings if machined.casting_generation in (None, c.name)]
    by_casting = {c.located_by for c in named}
    found: set[Locating | Unknown] = set()
    for bank in machined.banks():
        found |= by_casting if bank.located_by is None else {bank.located_by}
    return found
