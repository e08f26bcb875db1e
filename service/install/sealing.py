"""The seal at the end rails of a V engine: strip or bead, how much, how long."""

from dataclasses import dataclass

from service.catalog.families import EngineFamily
from service.fitup.lengths import both
from service.fitup.machined import EngineAsMachined
from service.fitup.rail_seal import (
    HOURS_BEFORE_FLUIDS,
    HOURS_BEFORE_TORQUE,
    PORT_BEAD_MM,
    SKIN_MINUTES,
    THIN_GAP_MM,
    WIDE_GAP_MM,
    RailSeal,
    bead_for,
    cure_hours,
    rail_seal,
)
from service.fitup.spans import Span
from service.fitup.vee import end_rail_gap_mm, vee_of
from service.quantities import EDGE_CONFIG, Count, Text


@dataclass(frozen=True, slots=True, kw_only=True)
class EndRails:
    """What closes the gap between manifold and block; nulls are measured on the dry fit."""

    __pydantic_config__ = EDGE_CONFIG

    gap_low_mm: float | None
    gap_high_mm: float | None
    seal: RailSeal | None
    bead_mm: float | None
    volume_ml: float | None
    """Both ends, waste added. [mL]"""
    cartridges: Count | None
    """Hand tubes of 80 mL."""
    width_low_mm: float | None
    width_high_mm: float | None
    """What the squeezed bead spreads to: looked for on both sides of the rail. [mm]"""
    instructions: tuple[Text, ...]


def end_rails(family: EngineFamily, machined: EngineAsMachined | None) -> EndRails | None:
    """Return the seal of this engine's end rails; None: an inline engine has none."""
    vee = vee_of(family.bank_angle_deg, family.intake_face_angle_deg)
    if vee is None:
        return None
    gap = None
    if machined is not None and machined.end_rail_gap_mm is not None:
        seat = vee.seat(*machined.cuts(family.clearance))
        if seat is not None:
            new = Span.exactly(machined.end_rail_gap_mm)
            gap = end_rail_gap_mm(new, seat.drop_mm, machined.rail_cut_mm())
    if gap is None:
        return _unknown()
    return _known(gap, machined.end_rail_length_mm if machined else None)


def _unknown() -> EndRails:
    return EndRails(
        gap_low_mm=None,
        gap_high_mm=None,
        seal=None,
        bead_mm=None,
        volume_ml=None,
        cartridges=None,
        width_low_mm=None,
        width_high_mm=None,
        instructions=(
            (
                f"The gap is not known: measure it on the dry fit. Up to {both(THIN_GAP_MM)} a "
                f"thin strip or a film; up to {both(WIDE_GAP_MM / 2.0)} one bead of twice the gap; "
                f"up to {both(WIDE_GAP_MM)} strip seals, or a bead that its label allows; beyond, "
                "machine."
            ),
            *_COMMON,
        ),
    )


def _known(gap: Span, length_mm: float | None) -> EndRails:
    seal = rail_seal(gap)
    bead = bead_for(gap, length_mm or 0.0) if seal is RailSeal.BEAD else None
    known = bead is not None and length_mm is not None
    return EndRails(
        gap_low_mm=gap.low,
        gap_high_mm=gap.high,
        seal=seal,
        bead_mm=bead.diameter_mm if bead else None,
        volume_ml=bead.volume_ml if bead and known else None,
        cartridges=bead.cartridges if bead and known else None,
        width_low_mm=bead.width_mm.low if bead else None,
        width_high_mm=bead.width_mm.high if bead else None,
        instructions=(
            *_WORDS[seal],
            *(
                (f"The bead is thicker than the {both(6.35)} of labels: prefer strip seals.",)
                if bead and not bead.label_allows
                else ()
            ),
            *(
                ("The length of the rails was not told: measure it for the amount of sealant.",)
                if bead and length_mm is None
                else ()
            ),
            *(_COMMON if seal is not RailSeal.RAILS_TOUCH else ()),
            *((_cured(bead.width_mm.high),) if bead else ()),
        ),
    )


def _cured(width_mm: float) -> str:
    """Say when the widest place of a bead, which cures from both sides, is hard all through."""
    hours = cure_hours(width_mm / 2.0)
    return (
        f"Spread to {both(width_mm)} it is hard all through after about {hours:.0f} h at 23 °C "
        "(73 °F): do not trim it before (common practice; diffusion)."
    )


_WORDS = {
    RailSeal.RAILS_TOUCH: (
        (
            "Stop: the manifold may stand on the rails, and the ports would not seal. Take its "
            "bottom down first."
        ),
    ),
    RailSeal.THIN_FILM: ("Close the gap with a thin strip, or with a film of sealant.",),
    RailSeal.BEAD: (
        (
            "Lay one unbroken bead along each rail, round every hole; round ports no thicker than "
            f"{both(PORT_BEAD_MM)}, or it is squeezed into them."
        ),
    ),
    RailSeal.STRIP_OR_MACHINE: (
        "The gap may be wider than a bead closes: strip seals made for it, or machine.",
    ),
}
_COMMON = (
    "Degrease both faces; no oil may run back onto them.",
    (
        f"Run the bead, or a dab beside the strip, {both(10.0)} over each corner of the intake "
        "gaskets: the four corners are where it leaks (common practice)."
    ),
    f"Set the manifold down within {SKIN_MINUTES[0]:.0f} minutes, straight, and do not slide it.",
    (
        "Bolts finger-tight until sealant squeezes out along the whole of both rails, inside and "
        "outside. Where it does not: lift off, clean, lay it anew."
    ),
    f"Wait {HOURS_BEFORE_TORQUE:.0f} h before the first torque pass.",
    f"{HOURS_BEFORE_FLUIDS:.0f} h before oil and coolant go in, unless the label says less.",
    "Trim what stands out only after it has cured; never pull at it wet.",
)
