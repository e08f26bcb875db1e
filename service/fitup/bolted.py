"""Joints that a kit opens, and which gasket out of the shop's supplies goes in."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, replace

from service.catalog.interfaces import InterfaceKind
from service.catalog.layouts import BoltedFlange, BoltLayout
from service.catalog.parts import Part
from service.catalog.slots import Slot
from service.catalog.specs import CalibrationSpec
from service.catalog.supplies import AdaptersSpec, GasketsSpec, JointPlace
from service.fitup.adapting import bridged_needs
from service.fitup.gaskets import (
    Gasket,
    GasketRefusal,
    IntakeJoint,
    gaskets_that_fit,
    lugs_would_go,
    refusals,
)
from service.fitup.machined import BankAsMachined, Unknown
from service.fitup.spans import Span, hull
from service.fitup.subject import FitSubject
from service.fitup.vee import vee_of

MEETING = {
    JointPlace.INTAKE_MANIFOLD: (
        Slot.INTAKE_MANIFOLD,
        Slot.CYLINDER_HEADS,
        InterfaceKind.INTAKE_FLANGE,
    ),
    JointPlace.THROTTLE_BODY: (
        Slot.THROTTLE_BODY,
        Slot.INTAKE_MANIFOLD,
        InterfaceKind.THROTTLE_FLANGE,
    ),
    JointPlace.EXHAUST_MANIFOLD: (
        Slot.EXHAUST_MANIFOLD,
        Slot.CYLINDER_HEADS,
        InterfaceKind.EXHAUST_FLANGE,
    ),
    JointPlace.CYLINDER_HEADS: (
        Slot.CYLINDER_HEADS,
        Slot.CYLINDER_HEADS,
        InterfaceKind.HEAD_DECK,
    ),
}
"""Which part is bolted onto which, by which flange."""
AS_BUILT = BankAsMachined()


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedJoint:
    """A joint that comes apart when the kit goes on."""

    place: JointPlace
    pattern: str
    skus: tuple[str, ...]
    adapter: str | None = None
    """SKU of what it bolts down, where that is an adapter for the part above."""
    layout: BoltLayout | None
    """None: the family records none for this pattern."""
    gaskets: tuple[Part, ...]
    """Those that fit, the best first."""
    refused: tuple[tuple[Part, tuple[GasketRefusal, ...], bool], ...]
    """The others, why, and whether cutting their lugs off is all that it takes."""
    meets: IntakeJoint
    """What a gasket meets there."""


def opened_joints(subject: FitSubject, supplies: Iterable[Part]) -> tuple[OpenedJoint, ...]:
    """Return the joints between changed parts, and all of an engine that was machined."""
    stock = tuple(supplies)
    adapters = [
        each.adapters[0] for each in bridged_needs(subject.family, subject.parts, supplies=stock)
    ]
    return tuple(
        _joint(subject, place, pattern, stock, on)
        for place in JointPlace
        for pattern, on in (*_under(place, adapters), *_patterns(subject, place, adapters))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Between:
    """An adapter as one joint meets it."""

    adapter: Part
    below: bool
    """Whether it is what is bolted on, rather than what is bolted onto."""


def _under(place: JointPlace, adapters: Iterable[Part]) -> Iterator[tuple[str, _Between]]:
    """Yield the joints by which adapters are bolted on."""
    for adapter in adapters:
        for need in adapter.needs:
            if need.kind is MEETING[place][2]:
                yield need.code, _Between(adapter=adapter, below=True)


def _patterns(
    subject: FitSubject, place: JointPlace, adapters: Iterable[Part]
) -> tuple[tuple[str, _Between | None], ...]:
    upper, lower, kind = MEETING[place]
    machined = subject.machined
    apart = machined is not None and not machined.tells_torques_alone()
    opened = subject.changed(upper, lower) or apart
    if not opened or upper not in subject.parts:
        return ()
    onto = {
        (one.kind, one.code): _Between(adapter=adapter, below=False)
        for adapter in adapters
        for one in adapter.provides
    }
    return tuple(
        (need.code, onto.get((kind, need.code)))
        for need in subject.parts[upper].needs
        if need.kind is kind
    )


def _joint(
    subject: FitSubject,
    place: JointPlace,
    pattern: str,
    supplies: tuple[Part, ...],
    between: _Between | None,
) -> OpenedJoint:
    layout = _layout(subject, place, pattern, between)
    meets = _meets(subject, place, layout)
    offered = {
        _gasket(part.sku, part.spec): part
        for part in supplies
        if isinstance(part.spec, GasketsSpec)
        and (part.spec.place, part.spec.pattern) == (place, pattern)
    }
    fitting = gaskets_that_fit(offered, meets)
    return OpenedJoint(
        place=place,
        pattern=pattern,
        skus=_skus(subject, place, between),
        adapter=between.adapter.sku if between and between.below else None,
        layout=layout,
        gaskets=tuple(offered[each] for each in fitting),
        refused=tuple(
            (part, refusals(each, meets), lugs_would_go(each, meets))
            for each, part in offered.items()
            if each not in fitting
        ),
        meets=meets,
    )


def _skus(subject: FitSubject, place: JointPlace, between: _Between | None) -> tuple[str, ...]:
    upper, lower, _ = MEETING[place]
    if between is None:
        return subject.skus(*{upper, lower})
    return tuple(sorted({between.adapter.sku, *subject.skus(lower if between.below else upper)}))


def _layout(
    subject: FitSubject, place: JointPlace, pattern: str, between: _Between | None
) -> BoltLayout | None:
    """Return how the joint is bolted: this part's own flange on it, an adapter's own holes."""
    named = (one for one in subject.family.bolt_layouts if one.place is place)
    layout = next((one for one in named if one.pattern == pattern), None)
    spec = between.adapter.spec if between else None
    if layout is None or between is None or not isinstance(spec, AdaptersSpec):
        return layout and as_flanged(layout, subject.parts[MEETING[place][0]].flanges)
    if between.below:
        thick = replace(layout, flange_mm=spec.thickness_mm)
        return as_flanged(thick, between.adapter.flanges)
    # The family's holes are those of the part below; a bolt chosen for them may bottom here.
    if spec.holes is None:
        return None
    held = replace(layout, holes=spec.holes)
    return as_flanged(held, subject.parts[MEETING[place][0]].flanges)


def as_flanged(layout: BoltLayout, flanges: Iterable[BoltedFlange]) -> BoltLayout:
    """Return a layout with what a part's own flange has otherwise."""
    own = next((one for one in flanges if one.pattern == layout.pattern), None)
    if own is None:
        return layout
    said = {f.name: getattr(own, f.name) for f in fields(own)}
    return replace(layout, **{name: value for name, value in said.items() if value is not None})


def _gasket(sku: str, spec: GasketsSpec) -> Gasket:
    return Gasket(
        name=sku,
        style=spec.style,
        free_mm=spec.free_mm,
        compressed_mm=spec.compressed_mm,
        slot_mm=spec.slotted_mm,
        hottest_c=spec.hottest_c,
        fuels=frozenset(spec.fuels),
        bore_mm=spec.bore_mm,
        lugs_may_go=spec.lugs_may_go,
    )


def _meets(subject: FitSubject, place: JointPlace, layout: BoltLayout | None) -> IntakeJoint:
    intake, heads = place is JointPlace.INTAKE_MANIFOLD, place is JointPlace.CYLINDER_HEADS
    banks = banks_of(subject) if intake else (AS_BUILT,)
    calibration = subject.spec(CalibrationSpec)
    recesses = {_recess(subject, bank) for bank in banks} if intake else {True}
    return IntakeJoint(
        recessed=None if None in recesses else all(recesses),
        face_machined=any(bank.face_machined() for bank in banks),
        out_of_flat_mm=hull(bank.out_of_flat() for bank in banks),
        offset_mm=_offset(subject) if intake else Span.exactly(0.0),
        temperature_c=layout.hottest_c if layout else 0.0,
        fuel=calibration.fuel if calibration else subject.family.fuel,
        compressed_mm=_head_gaskets(subject) if heads else (),
        bore_mm=_widest_bore_mm(subject) if heads else 0.0,
    )


def _head_gaskets(subject: FitSubject) -> tuple[Span, ...]:
    """Return the thickness that the ratio and the fit of the intake were reckoned with [mm]."""
    factory = subject.family.clearance
    return tuple(
        (bank.new_head_gasket or bank.old_gasket(factory)).thickness() for bank in banks_of(subject)
    )


def _widest_bore_mm(subject: FitSubject) -> float:
    spread = subject.machined.overbore().width if subject.machined else 0.0
    return subject.bore_mm + spread


def banks_of(subject: FitSubject) -> tuple[BankAsMachined, ...]:
    """Return right and left bank as machined, or one as the factory left it."""
    return subject.machined.banks() if subject.machined else (AS_BUILT,)


def _recess(subject: FitSubject, bank: BankAsMachined) -> bool | None:
    """Return whether the heads take lugs, as found, else as their casting has it."""
    if bank.locating_recess is not None:
        return None if isinstance(bank.locating_recess, Unknown) else bank.locating_recess
    heads = subject.parts.get(Slot.CYLINDER_HEADS)
    generation = subject.machined.casting_generation if subject.machined else None
    if heads is None or not heads.factory_part:
        return None
    named = [one for one in subject.family.castings if generation in (None, one.name)]
    recesses = {one.locating_recess for one in named}
    return recesses.pop() if len(recesses) == 1 else None


def _offset(subject: FitSubject) -> Span:
    family = subject.family
    vee = vee_of(family.bank_angle_deg, family.intake_face_angle_deg)
    if subject.machined is None or vee is None:
        return Span.exactly(0.0)
    seat = vee.seat(*subject.machined.cuts(family.clearance))
    return seat.worst_offset_mm if seat else Span.exactly(0.0)
