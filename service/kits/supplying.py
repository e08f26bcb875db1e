"""What a kit takes to be bolted on, and which of the shop's supplies will do for it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, inf

from service.catalog.interfaces import InterfaceKind
from service.catalog.layouts import BoltLayout
from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.catalog.specs import CalibrationSpec, InjectorsSpec
from service.catalog.supplies import (
    JointPlace,
    LubricantsSpec,
    Lubrication,
    ORingsSpec,
    PlugsSpec,
    SealantsSpec,
    Sealing,
    WashersSpec,
)
from service.fitup.adapting import bridged_needs
from service.fitup.bolted import OpenedJoint, opened_joints
from service.fitup.bolting import bolts_that_fit, flange_hole_mm
from service.fitup.lengths import both
from service.fitup.rail_seal import THIN_GAP_MM, WIDE_GAP_MM, bead_for
from service.fitup.spans import Span
from service.fitup.subject import FitSubject
from service.fitup.threads import THREADS
from service.fitup.vee import end_rail_gap_mm, vee_of
from service.kits.kit import Kit
from service.kits.views import fit_subject

PLUGGED = frozenset({InterfaceKind.VACUUM_PORT, InterfaceKind.EGR_PORT, InterfaceKind.SENSOR_BUNG})
"""Openings of a manifold that let false air in when nothing is connected."""
USUAL_GAP_MM, USUAL_RAIL_MM = 6.0, 150.0
"""Of end rails that nobody measured: the widest that a bead seals, and a long rail (common
practice, no source); better a tube left over than one short. [mm]"""

SAME_WASHER_MM = 0.3
"""Within which a washer is as thick as the grip was reckoned with: less than the tolerance of a
flange (common practice, no source) [mm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Some pieces of what will do for one purpose, the best first; none: it is missing."""

    choice: tuple[Part, ...]
    count: int
    what: str
    purpose: str


def wanted_items(kit: Kit, supplies: Sequence[Part]) -> Iterator[Wanted]:
    """Yield the parts that change and everything that bolts them on."""
    subject = fit_subject(kit)
    for slot in kit.chosen:
        yield Wanted(choice=(kit.parts[slot],), count=1, what=slot, purpose="kit")
    joints = opened_joints(subject, supplies)
    for joint in joints:
        yield from _for_joint(subject, joint, supplies)
    if any(joint.layout for joint in joints):
        yield _lubricant(subject, joints, supplies)
    yield from _for_rails(subject, joints, supplies)
    yield from _for_injectors(kit, supplies)
    yield from _plugs(kit, supplies)
    yield from adapters_wanted(subject, supplies)


def _for_joint(
    subject: FitSubject, joint: OpenedJoint, supplies: Sequence[Part]
) -> Iterator[Wanted]:
    purpose = f"{joint.place.value.replace('_', ' ')} ({joint.pattern})"
    lugless = tuple(part for part, _, lugs in joint.refused if lugs)
    yield Wanted(
        choice=joint.gaskets or lugless, count=1, what=f"gaskets, {joint.pattern}", purpose=purpose
    )
    if joint.layout is None:
        yield Wanted(choice=(), count=0, what=f"bolts, {joint.pattern}", purpose=purpose)
        return
    yield Wanted(
        choice=tuple(bolt.part for bolt in bolts_that_fit(subject, joint, supplies)),
        count=joint.layout.bolt_count,
        what=f"{joint.layout.bolt_count} bolts {joint.layout.holes.thread}, {joint.pattern}",
        purpose=purpose,
    )
    yield from _washers(joint.layout, supplies, purpose)


def _washers(layout: BoltLayout, supplies: Sequence[Part], purpose: str) -> Iterator[Wanted]:
    """Yield the loose washers that a joint's grip was reckoned with."""
    if not layout.washer_mm:
        return
    thread = layout.holes.thread
    room = inf if layout.head_room_mm is None else layout.head_room_mm
    play = flange_hole_mm(layout) - THREADS[thread.value].diameter_mm
    yield Wanted(
        choice=tuple(
            part
            for part in supplies
            if isinstance(part.spec, WashersSpec)
            and part.spec.thread is thread
            and abs(part.spec.thickness_mm - layout.washer_mm) <= SAME_WASHER_MM
            and part.spec.outside_mm + play <= room
        ),
        count=layout.bolt_count,
        what=f"{layout.bolt_count} washers {thread}, {both(layout.washer_mm)}",
        purpose=purpose,
    )


def _lubricant(
    subject: FitSubject, joints: Sequence[OpenedJoint], supplies: Sequence[Part]
) -> Wanted:
    bolts = [bolts_that_fit(subject, joint, supplies) for joint in joints]
    states = {found[0].advice.state.value for found in bolts if found}
    wanted = Lubrication.ANTI_SEIZE if Lubrication.ANTI_SEIZE in states else Lubrication.OIL
    return Wanted(
        choice=tuple(
            part
            for part in supplies
            if isinstance(part.spec, LubricantsSpec) and part.spec.leaves is wanted
        ),
        count=1,
        what=f"lubricant, {wanted.value.replace('_', '-')}",
        purpose="bolts, as their torque is stated",
    )


def _for_rails(
    subject: FitSubject, joints: Sequence[OpenedJoint], supplies: Sequence[Part]
) -> Iterator[Wanted]:
    family = subject.family
    vee = vee_of(family.bank_angle_deg, family.intake_face_angle_deg)
    if vee is None or not any(joint.place is JointPlace.INTAKE_MANIFOLD for joint in joints):
        return
    machined = subject.machined
    layout = next((one.layout for one in joints if one.place is JointPlace.INTAKE_MANIFOLD), None)
    hottest = layout.hottest_c if layout else 0.0
    gap, length = Span.exactly(USUAL_GAP_MM), USUAL_RAIL_MM
    if machined is not None and machined.end_rail_gap_mm is not None:
        seat = vee.seat(*machined.cuts(family.clearance))
        new = Span.exactly(machined.end_rail_gap_mm)
        gap = end_rail_gap_mm(new, seat.drop_mm, machined.rail_cut_mm()) if seat else new
        length = machined.end_rail_length_mm or USUAL_RAIL_MM
    if gap.high > WIDE_GAP_MM:
        yield Wanted(
            choice=(), count=2, what=f"2 strip seals, {both(gap.high)}", purpose="end rails"
        )
    widest = Span.exactly(min(max(gap.high, THIN_GAP_MM), WIDE_GAP_MM))
    volume = bead_for(widest, length).volume_ml
    silicone, held = [], volume
    for part in supplies:
        spec = part.spec
        if not isinstance(spec, SealantsSpec) or spec.hottest_c < hottest:
            continue
        if spec.sealing is Sealing.SILICONE:
            silicone.append(part)
            held = min(held, spec.volume_ml)
    yield Wanted(
        choice=tuple(silicone),
        count=ceil(volume / held),
        what=f"silicone sealant, {volume:.0f} mL",
        purpose="end rails and corners of the intake gaskets",
    )


def _for_injectors(kit: Kit, supplies: Sequence[Part]) -> Iterator[Wanted]:
    if not {Slot.INTAKE_MANIFOLD, Slot.INJECTORS} & set(kit.chosen):
        return
    needs = kit.parts[Slot.INJECTORS].needs
    fuel = kit.spec(CalibrationSpec).fuel
    seats = {need.code for need in needs if need.kind is InterfaceKind.INJECTOR_SEAT}
    for seat in sorted(seats):
        yield Wanted(
            choice=tuple(
                part
                for part in supplies
                if isinstance(part.spec, ORingsSpec)
                and part.spec.seat == seat
                and fuel in part.spec.fuels
            ),
            count=kit.spec(InjectorsSpec).count,
            what=f"o-rings, {seat}, for {fuel.value.replace('_', ' ')}",
            purpose="injectors, a set for each",
        )


def _plugs(kit: Kit, supplies: Sequence[Part]) -> Iterator[Wanted]:
    if Slot.INTAKE_MANIFOLD not in kit.chosen:
        return
    used = {(need.kind, need.code) for need in kit.family.needs}
    used |= {(need.kind, need.code) for part in kit.parts.values() for need in part.needs}
    for offer in kit.parts[Slot.INTAKE_MANIFOLD].provides:
        if offer.kind in PLUGGED and (offer.kind, offer.code) not in used:
            yield Wanted(
                choice=tuple(
                    part
                    for part in supplies
                    if isinstance(part.spec, PlugsSpec)
                    and (part.spec.kind, part.spec.code) == (offer.kind, offer.code)
                ),
                count=1,
                what=f"plug, {offer.kind.value.replace('_', ' ')} {offer.code}",
                purpose="opening of the intake manifold that nothing uses",
            )


def adapters_wanted(subject: FitSubject, supplies: Sequence[Part]) -> Iterator[Wanted]:
    """Yield what joins parts that do not meet by themselves."""
    for bridged in bridged_needs(subject.family, subject.parts, supplies):
        need = bridged.open_need.need
        yield Wanted(
            choice=bridged.adapters,
            count=1,
            what=f"adapter, {need.code}",
            purpose=f"joins {need.kind.value.replace('_', ' ')} {need.code}",
        )
