"""Limits of size of screw threads, by the formulas behind the tables.

Metric: deviations and tolerances of ISO 965-1 (from memory; those of pitch 1.25 and 1.5
confirmed in FED-STD-H28/21B, 5.1.3), rounded to the preferred numbers R40 of ISO 3. Unified:
classes 2A and 2B of ASME B1.1 (from memory).
"""

from dataclasses import dataclass
from math import floor, log, log10, sqrt

_BASIC_PITCH = 0.649519
"""Of the pitch: major diameter less basic pitch diameter, 3/8 √3 [-]."""
_BASIC_MINOR = 1.082532
"""Of the pitch: major diameter less basic minor diameter, 5/8 √3 [-]."""
_DIAMETER_STEPS_MM = (1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0)
_PITCH_GRADES = {3: 0.50, 4: 0.63, 5: 0.80, 6: 1.00, 7: 1.25, 8: 1.60, 9: 2.00}
_MAJOR_GRADES = {4: 0.63, 6: 1.00, 8: 1.60}
_HOLE_GRADE_6 = 1.32
"""Of the bolt's pitch tolerance of grade 6 [-]."""
_COARSE_FROM_MM = 1.0
_R40 = (
    "1 1.06 1.12 1.18 1.25 1.32 1.4 1.5 1.6 1.7 1.8 1.9 2 2.12 2.24 2.36 2.5 2.65 2.8 3 "
    "3.15 3.35 3.55 3.75 4 4.25 4.5 4.75 5 5.3 5.6 6 6.3 6.7 7.1 7.5 8 8.5 9 9.5 10"
)
"""For tolerances."""
_R40_ROUNDED = (
    "1 1.05 1.1 1.2 1.25 1.3 1.4 1.5 1.6 1.7 1.8 1.9 2 2.1 2.2 2.4 2.5 2.6 2.8 3 "
    "3.2 3.4 3.6 3.8 4 4.2 4.5 4.8 5 5.3 5.6 6 6.3 6.7 7.1 7.5 8 8.5 9 9.5 10"
)
"""For deviations."""
_SMOOTHED_UM = {(7.92, 1.5): 180.0}
"""The table departs from its formula (172) for an even series: hole, grade 6 [µm]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadLimits:
    """Largest and least sizes of a bolt and of its hole [mm]."""

    major_max_mm: float
    major_min_mm: float
    pitch_max_mm: float
    pitch_min_mm: float
    hole_pitch_min_mm: float
    hole_pitch_max_mm: float
    hole_minor_min_mm: float
    hole_minor_max_mm: float


def pitch_tolerance_um(diameter_mm: float, pitch_mm: float, *, grade: int = 6) -> float:
    """Return the tolerance of a bolt's pitch diameter before it is rounded.

    Parameters
    ----------
    diameter_mm : float
        Nominal, or the middle of its step for the value that is tabulated. [mm]
    pitch_mm : float
        [mm]
    grade : int
        Of ISO 965, 3 to 9. [-]

    Returns
    -------
    float
        90 P^0.4 d^0.1 times the grade's factor. [µm]
    """
    return float(_PITCH_GRADES[grade] * 90.0 * pitch_mm**0.4 * diameter_mm**0.1)


def metric_limits(
    diameter_mm: float,
    pitch_mm: float,
    *,
    pitch_grade: int = 6,
    major_grade: int = 6,
    position: str = "g",
) -> ThreadLimits:
    """Return the limits of a metric thread; a hole of 6H.

    Parameters
    ----------
    diameter_mm, pitch_mm : float
        Nominal. [mm]
    pitch_grade, major_grade : int
        Tolerance grades of the bolt's pitch and major diameter. [-]
    position : str
        Of the pitch diameter's tolerance, `e` or `g`; the major diameter stands at `g`.

    Returns
    -------
    ThreadLimits
        To the micrometre, as tables print them. [mm]
    """
    step = _step_mm(diameter_mm)
    major = diameter_mm - _allowance_um("g", pitch_mm) / 1e3
    basic = round(diameter_mm - _BASIC_PITCH * pitch_mm, 3)
    minor = round(diameter_mm - _BASIC_MINOR * pitch_mm, 3)
    pitch = basic - _allowance_um(position, pitch_mm) / 1e3
    slack = preferred_um(pitch_tolerance_um(step, pitch_mm, grade=pitch_grade))
    return ThreadLimits(
        major_max_mm=major,
        major_min_mm=major - preferred_um(_major_tolerance_um(pitch_mm, major_grade)) / 1e3,
        pitch_max_mm=pitch,
        pitch_min_mm=pitch - slack / 1e3,
        hole_pitch_min_mm=basic,
        hole_pitch_max_mm=basic + _hole_pitch_tolerance_um(step, pitch_mm) / 1e3,
        hole_minor_min_mm=minor,
        hole_minor_max_mm=minor + preferred_um(_hole_minor_tolerance_um(pitch_mm)) / 1e3,
    )


def unified_limits(diameter_in: float, per_inch: int) -> ThreadLimits:
    """Return the limits of a unified coarse thread, classes 2A and 2B.

    Parameters
    ----------
    diameter_in : float
        Nominal. [in]
    per_inch : int
        Threads to the inch.

    Returns
    -------
    ThreadLimits
        In millimetres. [mm]
    """
    pitch = 1.0 / per_inch
    basic = diameter_in - _BASIC_PITCH * pitch
    minor = diameter_in - _BASIC_MINOR * pitch
    coarse = pitch ** (2.0 / 3.0)
    width = 0.0015 * (diameter_in ** (1.0 / 3.0) + sqrt(diameter_in)) + 0.015 * coarse
    allowance = 0.3 * width
    inches = (
        diameter_in - allowance,
        diameter_in - allowance - 0.060 * coarse,
        basic - allowance,
        basic - allowance - width,
        basic,
        basic + 1.3 * width,
        minor,
        minor + 0.25 * pitch - 0.4 * pitch**2,
    )
    return ThreadLimits(
        **dict(zip(ThreadLimits.__slots__, (25.4 * i for i in inches), strict=True))
    )


def preferred_um(value_um: float, series: str = _R40) -> float:
    """Return the preferred number that is nearest by ratio (ISO 3, from memory) [µm].

    >>> preferred_um(1.107)
    1.12
    """
    decade = 10.0 ** floor(log10(value_um))
    near = (decade * float(number) for number in series.split())
    return min(near, key=lambda number: abs(log(number / value_um)))


def _step_mm(diameter_mm: float) -> float:
    """Return the geometric middle of the step of diameters that a size stands in [mm]."""
    above = next(step for step in _DIAMETER_STEPS_MM if diameter_mm <= step)
    below = _DIAMETER_STEPS_MM[_DIAMETER_STEPS_MM.index(above) - 1]
    return sqrt(below * above)


def _allowance_um(position: str, pitch_mm: float) -> float:
    return preferred_um({"e": 50.0, "g": 15.0}[position] + 11.0 * pitch_mm, _R40_ROUNDED)


def _hole_pitch_tolerance_um(step_mm: float, pitch_mm: float) -> float:
    by_formula = preferred_um(_HOLE_GRADE_6 * pitch_tolerance_um(step_mm, pitch_mm))
    return _SMOOTHED_UM.get((round(step_mm, 2), pitch_mm), by_formula)


def _major_tolerance_um(pitch_mm: float, grade: int) -> float:
    return float(_MAJOR_GRADES[grade] * (180.0 * pitch_mm ** (2.0 / 3.0) - 3.15 / sqrt(pitch_mm)))


def _hole_minor_tolerance_um(pitch_mm: float) -> float:
    if pitch_mm < _COARSE_FROM_MM:
        return float(433.0 * pitch_mm - 190.0 * pitch_mm**1.22)
    return float(230.0 * pitch_mm**0.7)
