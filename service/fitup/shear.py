"""Second readings of how threads shear: the simple form, and Alexander's corrections.

They check what `threads.py` works out with limits of size, and never replace it.
"""

from math import pi

from service.fitup.threads import Thread

STRENGTH_RATIO_SIMPLE = (5.0 / 8.0) / (3.0 / 4.0)
"""R1 of FED-STD-H28/2B with its simple areas: bolt's over hole's [-]."""


def simple_hole_shear_area(thread: Thread) -> float:
    """Return π d2 3/4, for each millimetre engaged (FED-STD-H28/2B, table II.B.1) [mm²/mm]."""
    return 0.75 * pi * thread.pitch_diameter_mm


def simple_bolt_shear_area(thread: Thread) -> float:
    """Return π d2 5/8, for each millimetre engaged (FED-STD-H28/2B, table II.B.1) [mm²/mm]."""
    return 0.625 * pi * thread.pitch_diameter_mm


def nut_dilation_factor(width_over_diameter: float) -> float:
    """Return Alexander's C1: what a nut loses by opening out; 1 in a boss [-].

    `width_over_diameter` is across flats over thread diameter, 1.4 to 1.9 for the formula
    (ISO/TR 16224 after E. M. Alexander, from memory).
    """
    ratio = width_over_diameter
    return -(ratio**2) + 3.8 * ratio - 2.61 if 1.4 <= ratio < 1.9 else 1.0  # noqa: PLR2004 - The formula's own range.


def bolt_bending_factor(strength_ratio: float) -> float:
    """Return Alexander's C2 for the bolt's thread, where the hole's is the stronger [-].

    `strength_ratio` is hole's over bolt's strength, 1 to 2.2; below it is 0.897 (the same).
    """
    r = strength_ratio
    bent = 5.594 - 13.682 * r + 14.107 * r**2 - 6.057 * r**3 + 0.9353 * r**4
    return bent if r > 1.0 else 0.897


def hole_bending_factor(strength_ratio: float) -> float:
    """Return Alexander's C3 for the hole's thread, where the bolt's is the stronger [-].

    `strength_ratio` is hole's over bolt's strength, 0.4 to 1; above it is 0.897 (the same).
    """
    r = strength_ratio
    bent = 0.728 + 1.769 * r - 2.896 * r**2 + 1.296 * r**3
    return bent if r < 1.0 else 0.897
