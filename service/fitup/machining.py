"""What the cuts on an engine do to the fit of its intake, its end rails and its valve train."""

from service.catalog.families import EngineFamily
from service.catalog.rules import RuleSeverity
from service.catalog.slots import Slot
from service.fitup.findings import COMMON_PRACTICE, Finding, Reading
from service.fitup.machined import EngineAsMachined
from service.fitup.rail_seal import RailSeal, bead_for, rail_seal
from service.fitup.spans import Span
from service.fitup.subject import FitSubject
from service.fitup.vee import (
    BankCuts,
    FitVerdict,
    OffsetLadder,
    Seat,
    Vee,
    end_rail_gap_mm,
    vee_of,
)

GEOMETRY = "Geometry of rigid bodies across the crank."
NEEDS_MACHINING = "intake.needs_machining"
"""Code of the finding that the shop's price for machining an intake is listed under."""
RATIO_WIDTH = 0.5
"""Range of a compression ratio past which fuel and timing cannot be chosen by it: that of the
steps in which pump fuel is sold (common practice, no source) [-]."""


def cuts_are_allowed_for(subject: FitSubject) -> tuple[Finding, ...]:
    """Return what the cuts do; nothing where none were told of."""
    if subject.machined is None:
        return ()
    family = subject.family
    right, left = subject.machined.cuts(family.clearance)
    found = _valve_train(right, left)
    vee = vee_of(family.bank_angle_deg, family.intake_face_angle_deg)
    if vee is None:
        return found
    skus = subject.skus(Slot.INTAKE_MANIFOLD, Slot.CYLINDER_HEADS)
    seat = vee.seat(right, left)
    if seat is None:
        return (*found, _not_held(skus))
    if seat.worst_offset_mm.greatest_size > 0.0:
        found = (*found, _offset(vee, seat, (right, left), skus, ladder_of(family)))
    return (*found, *_end_rails(subject.machined, seat))


def ladder_of(family: EngineFamily) -> OffsetLadder:
    """Return the shop's own ladder for a family."""
    said = family.port_offsets
    return OffsetLadder(absorbed_mm=said.absorbed_mm, dry_fit_mm=said.dry_fit_mm)


def compression_is_worked_out(subject: FitSubject) -> tuple[Finding, ...]:
    """Tell the compression ratio of an engine whose cuts, gaskets or pistons were told of."""
    ratios, new = subject.compression, subject.family.compression_ratio
    if subject.machined is None or not subject.machined.changes_compression():
        return ()
    wide = ratios.width > RATIO_WIDTH
    return (
        Finding(
            code="compression.as_machined",
            severity=RuleSeverity.WARNS if wide else RuleSeverity.NOTES,
            parts=subject.skus(Slot.CYLINDER_HEADS),
            measured=Reading(value=round(ratios.high, 2), unit="-"),
            reason=f"With what was cut and put on, the compression ratio is {_range(ratios)} over "
            f"all cylinders; it was {new:.2f} when new.",
            remedy="Measure chambers, compressed gasket, deck and pistons before fuel and timing "
            "are chosen: the range is too wide to choose by."
            if wide
            else "Choose fuel and timing by the highest of it.",
            source="Volumes above the piston: geometry. What nobody measured: usual sizes, "
            f"{COMMON_PRACTICE}.",
        ),
    )


_SEVERITY = {
    FitVerdict.ABSORBED: RuleSeverity.NOTES,
    FitVerdict.DRY_FIT: RuleSeverity.WARNS,
    FitVerdict.MACHINE: RuleSeverity.WARNS,
}


def _offset(
    vee: Vee,
    seat: Seat,
    banks: tuple[BankCuts, BankCuts],
    skus: tuple[str, ...],
    ladder: OffsetLadder,
) -> Finding:
    offset = seat.worst_offset_mm
    verdict = ladder.verdict(offset)
    within = ladder.dry_fit_mm if verdict is FitVerdict.MACHINE else ladder.absorbed_mm
    return Finding(
        code=NEEDS_MACHINING if verdict is FitVerdict.MACHINE else "intake.port_offset",
        severity=_SEVERITY[verdict],
        parts=skus,
        measured=Reading(value=round(offset.greatest_size, 3), unit="mm"),
        limit=Reading(value=within, unit="mm"),
        reason="Cuts and gaskets leave ports and bolt holes of the heads "
        f"{_range(offset)} mm above those of the manifold (less than 0: below), along the face, on "
        "the worse bank; "
        f"the manifold sits {_range(seat.drop_mm)} mm lower than when new.",
        remedy=_offset_remedy(vee, banks, verdict),
        source=f"{GEOMETRY} The limit: {COMMON_PRACTICE}.",
    )


def _offset_remedy(vee: Vee, banks: tuple[BankCuts, BankCuts], verdict: FitVerdict) -> str:
    if verdict is FitVerdict.ABSORBED:
        return "Gasket and holes take it up; see that every bolt starts by hand."
    side, bottom = vee.side_factor() or 0.0, vee.bottom_factor() or 0.0
    more = [bank.head_move_mm * side - bank.face_room_mm for bank in banks]
    move = (banks[0].head_move_mm + banks[1].head_move_mm) * 0.5
    first = (
        "Set the manifold on dry, with the gaskets that will be used, before anything is cut."
        if verdict is FitVerdict.DRY_FIT
        else "Machine before it goes on, after a dry fit."
    )
    return (
        f"{first} For full correction take {_range(more[0])} mm off the right and "
        f"{_range(more[1])} mm off the left side (less than 0: a thicker gasket), and "
        f"{_range(move * bottom)} mm off the manifold's bottom against the end rails as new."
    )


def _end_rails(machined: EngineAsMachined, seat: Seat) -> tuple[Finding, ...]:
    if machined.end_rail_gap_mm is None:
        return ()
    new = Span.exactly(machined.end_rail_gap_mm)
    gap = end_rail_gap_mm(new, seat.drop_mm, machined.rail_cut_mm())
    seal = rail_seal(gap)
    remedies = {
        RailSeal.RAILS_TOUCH: "Take the manifold's bottom down: it would stand on the rails "
        "and the ports would not seal.",
        RailSeal.THIN_FILM: "Use a thin strip or a film of sealant.",
        RailSeal.STRIP_OR_MACHINE: "Use strip seals made for the gap, or machine.",
    }
    remedy = remedies.get(seal) or _bead_remedy(gap, machined.end_rail_length_mm)
    bad = seal in {RailSeal.RAILS_TOUCH, RailSeal.STRIP_OR_MACHINE}
    return (
        Finding(
            code=f"intake.end_rail.{seal.value}",
            severity=RuleSeverity.WARNS if bad else RuleSeverity.NOTES,
            parts=(),
            measured=Reading(value=round(gap.low, 3), unit="mm"),
            reason=f"The gap between manifold and end rails is {_range(gap)} mm.",
            remedy=remedy,
            source=f"{GEOMETRY} The choice of seal: {COMMON_PRACTICE}.",
        ),
    )


def _bead_remedy(gap: Span, length_mm: float | None) -> str:
    bead = bead_for(gap, length_mm or 0.0)
    amount = (
        f"{bead.volume_ml:.0f} mL for both ends, {bead.cartridges} hand tube(s). "
        if length_mm
        else ""
    )
    return (
        f"Lay one unbroken bead of {bead.diameter_mm:.1f} mm silicone along each rail, over the "
        f"corners of the intake gaskets. {amount}Let it cure for a day before fluids go in, "
        "and trim what was squeezed out then."
    )


def _not_held(skus: tuple[str, ...]) -> Finding:
    return Finding(
        code="intake.face_level",
        severity=RuleSeverity.WARNS,
        parts=skus,
        reason="The intake faces are level or upright: they do not hold the manifold between "
        "them, and no cut on its sides brings ports back together.",
        remedy="Measure the offset across the engine on a dry fit, and slot or plug holes by it.",
        source=GEOMETRY,
    )


def _valve_train(right: BankCuts, left: BankCuts) -> tuple[Finding, ...]:
    """Speak of the room that a head takes from valves and lifters when it comes down."""
    moves = (right.head_move_mm, left.head_move_mm)
    if all(move.greatest_size == 0.0 for move in moves):
        return ()
    worse = max(moves, key=lambda move: move.high)
    return (
        Finding(
            code="valvetrain.heads_moved",
            severity=RuleSeverity.WARNS,
            parts=(),
            measured=Reading(value=round(worse.high, 3), unit="mm"),
            reason=f"The heads sit {_range(worse)} mm nearer to the crank: valves and pistons "
            "come as much closer, and lifters that do not adjust are pressed in as much more.",
            remedy="Measure valve to piston and lifter preload before the engine first turns; "
            "fit pushrods of another length where preload leaves its window. The figure takes the "
            "place of no check on the engine.",
            source="Along the cylinder's axis: geometry.",
        ),
    )


def _range(span: Span) -> str:
    low, high = f"{span.low:.2f}", f"{span.high:.2f}"
    return low if low == high else f"{low} to {high}"
