"""Friction in bolted joints: what it is, how far it scatters, and what preload is left."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, radians, sqrt

from service.fitup.spans import Span
from service.fitup.threads import Thread

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
RELAXATION = 0.05
"""Of the preload, lost after tightening (NASA-TM-106943, equations 15 and 16) [-]."""
_HALF_FLANK_DEG = 30.0
_HEAD_LEVER = 0.625
"""Mean radius under the head over the diameter [-]."""
_TOLERANCE_FACTOR_30 = 2.145
"""Of the standard deviation, for 90 % probability at 95 % confidence from 30 trials
(NASA-STD-5020B, A.2) [-]."""


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


def settled_preload_n(mean_n: float, scatter: float) -> Span:
    """Return what a preload may be: least once it has settled, most when just tightened.

    Parameters
    ----------
    mean_n : float
        T / (K d). [N]
    scatter : float
        To either side, of the mean. [-]

    Returns
    -------
    Span
        F (1 - u) / 1.05 to F (1 + u) (NASA-TM-106943, equations 15 and 16). [N]
    """
    return Span(mean_n * (1.0 - scatter) / (1.0 + RELAXATION), mean_n * (1.0 + scatter))


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
