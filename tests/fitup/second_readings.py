"""Second readings of threads, friction and tightening: they check what the service works out.

FED-STD-H28/2B's simple areas, Alexander's corrections, MIL-HDBK-60, NASA-TM-106943,
NASA-STD-5020B, VDI 2230.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sqrt

import numpy as np
from numpy.typing import NDArray

from service.fitup.spans import Span
from service.fitup.threads import BoltClass, Thread

STRENGTH_RATIO_SIMPLE = (5.0 / 8.0) / (3.0 / 4.0)
"""R1 of FED-STD-H28/2B with its simple areas: bolt's over hole's [-]."""
FRICTION_COEFFICIENTS = {
    "graphite in petrolatum or oil": 0.07,
    "molybdenum disulphide grease": 0.11,
    "cadmium plated, dry": 0.12,
    "machine oil": 0.15,
    "zinc plated, dry": 0.17,
}
"""Of steel on steel, ± 20 % (MIL-HDBK-60, table II) [-]."""
FRICTION_SPREAD = 0.20
"""Of each of them, to either side [-]."""
NUT_FACTOR_BANDS = {
    "dry": Span(0.18, 0.27),
    "machine oil": Span(0.10, 0.26),
    "zinc plated": Span(0.17, 0.35),
    "phosphated and oiled": Span(0.15, 0.22),
}
"""K in T = K F d by finish, as a supplier lists them [-]."""
LUBRICATED_BAND = Span(0.11, 0.15)
"""The narrower one of NASA-TM-106943, p. 4; dry about 0.20 [-]."""
_HALF_FLANK_DEG = 30.0
_HEAD_LEVER = 0.625
"""Mean radius under the head over the diameter [-]."""
_TOLERANCE_FACTOR_30 = 2.145
"""Of the standard deviation, for 90 % probability at 95 % confidence from 30 trials
(NASA-STD-5020B, A.2) [-]."""


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
    return -(ratio**2) + 3.8 * ratio - 2.61 if 1.4 <= ratio < 1.9 else 1.0


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


def nut_factor_apart(thread: Thread, in_thread: float, under_head: float) -> float:
    r"""Return the nut factor where thread and underside of the head rub unlike.

    Parameters
    ----------
    thread : Thread
        Its basic pitch diameter is used.
    in_thread, under_head : float
        Coefficients of friction. [-]

    Returns
    -------
    float
        K in T = K F d. [-]

    Notes
    -----
    Dp/2D (tan ψ + µ sec 30°)/(1 - µ tan ψ sec 30°) + 0.625 µc [1]_.

    References
    ----------
    .. [1] J. A. Chambers, *Preloaded Joint Analysis Methodology for Space Flight Systems*,
       NASA-TM-106943, 1995, equation 2.
    """
    middle = thread.pitch_diameter_mm
    lead = thread.pitch_mm / (pi * middle)
    rub = in_thread / cos(radians(_HALF_FLANK_DEG))
    in_flanks = middle / (2.0 * thread.diameter_mm) * (lead + rub) / (1.0 - lead * rub)
    return in_flanks + _HEAD_LEVER * under_head


@dataclass(frozen=True, slots=True, kw_only=True)
class PreloadTrials:
    """What a series of bolts, all tightened alike, says of torque and preload."""

    mean: float
    """Of the preload, in the unit of the trials."""
    deviation: float
    """Standard deviation of the sample, in the same unit."""
    nut_factor: float
    """Torque over mean preload and diameter [-]."""
    above: float
    """Of the mean, by which the highest stands above it [-]."""
    below: float
    """Of the mean, by which the lowest stands below it [-]."""
    scatter: float
    """Of the mean: 90 % of bolts lie above mean less this, at 95 % confidence [-]."""


def preload_trials(preloads: Sequence[float], torque: float, diameter: float) -> PreloadTrials:
    """Return the statistics of thirty trials at one torque (NASA-STD-5020B, A.2).

    Parameters
    ----------
    preloads : sequence of float
        One of each trial, in any unit of force; thirty, as the tolerance factor is theirs.
    torque, diameter : float
        In units that go with it: torque = force times length, diameter = length.

    Returns
    -------
    PreloadTrials
    """
    mean = sum(preloads) / len(preloads)
    deviation = sqrt(sum((each - mean) ** 2 for each in preloads) / (len(preloads) - 1))
    return PreloadTrials(
        mean=mean,
        deviation=deviation,
        nut_factor=torque / (mean * diameter),
        above=max(preloads) / mean - 1.0,
        below=1.0 - min(preloads) / mean,
        scatter=_TOLERANCE_FACTOR_30 * deviation / mean,
    )


def nut_factor(thread: Thread, friction: float) -> float:
    """Return K for equal friction in thread and under the head (MIL-HDBK-60, 100.5) [-]."""
    return 0.159 * thread.pitch_mm / thread.diameter_mm + 1.156 * friction


def assembly_preload_n(
    thread: Thread, bolt: BoltClass, friction: float, *, yield_share: float = 0.9
) -> float:
    """Return the preload at a share of yield under tension and twist (VDI 2230, from memory)."""
    neck = sqrt(4.0 * thread.stress_area_mm2 / pi)
    pitch, middle = thread.pitch_mm, thread.pitch_diameter_mm
    twist = 1.5 * middle / neck * (pitch / (pi * middle) + 1.155 * friction)
    stress = yield_share * bolt.yield_mpa / sqrt(1.0 + 3.0 * twist**2)
    return stress * thread.stress_area_mm2


def assembly_torque_nm(
    thread: Thread, preload_n: float, friction: float, *, head_mm: float, hole_mm: float
) -> float:
    """Return the torque for a preload, thread and underside apart (VDI 2230, from memory)."""
    lever = (
        0.16 * thread.pitch_mm
        + 0.58 * thread.pitch_diameter_mm * friction
        + (head_mm + hole_mm) / 4.0 * friction
    )
    return preload_n * lever / 1000.0


def in_a_row(count: int, *, next_share: float, second_share: float = 0.0) -> NDArray[np.float64]:
    """Return what tightening takes from neighbours in a row: of the next, of the second [-]."""
    shares: NDArray[np.float64] = np.zeros((count, count))
    for distance, share in ((1, next_share), (2, second_share)):
        shares += share * (np.eye(count, k=distance) + np.eye(count, k=-distance))
    return shares


def single_pass_targets(order: Sequence[int], shares: NDArray[np.float64]) -> tuple[float, ...]:
    """Return the preload to set on each bolt so that one pass leaves all alike at 1 [-].

    What is set on bolt i takes `shares[j, i]` of it from each bolt j tightened before.
    """
    set_to = np.ones(len(order))
    for rank in range(len(order) - 1, -1, -1):
        bolt = order[rank]
        set_to[bolt] = 1.0 + sum(shares[bolt, i] * set_to[i] for i in order[rank + 1 :])
    return tuple(float(each) for each in set_to)
