"""Identities between torque, power, mean pressure, fuel and air of a four-stroke engine."""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, finite, positive, within

_RADIANS_PER_CYCLE = 4.0 * np.pi
"""A four-stroke cycle takes two turns of the crank. [rad]"""


def power_from_torque(torque: ArrayLike, angular_speed: ArrayLike) -> FloatArray:
    """Power of a turning shaft.

    Parameters
    ----------
    torque : array_like
        Torque. [N m]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Power. [W]

    Raises
    ------
    NonPhysicalInput
        If the speed is not positive.

    Examples
    --------
    >>> f"{power_from_torque(500.0, 100.0):.0f}"
    '50000'
    """
    return finite("torque", torque) * positive("angular_speed", angular_speed)


def torque_from_power(power: ArrayLike, angular_speed: ArrayLike) -> FloatArray:
    """Torque of a shaft that delivers a power.

    Parameters
    ----------
    power : array_like
        Power. [W]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Torque. [N m]

    Raises
    ------
    NonPhysicalInput
        If the speed is not positive.

    Examples
    --------
    >>> f"{torque_from_power(50_000.0, 100.0):.0f}"
    '500'
    """
    return finite("power", power) / positive("angular_speed", angular_speed)


def mean_effective_pressure(torque: ArrayLike, displacement: ArrayLike) -> FloatArray:
    """Work of a cycle over displacement; of brake, indicated or friction torque alike.

    Parameters
    ----------
    torque : array_like
        Torque. [N m]
    displacement : array_like
        Of the whole engine. [m³]

    Returns
    -------
    ndarray
        Mean effective pressure, 4πT/V. [Pa]

    Raises
    ------
    NonPhysicalInput
        If the displacement is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.20 (number from memory).

    Examples
    --------
    >>> f"{mean_effective_pressure(600.0, 7.54e-3):.3e}"
    '1.000e+06'
    """
    return _RADIANS_PER_CYCLE * finite("torque", torque) / positive("displacement", displacement)


def torque_from_mean_effective_pressure(pressure: ArrayLike, displacement: ArrayLike) -> FloatArray:
    """Torque that belongs to a mean effective pressure.

    Parameters
    ----------
    pressure : array_like
        Mean effective pressure. [Pa]
    displacement : array_like
        Of the whole engine. [m³]

    Returns
    -------
    ndarray
        Torque. [N m]

    Raises
    ------
    NonPhysicalInput
        If the displacement is not positive.

    Examples
    --------
    >>> f"{torque_from_mean_effective_pressure(1e6, 7.54e-3):.1f}"
    '600.0'
    """
    return (
        finite("pressure", pressure) * positive("displacement", displacement) / (_RADIANS_PER_CYCLE)
    )


def brake_efficiency(specific_fuel_consumption: ArrayLike, heating_value: ArrayLike) -> FloatArray:
    """Share of the fuel's heat that leaves as work.

    Parameters
    ----------
    specific_fuel_consumption : array_like
        Fuel over work. [kg J⁻¹]
    heating_value : array_like
        Lower heating value of the fuel. [J kg⁻¹]

    Returns
    -------
    ndarray
        Efficiency. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.24 (number from memory).

    Examples
    --------
    270 g/kWh with a fuel of 44 MJ/kg:

    >>> f"{brake_efficiency(0.270 / 3.6e6, 44e6):.3f}"
    '0.303'
    """
    consumption = positive("specific_fuel_consumption", specific_fuel_consumption)
    return 1.0 / (consumption * positive("heating_value", heating_value))


def induced_volume_flow(
    displacement: ArrayLike, angular_speed: ArrayLike, volumetric_efficiency: ArrayLike
) -> FloatArray:
    """Air that an engine draws, as volume at the state to which its filling refers.

    Parameters
    ----------
    displacement : array_like
        Of the whole engine. [m³]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]
    volumetric_efficiency : array_like
        Air drawn over air that fills the displacement. [-]

    Returns
    -------
    ndarray
        Volume flow; times the density of the same state, the mass flow. [m³ s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{induced_volume_flow(7.62e-3, 576.0, 0.85):.4f}"
    '0.2969'
    """
    swept = positive("displacement", displacement) * positive("angular_speed", angular_speed)
    filling = positive("volumetric_efficiency", volumetric_efficiency)
    return swept * filling / _RADIANS_PER_CYCLE


def volumetric_efficiency(
    volume_flow: ArrayLike, displacement: ArrayLike, angular_speed: ArrayLike
) -> FloatArray:
    """Air drawn over the air that would fill the displacement at the same state.

    Parameters
    ----------
    volume_flow : array_like
        Air drawn, at the state to which the filling refers. [m³ s⁻¹]
    displacement : array_like
        Of the whole engine. [m³]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Volumetric efficiency. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.27 (number from memory).

    Examples
    --------
    >>> f"{volumetric_efficiency(0.2969, 7.62e-3, 576.0):.3f}"
    '0.850'
    """
    filled = induced_volume_flow(displacement, angular_speed, 1.0)
    return positive("volume_flow", volume_flow) / filled


def power_per_air_flow(
    fuel_conversion_efficiency: ArrayLike, heating_value: ArrayLike, air_fuel_ratio: ArrayLike
) -> FloatArray:
    """Power that each kilogram of air a second carries.

    Parameters
    ----------
    fuel_conversion_efficiency : array_like
        Work over heat of the fuel, brake or indicated. [-]
    heating_value : array_like
        Lower heating value of the fuel. [J kg⁻¹]
    air_fuel_ratio : array_like
        By mass. [-]

    Returns
    -------
    ndarray
        Power over air mass flow. [J kg⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive, or the efficiency exceeds 1.

    Examples
    --------
    >>> f"{power_per_air_flow(0.27, 44e6, 12.8):.3e}"
    '9.281e+05'
    """
    efficiency = within(
        "fuel_conversion_efficiency",
        positive("fuel_conversion_efficiency", fuel_conversion_efficiency),
        0.0,
        1.0,
    )
    ratio = positive("air_fuel_ratio", air_fuel_ratio)
    return efficiency * positive("heating_value", heating_value) / ratio


def power_from_filling(
    displacement: ArrayLike,
    angular_speed: ArrayLike,
    volumetric_efficiency: ArrayLike,
    air_density: ArrayLike,
    *,
    fuel_conversion_efficiency: ArrayLike,
    heating_value: ArrayLike,
    air_fuel_ratio: ArrayLike,
) -> FloatArray:
    """Power from what the engine draws and how well it turns that into work.

    Parameters
    ----------
    displacement : array_like
        Of the whole engine. [m³]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]
    volumetric_efficiency : array_like
        Air drawn over air that fills the displacement. [-]
    air_density : array_like
        At the state to which the filling refers. [kg m⁻³]
    fuel_conversion_efficiency : array_like
        Work over heat of the fuel. [-]
    heating_value : array_like
        Lower heating value of the fuel. [J kg⁻¹]
    air_fuel_ratio : array_like
        By mass. [-]

    Returns
    -------
    ndarray
        Power, brake or indicated as the efficiency is. [W]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive, or the efficiency exceeds 1.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 2.38 (number from memory).

    Examples
    --------
    >>> power = power_from_filling(
    ...     7.44e-3,
    ...     523.6,
    ...     0.85,
    ...     1.184,
    ...     fuel_conversion_efficiency=0.30,
    ...     heating_value=44e6,
    ...     air_fuel_ratio=14.6,
    ... )
    >>> f"{power / 1e3:.1f}"
    '282.1'
    """
    mass_flow = positive("air_density", air_density) * induced_volume_flow(
        displacement, angular_speed, volumetric_efficiency
    )
    return mass_flow * power_per_air_flow(fuel_conversion_efficiency, heating_value, air_fuel_ratio)


def injector_flow_needed(
    power: ArrayLike,
    specific_fuel_consumption: ArrayLike,
    injector_count: int,
    duty: ArrayLike,
) -> FloatArray:
    """Flow that each injector, held open, needs for a power.

    Parameters
    ----------
    power : array_like
        Brake power. [W]
    specific_fuel_consumption : array_like
        Fuel over work. [kg J⁻¹]
    injector_count : int
        Injectors that share the fuel. [-]
    duty : array_like
        Largest share of the time that an injector may stay open. [-]

    Returns
    -------
    ndarray
        Flow of one injector held open. [kg s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive, or the duty exceeds 1.

    Notes
    -----
    Conservation of mass; the choice of the largest duty is common practice.

    Examples
    --------
    >>> f"{injector_flow_needed(300e3, 8.5e-8, 8, 0.8):.5f}"
    '0.00398'
    """
    open_share = within("duty", positive("duty", duty), 0.0, 1.0)
    fuel = positive("power", power) * positive(
        "specific_fuel_consumption", specific_fuel_consumption
    )
    return fuel / (positive("injector_count", injector_count) * open_share)


def injector_flow_at_pressure(
    rated_flow: ArrayLike, rated_pressure: ArrayLike, injector_pressure: ArrayLike
) -> FloatArray:
    """Flow of an injector, held open, at another pressure across it.

    Parameters
    ----------
    rated_flow : array_like
        Flow at the rated pressure. [kg s⁻¹]
    rated_pressure : array_like
        Pressure difference at which it was rated. [Pa]
    injector_pressure : array_like
        Pressure difference at which it works: rail less manifold. [Pa]

    Returns
    -------
    ndarray
        Flow, by Bernoulli's square root. [kg s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{injector_flow_at_pressure(30.0, 300.0, 400.0):.2f}"
    '34.64'
    """
    pressure = positive("injector_pressure", injector_pressure)
    root = np.sqrt(pressure / positive("rated_pressure", rated_pressure))
    return positive("rated_flow", rated_flow) * root
