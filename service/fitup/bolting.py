"""Which bolt out of the shop's supplies goes into a joint.

Its length is chosen with everything at the ends of its tolerance, so that a bolt that is
named neither bottoms nor strips; longer is not better.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from service.catalog.layouts import BoltLayout
from service.catalog.parts import Part
from service.catalog.specs import CylinderHeadsSpec, HeadMaterial
from service.catalog.supplies import FastenersSpec, GasketsSpec, GasketStyle, JointPlace
from service.fitup.access import CLEARANCE_HOLE_MM, Access, bolt_access
from service.fitup.bolted import AS_BUILT, OpenedJoint, banks_of
from service.fitup.bolts import BoltFit, Hole, bolt_fit
from service.fitup.machined import BankAsMachined, HolesAsFound, Unknown
from service.fitup.spans import Span, hull
from service.fitup.subject import FitSubject
from service.fitup.threads import (
    ALUMINIUM_319,
    CLASS_8_8,
    CLASS_10_9,
    GRADE_2,
    GRADE_5,
    GRADE_8,
    IRON_G2500,
    THREADS,
    Casting,
    needed_engagement_mm,
)
from service.fitup.torque import FrictionState, TorqueAdvice, advised_torque

LENGTH_TOLERANCE_MM = 0.5
"""Of a bolt, to either side (js15 of ISO 4759, from memory, rounded up) [mm]."""
ANY_GASKET = Span(0.3, 1.6)
"""Compressed, where none is chosen (common practice, no source) [mm]."""
CASTINGS = {HeadMaterial.IRON: IRON_G2500, HeadMaterial.ALUMINIUM: ALUMINIUM_319}
"""The weakest of each metal that is usual: nobody tests the alloy of a head [-]."""
CLASSES = {each.name: each for each in (CLASS_8_8, CLASS_10_9, GRADE_2, GRADE_5, GRADE_8)}


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedBolt:
    """A bolt in the holes of a joint."""

    part: Part
    fits: tuple[BoltFit, ...]
    """In the holes of each bank."""
    needed_mm: float
    access: Access
    advice: TorqueAdvice

    @property
    def faulty(self) -> bool:
        """Whether it will not do in some hole, or cannot be put there."""
        return bool(self.access.faults) or any(fit.faults for fit in self.fits)

    @property
    def engaged_mm(self) -> Span:
        """Over all holes [mm]."""
        return hull(fit.engaged_mm for fit in self.fits)

    @property
    def margin_mm(self) -> Span:
        """From the tip to the bottom, over all holes [mm]."""
        return hull(fit.margin_mm for fit in self.fits)


def bolts_tried(
    subject: FitSubject, joint: OpenedJoint, supplies: Iterable[Part]
) -> tuple[TriedBolt, ...]:
    """Return the bolts of the right thread on offer: the shortest first, then the softest."""
    tried = (_tried(subject, joint, part) for part in supplies)
    return tuple(
        sorted(
            (bolt for bolt in tried if bolt),
            key=lambda bolt: (
                bolt.fits[0].length_mm,
                _strength(bolt.part),
                bolt.part.price_cents,
                bolt.part.sku,
            ),
        )
    )


def bolts_that_fit(
    subject: FitSubject, joint: OpenedJoint, supplies: Iterable[Part]
) -> tuple[TriedBolt, ...]:
    """Return the bolts on offer that fit every hole, the best first."""
    return tuple(bolt for bolt in bolts_tried(subject, joint, supplies) if not bolt.faulty)


def _strength(part: Part) -> float:
    return (
        CLASSES[part.spec.property_class.value].tensile_mpa
        if isinstance(part.spec, FastenersSpec)
        else 0.0
    )


def _tried(subject: FitSubject, joint: OpenedJoint, part: Part) -> TriedBolt | None:
    layout, spec = joint.layout, part.spec
    if layout is None or not isinstance(spec, FastenersSpec):
        return None
    if spec.thread is not layout.holes.thread:
        return None
    thread, bolt = THREADS[spec.thread.value], CLASSES[spec.property_class.value]
    casting = tapped_into(subject, joint.place)
    needed = needed_engagement_mm(thread, bolt, casting)
    length = Span.around(spec.length_mm, LENGTH_TOLERANCE_MM)
    fits = tuple(
        bolt_fit(length, _grip(joint, layout, bank), hole, needed, threaded_mm=spec.threaded_mm)
        for bank, hole in _holes(subject, joint.place, layout)
    )
    state = FrictionState.ANTI_SEIZE if casting is ALUMINIUM_319 else FrictionState.OIL
    least = min(fit.engaged_mm.low for fit in fits)
    return TriedBolt(
        part=part,
        fits=fits,
        needed_mm=needed,
        access=_access(spec, layout),
        advice=advised_torque(thread, bolt, casting, least, state),
    )


def flange_hole_mm(layout: BoltLayout) -> float:
    """Return how wide the holes in the flange are, as recorded, else as is usual [mm]."""
    diameter = THREADS[layout.holes.thread.value].diameter_mm
    return layout.bolt_hole_mm or CLEARANCE_HOLE_MM[round(diameter, 4)]


def _access(spec: FastenersSpec, layout: BoltLayout) -> Access:
    return bolt_access(
        THREADS[spec.thread.value].diameter_mm,
        hole_mm=flange_hole_mm(layout),
        head_mm=spec.head_mm,
        socket_mm=spec.socket_mm,
        has_washer=layout.washer_mm > 0.0,
        head_room_mm=layout.head_room_mm,
        socket_room_mm=layout.socket_room_mm,
    )


def tapped_into(subject: FitSubject, place: JointPlace) -> Casting:
    """Return what the holes of a joint are tapped into: heads, else aluminium, the weakest.

    A manifold is of aluminium mostly, and nothing says of what the block is.
    """
    heads = subject.spec(CylinderHeadsSpec)
    if place in {JointPlace.THROTTLE_BODY, JointPlace.CYLINDER_HEADS} or heads is None:
        return ALUMINIUM_319
    return CASTINGS[heads.material]


def _grip(joint: OpenedJoint, layout: BoltLayout, bank: BankAsMachined) -> Span:
    """Return flange, compressed gasket and washer, less what was cut off the flange [mm]."""
    specs = [part.spec for part in joint.gaskets[:1] if isinstance(part.spec, GasketsSpec)]
    gasket = Span.exactly(_between_faces_mm(specs[0])) if specs else ANY_GASKET
    cut = Span.exactly(0.0)
    if joint.place is JointPlace.INTAKE_MANIFOLD:
        cut = bank.side_cut()
    elif joint.place is JointPlace.CYLINDER_HEADS:
        cut = bank.head_mill()
        gasket = bank.new_head_gasket.thickness() if bank.new_head_gasket else gasket
    flange = Span.around(layout.flange_mm, layout.flange_tolerance_mm)
    return flange + gasket + Span.exactly(layout.washer_mm) - cut


def _between_faces_mm(gasket: GasketsSpec) -> float:
    """Return what a gasket keeps two faces apart; a bead lies in its groove [mm]."""
    return 0.0 if gasket.style is GasketStyle.BEAD else gasket.compressed_mm


def _holes(
    subject: FitSubject, place: JointPlace, layout: BoltLayout
) -> tuple[tuple[BankAsMachined, Hole], ...]:
    """Return each bank with its holes as found; a throttle body has one set for the engine."""
    if place is JointPlace.THROTTLE_BODY:
        found = subject.machined.throttle_holes if subject.machined else HolesAsFound()
        return ((AS_BUILT, _hole(layout, found, Span.exactly(0.0))),)
    return tuple(
        (bank, _hole(layout, *_found(place, bank))) for bank in dict.fromkeys(banks_of(subject))
    )


def _found(place: JointPlace, bank: BankAsMachined) -> tuple[HolesAsFound, Span]:
    """Return a bank's holes as found, and what was cut off the face that they stand in."""
    match place:
        case JointPlace.INTAKE_MANIFOLD:
            return bank.intake_holes, bank.face_cut()
        case JointPlace.CYLINDER_HEADS:
            return bank.deck_holes, bank.deck_cut()
        case _:
            return bank.exhaust_holes, Span.exactly(0.0)


def _hole(layout: BoltLayout, found: HolesAsFound, cut: Span) -> Hole:
    holes = layout.holes
    thread = THREADS[holes.thread.value]
    tolerance = holes.depth_tolerance_mm
    full = _depth(found.full_thread_mm, holes.full_thread_mm, thread.diameter_mm, tolerance)
    if found.repaired_insert and found.full_thread_mm is None:
        full = Span(thread.diameter_mm, 2.0 * thread.diameter_mm)
    drilled = _depth(found.drilled_mm, holes.drilled_mm, full.low, tolerance)
    return Hole(
        thread=thread,
        full_thread_mm=full - (cut if found.full_thread_mm is None else Span.exactly(0.0)),
        drilled_mm=drilled - (cut if found.drilled_mm is None else Span.exactly(0.0)),
        countersink_mm=holes.countersink_mm,
        damaged_pitches=_lost(found),
    )


def _depth(found: float | Unknown | None, drawn: float, least: float, tolerance: float) -> Span:
    """Return a depth as measured, else as drawn; not known: from the least up to as drawn [mm]."""
    if found is None:
        return Span.around(drawn, tolerance)
    if isinstance(found, Unknown):
        return Span(min(least, drawn), drawn + tolerance)
    return Span.around(found, tolerance)


def _lost(found: HolesAsFound) -> Span:
    """Return the turns lost at the mouth; not known: up to three (common practice)."""
    if isinstance(found.pitches_lost, Unknown):
        return Span(0.0, 3.0)
    return Span.exactly(float(found.pitches_lost))
