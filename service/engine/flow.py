"""Steady flow of an ideal gas through one restriction, a nozzle, a pipe with friction.

The gas speeds up without loss to the narrowest place; no heat crosses the walls, so that
the stagnation temperature stays the same. Restrictions in a row are in `series`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.engine.inputs import (
    FloatArray,
    NonPhysicalInput,
    above,
    not_negative,
    positive,
    within,
)

AIR_GAS_CONSTANT = 287.05
"""Dry air: universal gas constant over a molar mass of 28.965 g/mol. [J kg⁻¹ K⁻¹]"""
AIR_GAMMA = 1.4
"""Ratio of heat capacities of a gas of two-atom molecules near room temperature. [-]"""


def gas_density(
    pressure: ArrayLike, temperature: ArrayLike, *, gas_constant: ArrayLike = AIR_GAS_CONSTANT
) -> FloatArray:
    """Density of an ideal gas.

    Parameters
    ----------
    pressure : array_like
        Absolute pressure. [Pa]
    temperature : array_like
        Temperature. [K]
    gas_constant : array_like
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    ndarray
        Density. [kg m⁻³]

    Raises
    ------
    NonPhysicalInput
        If any argument is not positive.

    Examples
    --------
    >>> f"{gas_density(101_325.0, 288.15):.4f}"
    '1.2250'
    """
    r_gas = positive("gas_constant", gas_constant)
    return positive("pressure", pressure) / (r_gas * positive("temperature", temperature))


def sound_speed(
    temperature: ArrayLike,
    *,
    gamma: ArrayLike = AIR_GAMMA,
    gas_constant: ArrayLike = AIR_GAS_CONSTANT,
) -> FloatArray:
    """Speed of sound in an ideal gas, the root of gamma R T.

    Parameters
    ----------
    temperature : array_like
        Static temperature. [K]
    gamma : array_like
        Ratio of heat capacities. [-]
    gas_constant : array_like
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    ndarray
        Speed of sound. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If the temperature or the gas constant is not positive, or gamma is not above 1.

    Examples
    --------
    >>> f"{sound_speed(293.15):.3f}"
    '343.232'
    """
    r_gas = positive("gas_constant", gas_constant)
    return np.sqrt(above("gamma", gamma, 1.0) * r_gas * positive("temperature", temperature))


def critical_pressure_ratio(gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Ratio of throat to stagnation pressure at which the throat runs at the speed of sound.

    Parameters
    ----------
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Critical pressure ratio. [-]

    Raises
    ------
    NonPhysicalInput
        If gamma is not above 1.

    Notes
    -----
    .. math:: r^* = \left(\frac{2}{\gamma+1}\right)^{\gamma/(\gamma-1)}

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       appendix C (equation numbers from memory: C.8 and C.9).

    Examples
    --------
    >>> f"{critical_pressure_ratio(1.4):.6f}"
    '0.528282'
    """
    k = above("gamma", gamma, 1.0)
    return (2.0 / (k + 1.0)) ** (k / (k - 1.0))


def is_choked(pressure_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> NDArray[np.bool_]:
    """Whether the pressure behind a restriction no longer changes its flow.

    Parameters
    ----------
    pressure_ratio : array_like
        Pressure behind over stagnation pressure before. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray of bool
        True at and below the critical ratio.

    Raises
    ------
    NonPhysicalInput
        If a ratio lies outside 0 to 1.

    Examples
    --------
    >>> bool(is_choked(53.0 / 101.325)), bool(is_choked(54.0 / 101.325))
    (True, False)
    """
    ratio = within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    return np.less_equal(ratio, critical_pressure_ratio(gamma))


def flow_function(pressure_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Mass flow through a restriction, made free of size, pressure and temperature.

    Parameters
    ----------
    pressure_ratio : array_like
        Pressure behind over stagnation pressure before. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`\Phi = \dot m\sqrt{R T_0}/(C_D A p_0)`; constant once choked. [-]

    Raises
    ------
    NonPhysicalInput
        If a ratio lies outside 0 to 1, or gamma is not above 1.

    Notes
    -----
    .. math:: \Phi = \sqrt{\frac{2\gamma}{\gamma-1}
              \left(r^{2/\gamma} - r^{(\gamma+1)/\gamma}\right)}

    The bracket is evaluated with ``expm1``, so that ratios close to 1 keep their digits.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       appendix C, equations C.8 and C.9 (numbers from memory).

    Examples
    --------
    >>> flow_function([0.9, 0.5, 0.1]).round(4)
    array([0.4226, 0.6847, 0.6847])
    """
    k = above("gamma", gamma, 1.0)
    ratio = within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    throat = np.maximum(ratio, critical_pressure_ratio(k))  # Choked flow ignores what is behind.
    lost_heat = -np.expm1((k - 1.0) / k * np.log(throat))
    return np.sqrt(2.0 * k / (k - 1.0) * throat ** (2.0 / k) * lost_heat)


def choked_flow_per_sound_speed(gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Choked mass flow over that of the gas at rest moving at its own speed of sound.

    Parameters
    ----------
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`\dot m^*/(\rho_0 a_0 A) = (2/(\gamma+1))^{(\gamma+1)/(2(\gamma-1))}`. [-]

    Raises
    ------
    NonPhysicalInput
        If gamma is not above 1.

    Examples
    --------
    >>> f"{choked_flow_per_sound_speed(1.4):.6f}"
    '0.578704'
    """
    k = above("gamma", gamma, 1.0)
    return flow_function(0.0, gamma=k) / np.sqrt(k)


def expansibility(pressure_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Mass flow of a gas over what Bernoulli's equation gives at the upstream density.

    Parameters
    ----------
    pressure_ratio : array_like
        Pressure behind over stagnation pressure before. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`Y = \Phi/\sqrt{2(1-r)}`; 1 where there is no pressure drop. [-]

    Raises
    ------
    NonPhysicalInput
        If a ratio lies outside 0 to 1, or gamma is not above 1.

    Notes
    -----
    For a nozzle that is small against the pipe before it. A bench that is read with
    Bernoulli's equation at 28 inches of water is 4 % out; this is that 4 %.

    Examples
    --------
    >>> expansibility([1.0, 0.93, 0.8]).round(4)
    array([1.    , 0.9618, 0.8865])
    """
    ratio = within("pressure_ratio", pressure_ratio, 0.0, 1.0)
    drop = 1.0 - ratio
    at_rest = drop == 0.0
    bernoulli = np.sqrt(2.0 * np.where(at_rest, 1.0, drop))
    return np.where(at_rest, 1.0, flow_function(ratio, gamma=gamma) / bernoulli)[()]


def restriction_mass_flow(
    area: ArrayLike,
    upstream_pressure: ArrayLike,
    downstream_pressure: ArrayLike,
    upstream_temperature: ArrayLike,
    *,
    discharge_coefficient: ArrayLike,
    gamma: ArrayLike = AIR_GAMMA,
    gas_constant: ArrayLike = AIR_GAS_CONSTANT,
) -> FloatArray:
    r"""Mass flow of an ideal gas through a restriction, choked or not.

    Parameters
    ----------
    area : array_like
        Geometric flow area. [m²]
    upstream_pressure : array_like
        Stagnation pressure before the restriction. [Pa]
    downstream_pressure : array_like
        Static pressure behind it. [Pa]
    upstream_temperature : array_like
        Stagnation temperature before it. [K]
    discharge_coefficient : array_like
        Effective over geometric area. [-]
    gamma : array_like
        Ratio of heat capacities. [-]
    gas_constant : array_like
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    ndarray
        Mass flow, never negative. [kg s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an area, pressure or temperature is not positive, or the flow would reverse.

    Notes
    -----
    One-dimensional, without loss up to the throat:

    .. math:: \dot m = C_D A \frac{p_0}{\sqrt{R T_0}} \Phi(p/p_0)

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       appendix C, equations C.8 and C.9 (numbers from memory).

    Examples
    --------
    >>> flow = restriction_mass_flow(1e-3, 101_325.0, 50_000.0, 300.0, discharge_coefficient=1.0)
    >>> f"{flow:.4f}"
    '0.2364'
    """
    effective = positive("area", area) * positive("discharge_coefficient", discharge_coefficient)
    p_up = positive("upstream_pressure", upstream_pressure)
    p_down = not_negative("downstream_pressure", downstream_pressure)
    t_up = positive("upstream_temperature", upstream_temperature)
    if np.any(p_down > p_up):
        raise NonPhysicalInput("downstream_pressure", limit="must not exceed `upstream_pressure`")
    per_area = p_up / np.sqrt(positive("gas_constant", gas_constant) * t_up)
    return effective * per_area * flow_function(p_down / p_up, gamma=gamma)


def isentropic_temperature_ratio(mach: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Ratio of static to stagnation temperature at a Mach number.

    Parameters
    ----------
    mach : array_like
        Mach number. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`T/T_0 = (1 + \frac{\gamma-1}{2}M^2)^{-1}`. [-]

    Raises
    ------
    NonPhysicalInput
        If the Mach number is negative or gamma is not above 1.

    Examples
    --------
    >>> f"{isentropic_temperature_ratio(1.0):.5f}"
    '0.83333'
    """
    k = above("gamma", gamma, 1.0)
    return 1.0 / (1.0 + 0.5 * (k - 1.0) * not_negative("mach", mach) ** 2)


def isentropic_pressure_ratio(mach: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Ratio of static to stagnation pressure at a Mach number.

    Parameters
    ----------
    mach : array_like
        Mach number. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`p/p_0 = (T/T_0)^{\gamma/(\gamma-1)}`. [-]

    Raises
    ------
    NonPhysicalInput
        If the Mach number is negative or gamma is not above 1.

    Examples
    --------
    >>> isentropic_pressure_ratio([0.5, 1.0]).round(4)
    array([0.843 , 0.5283])
    """
    k = above("gamma", gamma, 1.0)
    return isentropic_temperature_ratio(mach, gamma=k) ** (k / (k - 1.0))


def isentropic_mach(pressure_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Mach number of a gas that expanded without loss to a share of its stagnation pressure.

    Parameters
    ----------
    pressure_ratio : array_like
        Static over stagnation pressure. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Mach number. [-]

    Raises
    ------
    NonPhysicalInput
        If a ratio is not above 0 or exceeds 1, or gamma is not above 1.

    Examples
    --------
    >>> f"{isentropic_mach(0.843019):.4f}"
    '0.5000'
    """
    k = above("gamma", gamma, 1.0)
    ratio = within("pressure_ratio", positive("pressure_ratio", pressure_ratio), 0.0, 1.0)
    return np.sqrt(2.0 / (k - 1.0) * np.expm1(-(k - 1.0) / k * np.log(ratio)))


def sonic_area_ratio(mach: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Flow area over the area at which the same flow would reach the speed of sound.

    Parameters
    ----------
    mach : array_like
        Mach number. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`A/A^*`, never below 1. [-]

    Raises
    ------
    NonPhysicalInput
        If the Mach number is not positive or gamma is not above 1.

    Examples
    --------
    >>> sonic_area_ratio([0.5, 1.0, 2.0]).round(4)
    array([1.3398, 1.    , 1.6875])
    """
    k = above("gamma", gamma, 1.0)
    m = positive("mach", mach)
    t_over_sonic = 2.0 / (k + 1.0) / isentropic_temperature_ratio(m, gamma=k)
    return t_over_sonic ** ((k + 1.0) / (2.0 * (k - 1.0))) / m


@dataclass(frozen=True, slots=True, kw_only=True)
class NozzleExit:
    """The gas in the throat of a converging nozzle."""

    mach: FloatArray
    """Mach number; 1 when choked. [-]"""
    temperature: FloatArray
    """Static temperature. [K]"""
    velocity: FloatArray
    """Mean velocity. [m s⁻¹]"""
    mass_flux: FloatArray
    """Mass flow over throat area. [kg s⁻¹ m⁻²]"""


def nozzle_exit(
    upstream_pressure: ArrayLike,
    downstream_pressure: ArrayLike,
    upstream_temperature: ArrayLike,
    *,
    gamma: ArrayLike = AIR_GAMMA,
    gas_constant: ArrayLike = AIR_GAS_CONSTANT,
) -> NozzleExit:
    """Return the state of the gas in the throat of a converging nozzle without loss.

    Parameters
    ----------
    upstream_pressure : array_like
        Stagnation pressure before the nozzle. [Pa]
    downstream_pressure : array_like
        Static pressure behind it. [Pa]
    upstream_temperature : array_like
        Stagnation temperature before it. [K]
    gamma : array_like
        Ratio of heat capacities. [-]
    gas_constant : array_like
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    NozzleExit
        Mach number, temperature, velocity and mass flux in the throat.

    Raises
    ------
    NonPhysicalInput
        If a pressure or temperature is not positive, or the flow would reverse.

    Examples
    --------
    >>> f"{nozzle_exit(101_325.0, 80_000.0, 300.0).velocity:.1f}"
    '198.4'
    """
    mass_flux = restriction_mass_flow(
        1.0,
        upstream_pressure,
        downstream_pressure,
        upstream_temperature,
        discharge_coefficient=1.0,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    ratio = np.divide(downstream_pressure, upstream_pressure)
    mach = isentropic_mach(np.maximum(ratio, critical_pressure_ratio(gamma)), gamma=gamma)
    t_up = positive("upstream_temperature", upstream_temperature)
    temperature = t_up * isentropic_temperature_ratio(mach, gamma=gamma)
    velocity = mach * sound_speed(temperature, gamma=gamma, gas_constant=gas_constant)
    return NozzleExit(mach=mach, temperature=temperature, velocity=velocity, mass_flux=mass_flux)


def fanno_length(mach: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Friction length of a pipe that takes a flow to the speed of sound at its end.

    Parameters
    ----------
    mach : array_like
        Mach number at the start of the pipe. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        :math:`4 f L^*/D`, with Fanning's friction factor f. [-]

    Raises
    ------
    NonPhysicalInput
        If the Mach number is not positive or gamma is not above 1.

    Notes
    -----
    Adiabatic flow with wall friction in a pipe of constant section:

    .. math:: \frac{4fL^*}{D} = \frac{1-M^2}{\gamma M^2}
              + \frac{\gamma+1}{2\gamma}\ln\frac{(\gamma+1)M^2}{2+(\gamma-1)M^2}

    References
    ----------
    .. [1] A. H. Shapiro, *The Dynamics and Thermodynamics of Compressible Fluid Flow*,
       vol. 1, Ronald Press, 1953, chapter 6 (from memory).

    Examples
    --------
    >>> fanno_length([0.5, 1.0]).round(4)
    array([1.0691, 0.    ])
    """
    k = above("gamma", gamma, 1.0)
    square = positive("mach", mach) ** 2
    friction = (1.0 - square) / (k * square)
    return friction + (k + 1.0) / (2.0 * k) * np.log(
        (k + 1.0) * square / (2.0 + (k - 1.0) * square)
    )
