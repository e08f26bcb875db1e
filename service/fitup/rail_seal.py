"""The seal at the end rails: a formed bead of silicone, or strips.

A round bead of diameter D squeezed to a gap g keeps its volume: it spreads to π D² / 4 g.
Sizes and times are common practice and labels' directions; no standard was found.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, pi, sqrt

from service.fitup.spans import Span

THIN_GAP_MM = 1.0
WIDE_GAP_MM = 6.0
"""Gaps below and above which a bead is not the seal (common practice, no source) [mm]."""
BEAD_PER_GAP = 2.0
"""Bead diameter over gap: squeezed to half (common practice: 1.5 to 2) [-]."""
WASTE = 0.2
"""Of the sealant, left in the nozzle and trimmed off (common practice, no source) [-]."""
HOURS_BEFORE_TORQUE = 1.0
HOURS_BEFORE_FLUIDS = 24.0
"""The longer of the labels' directions (4 to 24 h) [h]."""
HOURS_BEFORE_FLUIDS_AT_LEAST = 4.0
"""The shorter, for a fast product that says so itself [h]."""
SKIN_MINUTES = (5.0, 60.0)
TACK_FREE_MINUTES = (30.0, 120.0)
"""After which a bead no longer wets, and is dry to touch (how-to articles, weak) [min]."""
LABEL_BEAD_MM = (1.6, 6.35)
"""Beads that labels speak of, 1/16 to 1/4 in, unbroken and round every hole [mm]."""
PORT_BEAD_MM = 3.175
"""The most round a port, 1/8 in (labels): more is squeezed into it [mm]."""
ANAEROBIC_GAP_MM = 0.381
"""Below which, between rigid flanges, sealant that cures without air will do, .015 in (trade
article); end rails are wider and not rigid, so that it is never the seal here [mm]."""
CARTRIDGE_ML = 80.0
"""A hand tube, the smallest that is sold widely (common practice, no source) [mL]."""
_CURED_MM = 2.5
_CURED_HOURS = 24.0


class RailSeal(StrEnum):
    """What closes the gap."""

    THIN_FILM = "thin_film"
    BEAD = "bead"
    STRIP_OR_MACHINE = "strip_or_machine"
    RAILS_TOUCH = "rails_touch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bead:
    """A round bead on both end rails."""

    diameter_mm: float
    width_mm: Span
    """Squeezed, over the gaps that may be met [mm]."""
    squeeze: Span
    volume_ml: float
    """For both ends, waste added [mL]."""
    cartridges: int

    @property
    def label_allows(self) -> bool:
        """Whether labels speak of a bead as thick; a thicker one does not cure through in time."""
        return LABEL_BEAD_MM[0] <= self.diameter_mm <= LABEL_BEAD_MM[1]


def rail_seal(gap_mm: Span) -> RailSeal:
    """Return the seal that serves every gap of the span, the most work where they differ."""
    if gap_mm.low <= 0.0:
        return RailSeal.RAILS_TOUCH
    if gap_mm.high > WIDE_GAP_MM:
        return RailSeal.STRIP_OR_MACHINE
    return RailSeal.THIN_FILM if gap_mm.high <= THIN_GAP_MM else RailSeal.BEAD


def bead_volume_ml(diameter_mm: float, length_mm: float) -> float:
    """Return the volume of a round bead [mL]."""
    return pi / 4.0 * diameter_mm**2 * length_mm / 1000.0


def squeezed_width_mm(diameter_mm: float, gap_mm: float) -> float:
    """Return how wide a bead spreads in a gap [mm]."""
    return pi * diameter_mm**2 / (4.0 * gap_mm)


def bead_squeeze(diameter_mm: float, gap_mm: float) -> float:
    """Return the share of its height that a bead loses; none if the gap is higher [-]."""
    return 1.0 - gap_mm / diameter_mm


def bead_for_width_mm(width_mm: float, gap_mm: float) -> float:
    """Return the bead that spreads to a wanted width [mm]."""
    return sqrt(4.0 * gap_mm * width_mm / pi)


def cure_hours(depth_mm: float) -> float:
    """Return the time in which a skin grows this deep: with its square [h].

    2.5 mm in a day at 23 °C and 50 % humidity (common practice; diffusion).
    """
    return _CURED_HOURS * (depth_mm / _CURED_MM) ** 2


def bead_for(gap_mm: Span, rail_length_mm: float) -> Bead:
    """Return the bead for the widest gap that may be met, on rails of this length each."""
    diameter = BEAD_PER_GAP * gap_mm.high
    volume = 2.0 * bead_volume_ml(diameter, rail_length_mm) * (1.0 + WASTE)
    return Bead(
        diameter_mm=diameter,
        width_mm=Span(
            squeezed_width_mm(diameter, gap_mm.high), squeezed_width_mm(diameter, gap_mm.low)
        ),
        squeeze=Span(bead_squeeze(diameter, gap_mm.high), bead_squeeze(diameter, gap_mm.low)),
        volume_ml=volume,
        cartridges=ceil(volume / CARTRIDGE_ML),
    )
