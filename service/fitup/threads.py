"""Screw threads: their limits, what a bolt carries, and when a thread strips.

Metric: geometry of ISO 68-1, limits 6g and 6H of ISO 965 (table values from memory, those of
pitch 1.25 and 1.5 confirmed in FED-STD-H28/21B). Unified coarse: limits 2A and 2B by the
formulas of ASME B1.1 (from memory). Shear areas: FED-STD-H28/2B, table II.B.1. These lengths
are guidance for design, to be tried where a joint matters (the same, 70.7.2).
"""

from dataclasses import dataclass
from math import pi, sqrt

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Casting:
    """What a hole is tapped into [MPa]."""

    name: str
    shear_mpa: float
    tensile_mpa: float


def internal_shear_area(pitch: float, major_min: float, hole_pitch_max: float) -> float:
    """Return the shear area of an internal thread for each unit of length (H28/2B, 2a)."""
    depth = 1.0 / 2.0 + _HALF_FLANK * (major_min - hole_pitch_max) / pitch
    return pi * major_min * depth


def external_shear_area(pitch: float, hole_minor_max: float, pitch_min: float) -> float:
    """Return the shear area of an external thread for each unit of length (H28/2B)."""
    depth = 1.0 / 2.0 + _HALF_FLANK * (pitch_min - hole_minor_max) / pitch
    return pi * hole_minor_max * depth


def _metric(size: int, pitch: float, limits: tuple[float, float, float, float]) -> Thread:
    return Thread(
        name=f"M{size} x {pitch:g}",
        diameter_mm=float(size),
        pitch_mm=pitch,
        stress_area_mm2=pi / 4.0 * (size - 0.938194 * pitch) ** 2,
        major_min_mm=limits[0],
        pitch_min_mm=limits[1],
        hole_pitch_max_mm=limits[2],
        hole_minor_max_mm=limits[3],
    )


def _unified(name: str, diameter_in: float, per_inch: int) -> Thread:
    pitch = 1.0 / per_inch
    basic = diameter_in - 0.649519 * pitch
    coarse = pitch ** (2.0 / 3.0)
    width = 0.0015 * diameter_in ** (1.0 / 3.0) + 0.0015 * sqrt(diameter_in) + 0.015 * coarse
    allowance = 0.3 * width
    minor_max = diameter_in - 1.082532 * pitch + 0.25 * pitch - 0.4 * pitch**2
    return Thread(
        name=name,
        diameter_mm=diameter_in * _INCH_MM,
        pitch_mm=pitch * _INCH_MM,
        stress_area_mm2=pi / 4.0 * ((diameter_in - 0.9743 * pitch) * _INCH_MM) ** 2,
        major_min_mm=(diameter_in - allowance - 0.060 * coarse) * _INCH_MM,
        pitch_min_mm=(basic - allowance - width) * _INCH_MM,
        hole_pitch_max_mm=(basic + 1.3 * width) * _INCH_MM,
        hole_minor_max_mm=minor_max * _INCH_MM,
    )


M6 = _metric(6, 1.0, (5.794, 5.212, 5.500, 5.153))
M8 = _metric(8, 1.25, (7.760, 7.042, 7.348, 6.912))
M10 = _metric(10, 1.5, (9.732, 8.862, 9.206, 8.676))
UNC_1_4 = _unified("1/4-20", 0.25, 20)
UNC_5_16 = _unified("5/16-18", 0.3125, 18)
UNC_3_8 = _unified("3/8-16", 0.375, 16)
THREADS = {thread.name: thread for thread in (M6, M8, M10, UNC_1_4, UNC_5_16, UNC_3_8)}

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

# Shear strengths as printed in data sheets of sand castings and in SAE J859.
ALUMINIUM_319 = Casting(name="319-F aluminium", shear_mpa=152.0, tensile_mpa=186.0)
ALUMINIUM_356 = Casting(name="356-T6 aluminium", shear_mpa=179.0, tensile_mpa=228.0)
IRON_G2500 = Casting(name="grey iron G2500", shear_mpa=31 * _KSI_MPA, tensile_mpa=25 * _KSI_MPA)
IRON_G3000 = Casting(name="grey iron G3000", shear_mpa=38 * _KSI_MPA, tensile_mpa=30 * _KSI_MPA)


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


def needed_engagement_mm(thread: Thread, bolt: BoltClass, casting: Casting) -> float:
    """Return the engagement that is asked for: the longer of the two readings [mm]."""
    return max(
        bolt_breaks_first_mm(thread, bolt, casting),
        tensile_ratio_engagement_mm(thread, bolt, casting),
        same_strength_engagement_mm(thread),
    )


def same_strength_engagement_mm(thread: Thread) -> float:
    """Return the engagement for bolt and hole of equal strength: 4 As / π d2 (formula 13)."""
    return 4.0 * thread.stress_area_mm2 / (pi * thread.pitch_diameter_mm)


def strip_load_n(thread: Thread, casting: Casting, engaged_mm: float) -> float:
    """Return the load at which the hole strips [N]."""
    return casting.shear_mpa * thread.hole_shear_mm2_per_mm * max(engaged_mm, 0.0)
