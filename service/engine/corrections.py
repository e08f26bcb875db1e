r"""Weather corrections of measured power, standard by standard, and the vapour in the air.

None of the standards' texts was at hand. The formulas of J1349 and J607 were read in
secondary sources, the rest stands from memory; each docstring says which. Two errors
that circulate in print are avoided on purpose: J1349's reference is 537 degrees Rankine,
not 505, and 990 mbar is 29.23 inches of mercury, not 29.92.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from service.engine.inputs import FloatArray, NonPhysicalInput, not_negative, positive, within
from service.units import fahrenheit_to_kelvin, inhg_to_pa

_CRITICAL_TEMPERATURE = 647.096
_CRITICAL_PRESSURE = 22.064e6
_SATURATION_TERMS = (
    (-7.859_517_83, 1.0),
    (1.844_082_59, 1.5),
    (-11.786_649_7, 3.0),
    (22.680_741_1, 3.5),
    (-15.961_871_9, 4.0),
    (1.801_225_02, 7.5),
)
"""Coefficients and exponents of Wagner and Pruss, 1993."""
_COLDEST_WEATHER = 253.15
_HOTTEST_WEATHER = 373.15


def saturation_pressure(temperature: ArrayLike) -> FloatArray:
    r"""Pressure of water vapour over water.

    Parameters
    ----------
    temperature : array_like
        Temperature, 253.15 to 373.15. [K]

    Returns
    -------
    ndarray
        Saturation pressure. [Pa]

    Raises
    ------
    NonPhysicalInput
        If a temperature lies outside the range.

    Notes
    -----
    With :math:`\tau = 1 - T/T_c`, :math:`\ln(p/p_c) = (T_c/T)\sum a_i\tau^{n_i}`.
    Made for 273.16 K to the critical point. Below, it is carried on over supercooled
    water, where the whole pressure is too small to matter to a correction factor.

    References
    ----------
    .. [1] W. Wagner and A. Pruss, "International equations for the saturation properties
       of ordinary water substance", J. Phys. Chem. Ref. Data 22 (1993) 783, equation 1
       (coefficients from memory, checked against CoolProp's values in the tests).

    Examples
    --------
    >>> f"{saturation_pressure(298.15):.0f}"
    '3170'
    """
    t = within("temperature", temperature, _COLDEST_WEATHER, _HOTTEST_WEATHER)
    tau = 1.0 - t / _CRITICAL_TEMPERATURE
    series = np.zeros_like(tau)
    for coefficient, exponent in _SATURATION_TERMS:
        series = series + coefficient * tau**exponent
    return _CRITICAL_PRESSURE * np.exp(_CRITICAL_TEMPERATURE / t * series)


def vapour_pressure(temperature: ArrayLike, relative_humidity: ArrayLike) -> FloatArray:
    """Pressure of the water vapour in moist air.

    Parameters
    ----------
    temperature : array_like
        Of the air. [K]
    relative_humidity : array_like
        Vapour pressure over that at saturation, 0 to 1. [-]

    Returns
    -------
    ndarray
        Vapour pressure. [Pa]

    Raises
    ------
    NonPhysicalInput
        If an argument lies outside its range.

    Examples
    --------
    >>> f"{vapour_pressure(303.15, 0.5):.0f}"
    '2123'
    """
    humidity = within("relative_humidity", relative_humidity, 0.0, 1.0)
    return humidity * saturation_pressure(temperature)


def dry_air_pressure(pressure: ArrayLike, vapour_pressure: ArrayLike) -> FloatArray:
    """Pressure of the air without its water vapour: the part that burns fuel.

    Parameters
    ----------
    pressure : array_like
        Absolute pressure of the moist air. [Pa]
    vapour_pressure : array_like
        Pressure of the water vapour in it. [Pa]

    Returns
    -------
    ndarray
        Dry-air pressure. [Pa]

    Raises
    ------
    NonPhysicalInput
        If the vapour pressure is negative or not below the whole.

    Examples
    --------
    >>> f"{dry_air_pressure(100e3, 2123.5):.0f}"
    '97876'
    """
    total = positive("pressure", pressure)
    vapour = not_negative("vapour_pressure", vapour_pressure)
    if np.any(vapour >= total):
        raise NonPhysicalInput("vapour_pressure", limit="must be below `pressure`")
    return total - vapour


class CorrectionStandard(StrEnum):
    """Whose reference weather, and whose rule for getting there."""

    SAE_J1349 = "sae_j1349"
    SAE_J607 = "sae_j607"
    SAE_J607_WITH_FRICTION = "sae_j607_with_friction"
    ISO_1585 = "iso_1585"
    DIN_70020 = "din_70020"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rule:
    """One standard as numbers: factor = scale · (p_ref/p)^m · (T/T_ref)^n - offset."""

    pressure: float
    """Reference pressure. [Pa]"""
    temperature: float
    """Reference temperature. [K]"""
    dry: bool
    """Whether the vapour is taken off the measured pressure."""
    pressure_exponent: float = 1.0
    temperature_exponent: float = 0.5
    friction_share: float = 0.0
    """Share added to the factor's slope and taken off again: friction does not change
    with the weather."""
    valid: tuple[float, float] | None = None
    """Factors for which the standard holds; None where no limit is known."""


_INHG_29_92 = inhg_to_pa(29.92)
"""29.92 conventional inches of mercury, the J607 reference. [Pa]"""
_FAHRENHEIT_60 = fahrenheit_to_kelvin(60.0)
"""60 degrees Fahrenheit, the J607 reference. [K]"""
_FRICTION_SHARE = 0.18
"""J1349: a mechanical efficiency of 0.85 gives 0.15/0.85, which the standard rounds up."""
_VALID = (0.93, 1.07)
"""From memory, for J1349 and ISO 1585 alike."""
_RULES = {
    CorrectionStandard.SAE_J1349: _Rule(
        pressure=99_000.0,
        temperature=298.15,
        dry=True,
        friction_share=_FRICTION_SHARE,
        valid=_VALID,
    ),
    CorrectionStandard.SAE_J607: _Rule(pressure=_INHG_29_92, temperature=_FAHRENHEIT_60, dry=True),
    CorrectionStandard.SAE_J607_WITH_FRICTION: _Rule(
        pressure=_INHG_29_92,
        temperature=_FAHRENHEIT_60,
        dry=True,
        friction_share=_FRICTION_SHARE,
    ),
    CorrectionStandard.ISO_1585: _Rule(
        pressure=99_000.0,
        temperature=298.0,
        dry=True,
        pressure_exponent=1.2,
        temperature_exponent=0.6,
        valid=_VALID,
    ),
    CorrectionStandard.DIN_70020: _Rule(pressure=101_325.0, temperature=293.15, dry=False),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionFactor:
    """What measured power is multiplied by, and whether the standard stands behind it."""

    value: FloatArray
    """Corrected over measured power. [-]"""
    within_validity: NDArray[np.bool_] | None
    """Whether the factor lies where the standard holds; None where no limit is known."""


def correction_factor(
    standard: CorrectionStandard,
    *,
    pressure: ArrayLike,
    temperature: ArrayLike,
    vapour_pressure: ArrayLike,
) -> CorrectionFactor:
    r"""Return the weather correction of a full-load power by a standard.

    Parameters
    ----------
    standard : CorrectionStandard
        Whose rule.
    pressure : array_like
        Absolute pressure of the moist air in the cell. [Pa]
    temperature : array_like
        Of the air the engine draws. [K]
    vapour_pressure : array_like
        Pressure of the water vapour in that air. [Pa]

    Returns
    -------
    CorrectionFactor
        The factor, and whether it lies within the standard's limits.

    Raises
    ------
    NonPhysicalInput
        If a pressure or temperature is not positive, or the vapour fills the air.

    Notes
    -----
    With :math:`C = (p_{ref}/p)^m (T/T_{ref})^n` and p of the dry air except for DIN:

    * SAE J1349 (June 1990 and later): 99 kPa, 25 °C, m 1, n 0.5, factor 1.18 C - 0.18.
      Formula read in a secondary source; limits 0.93 to 1.07 from memory.
    * SAE J607: 29.92 inHg, 60 °F, m 1, n 0.5, factor C; read in two secondary sources.
      Some shops put it into the 1.18 C - 0.18 form: the variant with friction.
    * ISO 1585: 99 kPa, 298 K, m 1.2, n 0.6, factor C; naturally aspirated engines with
      positive ignition; from memory.
    * DIN 70020 (withdrawn): 1.01325 bar with its vapour, 20 °C, m 1, n 0.5; from memory.

    References
    ----------
    .. [1] SAE J1349, *Engine Power Test Code, Spark Ignition and Compression Ignition,
       Net Power Rating*.
    .. [2] ISO 1585, *Road vehicles, Engine test code, Net power*.

    Examples
    --------
    >>> factor = correction_factor(
    ...     CorrectionStandard.SAE_J1349,
    ...     pressure=100e3,
    ...     temperature=303.15,
    ...     vapour_pressure=2123.5,
    ... )
    >>> f"{factor.value:.4f}", bool(factor.within_validity)
    ('1.0235', True)
    """
    rule = _RULES[standard]
    dry = dry_air_pressure(pressure, vapour_pressure)
    measured = dry if rule.dry else positive("pressure", pressure)
    warmth = positive("temperature", temperature) / rule.temperature
    thinness = rule.pressure / measured
    uncorrected_friction = thinness**rule.pressure_exponent * warmth**rule.temperature_exponent
    value = (1.0 + rule.friction_share) * uncorrected_friction - rule.friction_share
    if rule.valid is None:
        return CorrectionFactor(value=value, within_validity=None)
    low, high = rule.valid
    return CorrectionFactor(value=value, within_validity=(value >= low) & (value <= high))


def iso_3046_power_adjustment(
    indicated_power_ratio: ArrayLike, mechanical_efficiency: ArrayLike
) -> FloatArray:
    r"""Brake power at site over that at the reference, from the indicated ratio.

    Parameters
    ----------
    indicated_power_ratio : array_like
        Indicated power at site over reference, the standard's k. [-]
    mechanical_efficiency : array_like
        At the reference. [-]

    Returns
    -------
    ndarray
        The standard's alpha. [-]

    Raises
    ------
    NonPhysicalInput
        If the ratio is not positive, or the efficiency not between 0 and 1.

    Notes
    -----
    .. math:: \alpha = k - 0.7(1-k)\left(\frac{1}{\eta_m} - 1\right)

    References
    ----------
    .. [1] ISO 3046-1, *Reciprocating internal combustion engines, Performance* (formula
       from memory).

    Examples
    --------
    >>> f"{iso_3046_power_adjustment(0.90, 0.80):.4f}"
    '0.8825'
    """
    k = positive("indicated_power_ratio", indicated_power_ratio)
    efficiency = within(
        "mechanical_efficiency", positive("mechanical_efficiency", mechanical_efficiency), 0.0, 1.0
    )
    friction_weight = 0.7
    return k - friction_weight * (1.0 - k) * (1.0 / efficiency - 1.0)
