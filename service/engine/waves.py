r"""Simple pressure waves of finite height in a pipe, for checking the gas-dynamic solver.

A wave in gas at rest is told by :math:`X = (p/p_0)^{(\gamma-1)/(2\gamma)}`, which for
gamma 1.4 is the seventh root. Behind it the speed of sound is :math:`a_0 X`.
"""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.flow import AIR_GAMMA
from service.engine.inputs import FloatArray, above, not_negative, positive


def wave_amplitude(pressure_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Amplitude X of a wave: speed of sound in it over that of the gas at rest.

    Parameters
    ----------
    pressure_ratio : array_like
        Pressure in the wave over that of the gas at rest. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`X = (p/p_0)^{(\gamma-1)/(2\gamma)}`. [-]

    Raises
    ------
    NonPhysicalInput
        If the ratio is not positive or gamma not above 1.

    Examples
    --------
    >>> f"{wave_amplitude(1.2):.5f}"
    '1.02639'
    """
    k = above("gamma", gamma, 1.0)
    return positive("pressure_ratio", pressure_ratio) ** ((k - 1.0) / (2.0 * k))


def wave_pressure_ratio(amplitude: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Pressure in a wave over that of the gas at rest: the inverse of `wave_amplitude`.

    Parameters
    ----------
    amplitude : array_like
        X of the wave, or of two that lie on each other: :math:`X_1 + X_2 - 1`. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Pressure ratio. [-]

    Raises
    ------
    NonPhysicalInput
        If the amplitude is not positive or gamma not above 1.

    Examples
    --------
    A wave of 1.2 meets a wall, which sends it back on itself:

    >>> f"{wave_pressure_ratio(2.0 * wave_amplitude(1.2) - 1.0):.5f}"
    '1.43335'
    """
    k = above("gamma", gamma, 1.0)
    return positive("amplitude", amplitude) ** (2.0 * k / (k - 1.0))


def wave_particle_speed(
    amplitude: ArrayLike, sound_speed: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA
) -> FloatArray:
    r"""Gas speed in a wave, positive the way the wave runs.

    Parameters
    ----------
    amplitude : array_like
        X of the wave. [-]
    sound_speed : array_like
        In the gas at rest. [m s⁻¹]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`\frac{2}{\gamma-1}a_0(X-1)`. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive or gamma not above 1.

    References
    ----------
    .. [1] G. P. Blair, *Design and Simulation of Four-Stroke Engines*, SAE R-186, 1999,
       section 2.1 (from memory).

    Examples
    --------
    >>> f"{wave_particle_speed(wave_amplitude(1.2), 343.114):.2f}"
    '45.27'
    """
    k = above("gamma", gamma, 1.0)
    rise = positive("amplitude", amplitude) - 1.0
    return 2.0 / (k - 1.0) * positive("sound_speed", sound_speed) * rise


def wave_propagation_speed(
    amplitude: ArrayLike, sound_speed: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA
) -> FloatArray:
    """Speed at which a point of a wave runs along the pipe: gas speed plus speed of sound.

    Parameters
    ----------
    amplitude : array_like
        X of the wave. [-]
    sound_speed : array_like
        In the gas at rest. [m s⁻¹]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Propagation speed. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive or gamma not above 1.

    Examples
    --------
    >>> f"{wave_propagation_speed(wave_amplitude(1.2), 343.114):.2f}"
    '397.44'
    """
    gas = wave_particle_speed(amplitude, sound_speed, gamma=gamma)
    return gas + np.multiply(amplitude, sound_speed)


def stopped_column_pressure_ratio(
    column_mach: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA
) -> FloatArray:
    r"""Pressure at a valve that shuts on a moving column, over that of the column: the ram.

    Parameters
    ----------
    column_mach : array_like
        Speed of the column over its speed of sound. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Pressure ratio across the shock that stops the column. [-]

    Raises
    ------
    NonPhysicalInput
        If the Mach number is negative or gamma not above 1.

    Notes
    -----
    A shock of Mach number :math:`M_s` that leaves the gas at rest runs into a column of
    Mach number :math:`M` when :math:`M = \frac{2}{\gamma+1}(M_s - 1/M_s)`; its pressure
    ratio is :math:`1 + \frac{2\gamma}{\gamma+1}(M_s^2-1)`. A valve that shuts slowly gives
    less.

    References
    ----------
    .. [1] A. H. Shapiro, *The Dynamics and Thermodynamics of Compressible Fluid Flow*,
       vol. 2, Ronald Press, 1954, moving shocks (from memory).

    Examples
    --------
    >>> f"{stopped_column_pressure_ratio(50.0 / 346.15):.4f}"
    '1.2205'
    """
    k = above("gamma", gamma, 1.0)
    half = 0.25 * (k + 1.0) * not_negative("column_mach", column_mach)
    shock_mach = half + np.sqrt(half**2 + 1.0)
    return 1.0 + 2.0 * k / (k + 1.0) * (shock_mach**2 - 1.0)
