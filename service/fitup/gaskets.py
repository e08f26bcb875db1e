"""Which intake gasket a joint can use, and how flat its faces have to be."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from math import acos, pi, sqrt

from service.catalog.supplies import GasketStyle
from service.fitup.spans import Span

FACE_GOOD_MM = 0.10
FACE_REJECT_MM = 0.20
"""Out of flat: good, and to be machined, for an aluminium intake face (from printed service
limits of 0.10 to 0.30 mm; common practice) [mm]."""
HEAD_DECK_PER_152_MM = 0.05
HEAD_DECK_OVERALL_MM = 0.10
"""Out of flat of a head's lower face, within 152 mm (6 in) and overall: the lower of two service
limits; the other is .003 and .006 in [mm]."""
PORT_MATCH_MM = 0.381
"""Mismatch of matched ports that is called an ideal tolerance, .015 in (trade magazine) [mm]."""
TRAVEL_SHARE = 0.5
"""Of a gasket's travel that faces out of flat may use up (common practice, no source) [-]."""
SAME_THICKNESS_MM = 0.05
"""Within which two head gaskets count as one thickness: .002 in (common practice, no source);
a tenth more than it is a tenth of a ratio on a small chamber [mm]."""
STATIC_SQUEEZE = (0.10, 0.30)
"""Of an O-ring or bead at rest: least of a seal maker's guide, most of a mechanical engineers'
handbook, the lower of the two that were read [-]."""


class GasketRefusal(StrEnum):
    """Why a gasket will not do."""

    LUGS_WITHOUT_RECESS = "lugs_without_recess"
    LUGS_ON_MACHINED_FACE = "lugs_on_machined_face"
    RECESS_NOT_KNOWN = "recess_not_known"
    FACES_NOT_FLAT = "faces_not_flat"
    PORTS_OFF = "ports_off"
    FUEL = "fuel"
    TEMPERATURE = "temperature"
    SQUEEZE = "squeeze"
    OTHER_THICKNESS = "other_thickness"
    BORE_TOO_SMALL = "bore_too_small"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gasket:
    """An intake gasket, or the pair of a set."""

    name: str
    style: GasketStyle
    free_mm: float
    compressed_mm: float
    slot_mm: float
    """Offset along the face that its holes and beads take up, to either side [mm]."""
    hottest_c: float
    fuels: frozenset[str]
    bore_mm: float | None = None
    """Of the openings for cylinders, where it has some and they are recorded [mm]."""
    lugs_may_go: bool = False
    """Whether its maker allows the locating lugs to be cut off."""

    @property
    def travel_mm(self) -> float:
        """Free less compressed thickness [mm]."""
        return self.free_mm - self.compressed_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeJoint:
    """What a gasket meets."""

    recessed: bool | None
    """Whether the heads have recesses for locating lugs; None: not known."""
    face_machined: bool
    out_of_flat_mm: Span
    """Of both faces together."""
    offset_mm: Span
    temperature_c: float
    fuel: str
    compressed_mm: tuple[Span, ...] = ()
    """What its compressed thickness was reckoned with, on each bank; empty: with none [mm]."""
    bore_mm: float = 0.0
    """Of the widest cylinder that it may seal [mm]."""


def refusals(gasket: Gasket, joint: IntakeJoint) -> tuple[GasketRefusal, ...]:
    """Return why a gasket will not do; nothing when it will."""
    lugs = gasket.style is GasketStyle.CARRIER_WITH_LUGS
    reasons = (
        (GasketRefusal.LUGS_WITHOUT_RECESS, lugs and joint.recessed is False),
        (GasketRefusal.RECESS_NOT_KNOWN, lugs and joint.recessed is None),
        (GasketRefusal.LUGS_ON_MACHINED_FACE, lugs and joint.face_machined),
        (GasketRefusal.FACES_NOT_FLAT, joint.out_of_flat_mm.high > flatness_limit_mm(gasket)),
        (GasketRefusal.PORTS_OFF, joint.offset_mm.greatest_size > gasket.slot_mm),
        (GasketRefusal.FUEL, joint.fuel not in gasket.fuels),
        (GasketRefusal.TEMPERATURE, joint.temperature_c > gasket.hottest_c),
        (GasketRefusal.SQUEEZE, not _squeezed_enough(gasket, joint)),
        (GasketRefusal.OTHER_THICKNESS, not _as_reckoned(gasket, joint)),
        (GasketRefusal.BORE_TOO_SMALL, joint.bore_mm > (gasket.bore_mm or joint.bore_mm)),
    )
    return tuple(reason for reason, applies in reasons if applies)


def _squeezed_enough(gasket: Gasket, joint: IntakeJoint) -> bool:
    """Whether a bead keeps its squeeze where the faces stand furthest apart, and nearest."""
    if gasket.style is not GasketStyle.BEAD:
        return True
    least, most = STATIC_SQUEEZE
    apart = gasket.compressed_mm + joint.out_of_flat_mm.high
    return (
        ring_squeeze(gasket.free_mm, apart) >= least
        and ring_squeeze(gasket.free_mm, gasket.compressed_mm) <= most
    )


def _as_reckoned(gasket: Gasket, joint: IntakeJoint) -> bool:
    return all(
        span.low - SAME_THICKNESS_MM <= gasket.compressed_mm <= span.high + SAME_THICKNESS_MM
        for span in joint.compressed_mm
    )


_LUG_REFUSALS = frozenset(
    {
        GasketRefusal.LUGS_WITHOUT_RECESS,
        GasketRefusal.LUGS_ON_MACHINED_FACE,
        GasketRefusal.RECESS_NOT_KNOWN,
    }
)


def lugs_would_go(gasket: Gasket, joint: IntakeJoint) -> bool:
    """Whether cutting off its lugs, where its maker allows that, is all that it takes."""
    why = refusals(gasket, joint)
    return bool(why) and gasket.lugs_may_go and set(why) <= _LUG_REFUSALS


def gaskets_that_fit(gaskets: Iterable[Gasket], joint: IntakeJoint) -> tuple[Gasket, ...]:
    """Return the gaskets that are not refused, the one with most travel first."""
    fitting = (gasket for gasket in gaskets if not refusals(gasket, joint))
    return tuple(sorted(fitting, key=lambda gasket: (-gasket.travel_mm, gasket.name)))


def flatness_limit_mm(gasket: Gasket) -> float:
    """Return how far both faces together may be out of flat under this gasket [mm]."""
    return TRAVEL_SHARE * gasket.travel_mm


def ring_squeeze(section_mm: float, gland_mm: float) -> float:
    """Return the share of its section that an O-ring loses in its gland [-]."""
    return (section_mm - gland_mm) / section_mm


def offset_bores_open(bore_mm: float, offset_mm: float) -> float:
    """Return the share of two equal round bores that stays open when one is off centre [-]."""
    half = min(offset_mm / bore_mm, 1.0)
    return 2.0 / pi * (acos(half) - half * sqrt(1.0 - half**2))


def offset_ports_open(height_mm: float, offset_mm: float) -> float:
    """Return the share of two equal rectangular ports that stays open when one is off [-]."""
    return max(1.0 - abs(offset_mm) / height_mm, 0.0)
