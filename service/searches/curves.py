"""Full-load curves of thousands of kits at once: read as `kits.power` reads one.

A curve is joined by the same monotone cubic as in an assessment. At fixed speeds such a
joint is a weighted sum of the torques at the knots and of the slopes there, so that torque
at a speed or over a range is one product for all kits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator

from service.engine.inputs import FloatArray
from service.kits.power import CURVE_POINTS, FINE_STEP_RPM, SLOWEST_RPM, curve_speeds_rpm
from service.units import rpm_to_rad_per_s

CHUNK = 1024
"""Curves that are read at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curves:
    """Corrected torque of many curves, and what is read off them; arrays of shape (n,)."""

    limits_rpm: tuple[float, ...]
    """Rev limits that occur; a curve ends at one of them."""
    limit: NDArray[np.intp]
    """Which of them."""
    torque: NDArray[np.float32]
    """At the knots, shape (n, CURVE_POINTS). [N m]"""
    slope: NDArray[np.float32]
    """There, by speed. [N m min]"""
    peak_power: FloatArray
    """[W]"""
    peak_power_rpm: FloatArray
    peak_torque: FloatArray
    band_low_rpm: FloatArray
    band_high_rpm: FloatArray

    def torque_at(self, speed_rpm: float) -> FloatArray:
        """Return torque at a speed; 0 past a curve's rev limit."""
        return self._weighted(speed_rpm, speed_rpm, 1)

    def mean_torque(self, low_rpm: float, high_rpm: float) -> FloatArray:
        """Return the mean over a range of speeds, past the rev limit counted as 0."""
        count = round((high_rpm - low_rpm) / FINE_STEP_RPM) + 1
        return self._weighted(low_rpm, high_rpm, max(count, 2))

    def only(self, which: NDArray[np.integer[Any]]) -> "Curves":
        """Return some of them."""
        taken = {
            each.name: getattr(self, each.name)[which]
            for each in fields(self)
            if each.name != "limits_rpm"
        }
        return replace(self, **taken)

    def _weighted(self, low_rpm: float, high_rpm: float, count: int) -> FloatArray:
        found = np.empty(self.limit.size)
        for number, limit in enumerate(self.limits_rpm):
            heights, slopes = _mean_weights(limit, low_rpm, high_rpm, count)
            # All curves, though only some are wanted: picking those out takes longer.
            every = np.einsum("ij,j->i", self.torque, heights)
            every += np.einsum("ij,j->i", self.slope, slopes)
            np.copyto(found, every, where=self.limit == number)
        return found


@lru_cache(maxsize=64)
def _mean_weights(
    limit_rpm: float, low_rpm: float, high_rpm: float, count: int
) -> tuple[FloatArray, FloatArray]:
    """Return what heights and slopes count for in a mean over evenly spaced speeds.

    Each kit of an answer asks for the same few.
    """
    rpm = np.linspace(low_rpm, high_rpm, count)
    reached = rpm <= limit_rpm * (1.0 + 1e-9)
    heights, slopes = joint_weights(curve_speeds_rpm(limit_rpm), np.minimum(rpm, limit_rpm))
    share = reached[:, None] / count
    return (heights * share).sum(axis=0), (slopes * share).sum(axis=0)


def joint_weights(knots: FloatArray, at: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what heights and slopes at the knots count for at other places.

    >>> heights, slopes = joint_weights(np.array([0.0, 1.0]), np.array([0.5]))
    >>> heights.tolist(), slopes.tolist()
    ([[0.5, 0.5]], [[0.125, -0.125]])
    """
    one, none = np.eye(knots.size), np.zeros((knots.size, knots.size))
    return CubicHermiteSpline(knots, one, none)(at), CubicHermiteSpline(knots, none, one)(at)


def read_curves(
    torque: NDArray[np.floating[Any]],
    limit: NDArray[np.intp],
    limits_rpm: Sequence[float],
    band_share: float,
) -> Curves:
    """Read peaks and bands off corrected torques at the knots, shape (n, CURVE_POINTS)."""
    n = limit.size
    slope = np.empty((n, CURVE_POINTS), dtype=np.float32)
    read = np.empty((5, n))
    for number, limit_rpm in enumerate(limits_rpm):
        knots = curve_speeds_rpm(limit_rpm)
        own = np.flatnonzero(limit == number)
        for start in range(0, own.size, CHUNK):
            part = own[start : start + CHUNK]
            joint = PchipInterpolator(knots, torque[part].astype(np.float64), axis=1)
            slope[part] = joint.derivative()(knots)
            read[:, part] = _read(joint, limit_rpm, band_share)
    return Curves(
        limits_rpm=tuple(limits_rpm),
        limit=limit,
        torque=torque.astype(np.float32, copy=False),
        slope=slope,
        peak_power=read[0],
        peak_power_rpm=read[1],
        peak_torque=read[2],
        band_low_rpm=read[3],
        band_high_rpm=read[4],
    )


def _read(joint: PchipInterpolator, limit_rpm: float, band_share: float) -> FloatArray:
    """Return peak power, its speed, peak torque and the band's ends, a row each."""
    rpm = np.arange(SLOWEST_RPM, limit_rpm + FINE_STEP_RPM / 2.0, FINE_STEP_RPM)
    rpm = np.minimum(rpm, limit_rpm)
    torque = joint(rpm)
    power = torque * rpm_to_rad_per_s(rpm)
    rows = np.arange(len(torque))
    best, peak = power.argmax(axis=1), torque.argmax(axis=1)
    outside = torque < band_share * torque.max(axis=1, keepdims=True)
    column = np.arange(rpm.size)
    below = np.where(outside & (column < peak[:, None]), column, -1).max(axis=1)
    above = np.where(outside & (column >= peak[:, None]), column, rpm.size).min(axis=1)
    return np.stack(
        [power[rows, best], rpm[best], torque[rows, peak], rpm[below + 1], rpm[above - 1]]
    )
