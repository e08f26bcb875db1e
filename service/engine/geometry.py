"""Slider-crank: volumes, piston travel and piston speed.

Crank angles count from top dead centre; the pin is not offset.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import (
    FloatArray,
    NonPhysicalInput,
    above,
    bisected_root,
    finite,
    positive,
)

_HALF_TURN = 180.0


def circle_area(diameter: ArrayLike) -> FloatArray:
    """Area of a circle: a piston, a valve head, a pipe.

    Parameters
    ----------
    diameter : array_like
        Diameter. [m]

    Returns
    -------
    ndarray
        Area. [m²]

    Raises
    ------
    NonPhysicalInput
        If the diameter is not positive.

    Examples
    --------
    >>> f"{circle_area(2.0):.4f}"
    '3.1416'
    """
    return 0.25 * np.pi * positive("diameter", diameter) ** 2


def swept_volume(bore: ArrayLike, stroke: ArrayLike) -> FloatArray:
    """Volume that one piston sweeps in a stroke; times the cylinders, the displacement.

    Parameters
    ----------
    bore : array_like
        Cylinder bore. [m]
    stroke : array_like
        Stroke. [m]

    Returns
    -------
    ndarray
        Swept volume of one cylinder. [m³]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{8e3 * swept_volume(0.108, 0.104):.3f}"
    '7.622'
    """
    return circle_area(bore) * positive("stroke", stroke)


def clearance_volume(displacement: ArrayLike, compression_ratio: ArrayLike) -> FloatArray:
    """Volume above the piston at top dead centre.

    Parameters
    ----------
    displacement : array_like
        Swept volume of the same cylinders. [m³]
    compression_ratio : array_like
        Largest over smallest volume. [-]

    Returns
    -------
    ndarray
        Clearance volume. [m³]

    Raises
    ------
    NonPhysicalInput
        If the displacement is not positive or the compression ratio is not above 1.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.1 (number from memory).

    Examples
    --------
    >>> f"{clearance_volume(900e-6, 10.0):.1e}"
    '1.0e-04'
    """
    ratio = above("compression_ratio", compression_ratio, 1.0)
    return positive("displacement", displacement) / (ratio - 1.0)


def _checked_rod_ratio(stroke: ArrayLike, rod_length: ArrayLike) -> FloatArray:
    rod_ratio = positive("rod_length", rod_length) / (0.5 * positive("stroke", stroke))
    if np.any(rod_ratio <= 1.0):
        raise NonPhysicalInput("rod_length", limit="must exceed half of `stroke`")
    return rod_ratio


def piston_travel(crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike) -> FloatArray:
    r"""Distance of the piston from top dead centre.

    Parameters
    ----------
    crank_angle : array_like
        After top dead centre. [deg]
    stroke : array_like
        Stroke. [m]
    rod_length : array_like
        Connecting rod between centres. [m]

    Returns
    -------
    ndarray
        Travel, 0 to the stroke. [m]

    Raises
    ------
    NonPhysicalInput
        If a length is not positive, or the rod is shorter than the crank throw.

    Notes
    -----
    .. math:: x = l + a - a\cos\theta - \sqrt{l^2 - a^2\sin^2\theta}

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.5 (number from memory).

    Examples
    --------
    The rod pulls the piston past half of its stroke by 90 degrees:

    >>> f"{piston_travel(90.0, 0.1, 0.16):.5f}"
    '0.05801'
    """
    rod_ratio = _checked_rod_ratio(stroke, rod_length)
    theta = np.deg2rad(finite("crank_angle", crank_angle))
    throw = 0.5 * np.asarray(stroke, np.float64)
    pin: FloatArray = np.cos(theta) + np.sqrt(rod_ratio**2 - np.sin(theta) ** 2)
    return throw * (1.0 + rod_ratio - pin)


def cylinder_volume(
    crank_angle: ArrayLike,
    bore: ArrayLike,
    stroke: ArrayLike,
    rod_length: ArrayLike,
    compression_ratio: ArrayLike,
) -> FloatArray:
    """Volume above the piston.

    Parameters
    ----------
    crank_angle : array_like
        After top dead centre. [deg]
    bore : array_like
        Cylinder bore. [m]
    stroke : array_like
        Stroke. [m]
    rod_length : array_like
        Connecting rod between centres. [m]
    compression_ratio : array_like
        Largest over smallest volume. [-]

    Returns
    -------
    ndarray
        Volume. [m³]

    Raises
    ------
    NonPhysicalInput
        If the geometry is impossible.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.4 (number from memory).

    Examples
    --------
    >>> (1e6 * cylinder_volume([0.0, 180.0], 0.1, 0.1, 0.16, 10.0)).round(2)
    array([ 87.27, 872.66])
    """
    clearance = clearance_volume(swept_volume(bore, stroke), compression_ratio)
    return clearance + circle_area(bore) * piston_travel(crank_angle, stroke, rod_length)


def trapped_compression_ratio(
    intake_closing: ArrayLike,
    stroke: ArrayLike,
    rod_length: ArrayLike,
    compression_ratio: ArrayLike,
) -> FloatArray:
    """Cylinder volume when the intake valve seals over the clearance volume.

    Parameters
    ----------
    intake_closing : array_like
        Sealing of the intake valve after bottom dead centre, from timing at the seat:
        see `cams.seat_timing`. [deg]
    stroke : array_like
        Stroke. [m]
    rod_length : array_like
        Connecting rod between centres. [m]
    compression_ratio : array_like
        Geometric compression ratio. [-]

    Returns
    -------
    ndarray
        Trapped compression ratio, never above the geometric one. [-]

    Raises
    ------
    NonPhysicalInput
        If the geometry is impossible.

    Examples
    --------
    >>> f"{trapped_compression_ratio(60.0, 0.1, 0.16, 10.0):.3f}"
    '8.287'
    """
    ratio = above("compression_ratio", compression_ratio, 1.0)
    angle = finite("intake_closing", intake_closing) + _HALF_TURN
    travel = piston_travel(angle, stroke, rod_length)
    return 1.0 + (ratio - 1.0) * travel / positive("stroke", stroke)


def mean_piston_speed(stroke: ArrayLike, angular_speed: ArrayLike) -> FloatArray:
    """Distance that a piston runs in a second: two strokes each revolution.

    Parameters
    ----------
    stroke : array_like
        Stroke. [m]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Mean piston speed. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.9 (number from memory).

    Examples
    --------
    >>> f"{mean_piston_speed(0.1, 100.0 * np.pi):.3f}"
    '10.000'
    """
    return positive("stroke", stroke) * positive("angular_speed", angular_speed) / np.pi


def piston_speed(
    crank_angle: ArrayLike, stroke: ArrayLike, rod_length: ArrayLike, angular_speed: ArrayLike
) -> FloatArray:
    r"""Speed of the piston, positive on its way down.

    Parameters
    ----------
    crank_angle : array_like
        After top dead centre. [deg]
    stroke : array_like
        Stroke. [m]
    rod_length : array_like
        Connecting rod between centres. [m]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Piston speed. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If the geometry is impossible or the crank stands still.

    Notes
    -----
    .. math:: \frac{u}{\bar s} = \frac{\pi}{2}\sin\theta
              \left(1 + \frac{\cos\theta}{\sqrt{(l/a)^2 - \sin^2\theta}}\right)

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.11 (number from memory).

    Examples
    --------
    >>> f"{piston_speed(90.0, 0.1, 0.16, 100.0):.3f}"
    '5.000'
    """
    rod_ratio = _checked_rod_ratio(stroke, rod_length)
    theta = np.deg2rad(finite("crank_angle", crank_angle))
    swing: FloatArray = np.cos(theta) / np.sqrt(rod_ratio**2 - np.sin(theta) ** 2)
    mean = mean_piston_speed(stroke, angular_speed)
    return mean * 0.5 * np.pi * np.sin(theta) * (1.0 + swing)


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakPistonSpeed:
    """The fastest moment of the piston."""

    ratio: FloatArray
    """Largest over mean piston speed. [-]"""
    crank_angle: FloatArray
    """Where it is reached, after top dead centre. [deg]"""


def peak_piston_speed(rod_ratio: ArrayLike) -> PeakPistonSpeed:
    r"""Return the largest piston speed of a turn and where it falls.

    Parameters
    ----------
    rod_ratio : array_like
        Connecting rod over crank throw (half of the stroke). [-]

    Returns
    -------
    PeakPistonSpeed
        Ratio to the mean speed, and crank angle.

    Raises
    ------
    NonPhysicalInput
        If the rod is not longer than the crank throw.

    Notes
    -----
    With :math:`s=\sin^2\theta` and :math:`\lambda=l/a`, the acceleration is zero where

    .. math:: s^3 - \lambda^2 s^2 - \lambda^4 s + \lambda^4 = 0,

    which has one root between 0 and 1.

    Examples
    --------
    >>> peak = peak_piston_speed(3.5)
    >>> f"{peak.ratio:.4f} at {peak.crank_angle:.2f}"
    '1.6340 at 75.14'
    """
    square = above("rod_ratio", rod_ratio, 1.0) ** 2
    sine_square = bisected_root(
        lambda s: s**3 - square * s**2 - square**2 * s + square**2,
        np.zeros(square.shape),
        np.ones(square.shape),
    )
    angle = np.rad2deg(np.arcsin(np.sqrt(sine_square)))
    # A crank throw of 1 and a mean piston speed of 1 leave the ratio itself.
    ratio = piston_speed(angle, 2.0, np.sqrt(square), 0.5 * np.pi)
    return PeakPistonSpeed(ratio=ratio, crank_angle=angle)
