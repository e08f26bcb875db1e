"""Screw threads: their limits, what a bolt carries, and when a thread strips.

Metric: geometry of ISO 68-1, limits 6g and 6H of ISO 965. Unified coarse: limits 2A and 2B of
ASME B1.1. Shear areas: FED-STD-H28/2B, table II.B.1. These lengths are guidance for design, to
be tried where a joint matters (the same, 70.7.2).
"""

from dataclasses import dataclass
from enum import StrEnum
from math import pi

from service.fitup.thread_limits import ThreadLimits, metric_limits, unified_limits

_INCH_MM = 25.4
_KSI_MPA = 6.894757293168361
_HALF_FLANK = 0.57735
"""tan 30°, as H28 prints it [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """One thread with the limits of its bolt and of its hole [mm]."""

    name: str
    diameter_mm: float
    pitch_mm: float
    stress_area_mm2: float
    major_min_mm: float
    """Of the bolt."""
    pitch_min_mm: float
    """Pitch diameter of the bolt."""
    hole_pitch_max_mm: float
    hole_minor_max_mm: float

    @property
    def pitch_diameter_mm(self) -> float:
        """Basic pitch diameter d2 [mm]."""
        return self.diameter_mm - 0.649519 * self.pitch_mm

    @property
    def minor_diameter_mm(self) -> float:
        """Basic minor diameter D1 of the hole [mm]."""
        return self.diameter_mm - 1.082532 * self.pitch_mm

    @property
    def root_diameter_mm(self) -> float:
        """Minor diameter d3 of the bolt, at the root of its thread [mm]."""
        return self.diameter_mm - 1.226869 * self.pitch_mm

    @property
    def hole_shear_mm2_per_mm(self) -> float:
        """Shear area of the hole's thread for each millimetre engaged [mm²/mm]."""
        return internal_shear_area(self.pitch_mm, self.major_min_mm, self.hole_pitch_max_mm)

    @property
    def bolt_shear_mm2_per_mm(self) -> float:
        """Shear area of the bolt's thread for each millimetre engaged [mm²/mm]."""
        return external_shear_area(self.pitch_mm, self.hole_minor_max_mm, self.pitch_min_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoltClass:
    """Strength of a bolt [MPa]."""

    name: str
    proof_mpa: float
    yield_mpa: float
    tensile_mpa: float


class Metal(StrEnum):
    """What a hole is tapped into."""

    ALUMINIUM = "aluminium"
    IRON = "iron"
    STEEL = "steel"


LEAST_DIAMETERS = {Metal.ALUMINIUM: 2.0, Metal.IRON: 1.5, Metal.STEEL: 1.25}
"""Engagement that rules of the trade ask for whatever is worked out: aluminium US Army manuals;
iron general practice; steel the manual of an engine generator set, general practice has 1.0.
Where they differ the longer one counts [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Casting:
    """What a hole is tapped into [MPa]."""

    name: str
    shear_mpa: float
    tensile_mpa: float
    metal: Metal


def internal_shear_area(pitch: float, major_min: float, hole_pitch_max: float) -> float:
    """Return the shear area of an internal thread for each unit of length (H28/2B, 2a)."""
    depth = 1.0 / 2.0 + _HALF_FLANK * (major_min - hole_pitch_max) / pitch
    return pi * major_min * depth


def external_shear_area(pitch: float, hole_minor_max: float, pitch_min: float) -> float:
    """Return the shear area of an external thread for each unit of length (H28/2B)."""
    depth = 1.0 / 2.0 + _HALF_FLANK * (pitch_min - hole_minor_max) / pitch
    return pi * hole_minor_max * depth


def _metric(size: int, pitch: float) -> Thread:
    limits = metric_limits(float(size), pitch)
    area = pi / 4.0 * (size - 0.938194 * pitch) ** 2
    return _thread(f"M{size} x {pitch:g}", float(size), pitch, area, limits)


def _unified(name: str, diameter_in: float, per_inch: int) -> Thread:
    pitch = _INCH_MM / per_inch
    area = pi / 4.0 * ((diameter_in - 0.9743 / per_inch) * _INCH_MM) ** 2
    limits = unified_limits(diameter_in, per_inch)
    return _thread(name, diameter_in * _INCH_MM, pitch, area, limits)


def _thread(
    name: str, diameter_mm: float, pitch_mm: float, area_mm2: float, limits: ThreadLimits
) -> Thread:
    return Thread(
        name=name,
        diameter_mm=diameter_mm,
        pitch_mm=pitch_mm,
        stress_area_mm2=area_mm2,
        major_min_mm=limits.major_min_mm,
        pitch_min_mm=limits.pitch_min_mm,
        hole_pitch_max_mm=limits.hole_pitch_max_mm,
        hole_minor_max_mm=limits.hole_minor_max_mm,
    )


M6 = _metric(6, 1.0)
M8 = _metric(8, 1.25)
M10 = _metric(10, 1.5)
M12 = _metric(12, 1.75)
UNC_1_4 = _unified("1/4-20", 0.25, 20)
UNC_5_16 = _unified("5/16-18", 0.3125, 18)
UNC_3_8 = _unified("3/8-16", 0.375, 16)
THREADS = {thread.name: thread for thread in (M6, M8, M10, M12, UNC_1_4, UNC_5_16, UNC_3_8)}

# Yields of the SAE grades are from memory; the rest as SAE J429 and ISO 898-1 are reproduced.
CLASS_8_8 = BoltClass(name="8.8", proof_mpa=580.0, yield_mpa=640.0, tensile_mpa=800.0)
CLASS_10_9 = BoltClass(name="10.9", proof_mpa=830.0, yield_mpa=940.0, tensile_mpa=1040.0)
GRADE_2 = BoltClass(
    name="grade 2", proof_mpa=55 * _KSI_MPA, yield_mpa=57 * _KSI_MPA, tensile_mpa=74 * _KSI_MPA
)
GRADE_5 = BoltClass(
    name="grade 5", proof_mpa=85 * _KSI_MPA, yield_mpa=92 * _KSI_MPA, tensile_mpa=120 * _KSI_MPA
)
GRADE_8 = BoltClass(
    name="grade 8", proof_mpa=120 * _KSI_MPA, yield_mpa=130 * _KSI_MPA, tensile_mpa=150 * _KSI_MPA
)

# Shear strengths as printed in data sheets of sand castings and in SAE J859. The tensile
# strengths of 319-F and G3000 are from memory.
ALUMINIUM_319 = Casting(
    name="319-F aluminium", shear_mpa=152.0, tensile_mpa=186.0, metal=Metal.ALUMINIUM
)
ALUMINIUM_356 = Casting(
    name="356-T6 aluminium", shear_mpa=179.0, tensile_mpa=228.0, metal=Metal.ALUMINIUM
)
IRON_G2500 = Casting(
    name="grey iron G2500",
    shear_mpa=31 * _KSI_MPA,
    tensile_mpa=25 * _KSI_MPA,
    metal=Metal.IRON,
)
IRON_G3000 = Casting(
    name="grey iron G3000",
    shear_mpa=38 * _KSI_MPA,
    tensile_mpa=30 * _KSI_MPA,
    metal=Metal.IRON,
)
WEAR_PITCHES = 1.0
"""More of engagement where a joint is opened often: FED-STD-H28/2B, 70.7.6 asks for more and
prints no number; one pitch is common practice without a source [-]."""


def proof_load_n(thread: Thread, bolt: BoltClass) -> float:
    """Return the load that a bolt bears without a lasting stretch [N]."""
    return thread.stress_area_mm2 * bolt.proof_mpa


def tensile_load_n(thread: Thread, bolt: BoltClass) -> float:
    """Return the load at which a bolt breaks [N]."""
    return thread.stress_area_mm2 * bolt.tensile_mpa


def bolt_breaks_first_mm(thread: Thread, bolt: BoltClass, casting: Casting) -> float:
    """Return the engagement past which the bolt breaks before the hole strips [mm]."""
    return tensile_load_n(thread, bolt) / (casting.shear_mpa * thread.hole_shear_mm2_per_mm)


def tensile_ratio_engagement_mm(thread: Thread, bolt: BoltClass, casting: Casting) -> float:
    """Return the engagement of H28/2B, formula 16: half the tensile strength as shear [mm]."""
    carried = casting.tensile_mpa / 2.0 * thread.hole_shear_mm2_per_mm
    return tensile_load_n(thread, bolt) / carried


def needed_engagement_mm(
    thread: Thread, bolt: BoltClass, casting: Casting, *, opened_often: bool = False
) -> float:
    """Return the engagement that is asked for: the longest of the readings [mm]."""
    longest = max(
        bolt_breaks_first_mm(thread, bolt, casting),
        tensile_ratio_engagement_mm(thread, bolt, casting),
        same_strength_engagement_mm(thread),
        LEAST_DIAMETERS[casting.metal] * thread.diameter_mm,
    )
    return longest + (WEAR_PITCHES * thread.pitch_mm if opened_often else 0.0)


def same_strength_engagement_mm(thread: Thread) -> float:
    """Return the engagement for bolt and hole of equal strength: 4 As / π d2 (formula 13)."""
    return 4.0 * thread.stress_area_mm2 / (pi * thread.pitch_diameter_mm)


def strip_load_n(thread: Thread, casting: Casting, engaged_mm: float) -> float:
    """Return the load at which the hole strips [N]."""
    return casting.shear_mpa * thread.hole_shear_mm2_per_mm * max(engaged_mm, 0.0)
