"""Burning and heat loss: Wiebe's burn curve and Woschni's heat-transfer coefficient."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, NonPhysicalInput, finite, positive, within

WIEBE_EFFICIENCY = 5.0
"""Heywood 1988, section 9.2, from memory: 99.3 % burned at the end. [-]"""
WIEBE_FORM = 2.0
"""Heywood 1988, section 9.2, from memory. [-]"""


def burned_fraction(
    burn_progress: ArrayLike,
    *,
    wiebe_efficiency: ArrayLike = WIEBE_EFFICIENCY,
    wiebe_form: ArrayLike = WIEBE_FORM,
) -> FloatArray:
    r"""Mass fraction burned along a burn, by Wiebe's function.

    Parameters
    ----------
    burn_progress : array_like
        Crank angle since the start of burning over its whole length, 0 to 1. [-]
    wiebe_efficiency : array_like
        The a of the function. [-]
    wiebe_form : array_like
        The m of the function. [-]

    Returns
    -------
    ndarray
        Mass fraction burned, :math:`1 - \exp(-a y^{m+1})`. [-]

    Raises
    ------
    NonPhysicalInput
        If the progress lies outside 0 to 1, or a coefficient is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 9.27 (number from memory).

    Examples
    --------
    >>> burned_fraction([0.0, 0.5, 1.0]).round(4)
    array([0.    , 0.4647, 0.9933])
    """
    y = within("burn_progress", burn_progress, 0.0, 1.0)
    a, m = positive("wiebe_efficiency", wiebe_efficiency), positive("wiebe_form", wiebe_form)
    return -np.expm1(-a * y ** (m + 1.0))


def burn_progress_at(
    burned_fraction: ArrayLike,
    *,
    wiebe_efficiency: ArrayLike = WIEBE_EFFICIENCY,
    wiebe_form: ArrayLike = WIEBE_FORM,
) -> FloatArray:
    r"""Progress at which a fraction has burned: the inverse of `burned_fraction`.

    Parameters
    ----------
    burned_fraction : array_like
        Mass fraction burned, 0 up to but not 1. [-]
    wiebe_efficiency : array_like
        The a of the function. [-]
    wiebe_form : array_like
        The m of the function. [-]

    Returns
    -------
    ndarray
        Progress; above 1 for a fraction that the burn never reaches. [-]

    Raises
    ------
    NonPhysicalInput
        If a fraction lies outside its range, or a coefficient is not positive.

    Examples
    --------
    >>> burn_progress_at([0.1, 0.5, 0.9]).round(4)
    array([0.2762, 0.5175, 0.7722])
    """
    x = within("burned_fraction", burned_fraction, 0.0, 1.0)
    if np.any(x == 1.0):
        raise NonPhysicalInput("burned_fraction", limit="must be below 1, which takes forever")
    a, m = positive("wiebe_efficiency", wiebe_efficiency), positive("wiebe_form", wiebe_form)
    return (-np.log1p(-x) / a) ** (1.0 / (m + 1.0))


def burn_rate(
    burn_progress: ArrayLike,
    *,
    wiebe_efficiency: ArrayLike = WIEBE_EFFICIENCY,
    wiebe_form: ArrayLike = WIEBE_FORM,
) -> FloatArray:
    r"""Slope of `burned_fraction`; over the burn's length, the rate by crank angle.

    Parameters
    ----------
    burn_progress : array_like
        Crank angle since the start of burning over its whole length, 0 to 1. [-]
    wiebe_efficiency : array_like
        The a of the function. [-]
    wiebe_form : array_like
        The m of the function. [-]

    Returns
    -------
    ndarray
        :math:`a(m+1)y^m\exp(-ay^{m+1})`. [-]

    Raises
    ------
    NonPhysicalInput
        If the progress lies outside 0 to 1, or a coefficient is not positive.

    Examples
    --------
    >>> f"{burn_rate(0.5):.3f}"
    '2.007'
    """
    y = within("burn_progress", burn_progress, 0.0, 1.0)
    a, m = positive("wiebe_efficiency", wiebe_efficiency), positive("wiebe_form", wiebe_form)
    return a * (m + 1.0) * y**m * np.exp(-a * y ** (m + 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakBurnRate:
    """The fastest moment of a burn."""

    rate: FloatArray
    """Slope of the burned fraction. [-]"""
    burn_progress: FloatArray
    """Where it is reached. [-]"""


def peak_burn_rate(
    *, wiebe_efficiency: ArrayLike = WIEBE_EFFICIENCY, wiebe_form: ArrayLike = WIEBE_FORM
) -> PeakBurnRate:
    r"""Return the largest burn rate and where it falls.

    Parameters
    ----------
    wiebe_efficiency : array_like
        The a of the function. [-]
    wiebe_form : array_like
        The m of the function. [-]

    Returns
    -------
    PeakBurnRate
        Rate, and progress :math:`(m/(a(m+1)))^{1/(m+1)}`.

    Raises
    ------
    NonPhysicalInput
        If a coefficient is not positive, or so that the peak lies past the end.

    Examples
    --------
    >>> peak = peak_burn_rate()
    >>> f"{peak.rate:.4f} at {peak.burn_progress:.4f}"
    '2.0100 at 0.5109'
    """
    a, m = positive("wiebe_efficiency", wiebe_efficiency), positive("wiebe_form", wiebe_form)
    progress = (m / (a * (m + 1.0))) ** (1.0 / (m + 1.0))
    rate = burn_rate(progress, wiebe_efficiency=a, wiebe_form=m)
    return PeakBurnRate(rate=rate, burn_progress=progress)


def wiebe_efficiency_for(final_fraction: ArrayLike) -> FloatArray:
    """Wiebe's a that leaves a given fraction burned at the end.

    Parameters
    ----------
    final_fraction : array_like
        Mass fraction burned at progress 1. [-]

    Returns
    -------
    ndarray
        The a of the function. [-]

    Raises
    ------
    NonPhysicalInput
        If the fraction does not lie between 0 and 1, both excluded.

    Examples
    --------
    >>> f"{wiebe_efficiency_for(0.999):.3f}"
    '6.908'
    """
    x = positive("final_fraction", final_fraction)
    if np.any(x >= 1.0):
        raise NonPhysicalInput("final_fraction", limit="must be below 1")
    return -np.log1p(-x)


class ChargePeriod(Enum):
    """Part of the cycle, with Woschni's two velocity coefficients for it."""

    GAS_EXCHANGE = (6.18, 0.0)
    COMPRESSION = (2.28, 0.0)
    COMBUSTION_AND_EXPANSION = (2.28, 3.24e-3)

    @property
    def piston_share(self) -> float:
        """Share of the mean piston speed, dimensionless."""
        return self.value[0]

    @property
    def combustion_share(self) -> float:
        """Weight of the pressure rise of combustion, in m s⁻¹ K⁻¹."""
        return self.value[1]


def woschni_gas_velocity(
    period: ChargePeriod,
    mean_piston_speed: ArrayLike,
    displacement: ArrayLike,
    reference_temperature: ArrayLike,
    reference_pressure: ArrayLike,
    reference_volume: ArrayLike,
    pressure_rise: ArrayLike,
) -> FloatArray:
    r"""Mean gas velocity at the wall after Woschni.

    Parameters
    ----------
    period : ChargePeriod
        Part of the cycle.
    mean_piston_speed : array_like
        Two strokes each revolution. [m s⁻¹]
    displacement : array_like
        Swept volume of the cylinder. [m³]
    reference_temperature : array_like
        Of the charge at a moment after the intake valve closed. [K]
    reference_pressure : array_like
        At the same moment. [Pa]
    reference_volume : array_like
        At the same moment. [m³]
    pressure_rise : array_like
        Pressure over that of the motored cycle at the same crank angle. [Pa]

    Returns
    -------
    ndarray
        Gas velocity. [m s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument other than the pressure rise is not positive.

    Notes
    -----
    .. math:: w = C_1\bar s + C_2\frac{V_d T_r}{p_r V_r}(p - p_m)

    C1 was read in a course page that quotes the paper; C2 stands from memory.

    References
    ----------
    .. [1] G. Woschni, SAE paper 670931, 1967.

    Examples
    --------
    >>> velocity = woschni_gas_velocity(
    ...     ChargePeriod.COMBUSTION_AND_EXPANSION, 15.0, 9e-4, 350.0, 1e5, 1e-3, 3e6
    ... )
    >>> f"{velocity:.2f}"
    '64.82'
    """
    reference = positive("reference_temperature", reference_temperature) / (
        positive("reference_pressure", reference_pressure)
        * positive("reference_volume", reference_volume)
    )
    combustion = positive("displacement", displacement) * reference
    return period.piston_share * positive("mean_piston_speed", mean_piston_speed) + (
        period.combustion_share * combustion * finite("pressure_rise", pressure_rise)
    )


def woschni_coefficient(
    bore: ArrayLike, pressure: ArrayLike, temperature: ArrayLike, gas_velocity: ArrayLike
) -> FloatArray:
    r"""Heat-transfer coefficient from gas to wall after Woschni.

    Parameters
    ----------
    bore : array_like
        Cylinder bore. [m]
    pressure : array_like
        Gas pressure. [Pa]
    temperature : array_like
        Mean gas temperature. [K]
    gas_velocity : array_like
        From `woschni_gas_velocity`. [m s⁻¹]

    Returns
    -------
    ndarray
        Heat-transfer coefficient. [W m⁻² K⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Notes
    -----
    :math:`h = 3.26\,B^{-0.2}p^{0.8}T^{-0.55}w^{0.8}` with the pressure in kPa.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       equation 12.19 (from memory).

    Examples
    --------
    >>> f"{woschni_coefficient(0.1, 3e6, 2200.0, 27.36):.1f}"
    '640.1'
    """
    size = positive("bore", bore) ** -0.2
    pressure_kpa = 1e-3 * positive("pressure", pressure)
    warmth = positive("temperature", temperature) ** -0.55
    stirring = (pressure_kpa * positive("gas_velocity", gas_velocity)) ** 0.8
    return 3.26 * size * stirring * warmth
