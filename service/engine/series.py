"""Restrictions in series: the pressure after each, and the one that would replace them.

The speed that the gas has in a narrow place is taken as lost behind it, so that the next
element starts from rest at the pressure that the last one left. That is right for a
filter box, a throttle over a plenum or a plate in a wide duct, and too strict for two
throats that follow each other closely. No heat crosses the walls; the stagnation
temperature is the same all along.
"""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.flow import (
    AIR_GAMMA,
    AIR_GAS_CONSTANT,
    flow_function,
    restriction_mass_flow,
)
from service.engine.inputs import (
    FloatArray,
    NonPhysicalInput,
    bisected_root,
    not_negative,
    positive,
)


def pressure_after_element(
    effective_area: ArrayLike,
    upstream_pressure: ArrayLike,
    upstream_temperature: ArrayLike,
    mass_flow: ArrayLike,
    *,
    gamma: ArrayLike = AIR_GAMMA,
    gas_constant: ArrayLike = AIR_GAS_CONSTANT,
) -> FloatArray:
    r"""Pressure behind a restriction that passes a given mass flow.

    Parameters
    ----------
    effective_area : array_like
        Discharge coefficient times area. [m²]
    upstream_pressure : array_like
        Stagnation pressure before the element. [Pa]
    upstream_temperature : array_like
        Stagnation temperature before it. [K]
    mass_flow : array_like
        Mass flow through it. [kg s⁻¹]
    gamma : array_like
        Ratio of heat capacities. [-]
    gas_constant : array_like
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    ndarray
        Pressure behind the element. [Pa]

    Raises
    ------
    NonPhysicalInput
        If the element chokes below this mass flow, or an argument is out of its limits.

    Notes
    -----
    Solves :math:`\Phi(r) = \dot m\sqrt{RT_0}/(A p_0)` on the branch that is not choked, in
    the temperature ratio :math:`y = r^{(\gamma-1)/\gamma}`, which turns it into
    :math:`y^{2/(\gamma-1)}(1-y) = \frac{\gamma-1}{2\gamma}\Phi^2`.

    Examples
    --------
    >>> f"{pressure_after_element(2e-3, 101_325.0, 293.15, 0.2):.0f}"
    '96972'
    """
    p_up = positive("upstream_pressure", upstream_pressure)
    t_up = positive("upstream_temperature", upstream_temperature)
    capacity = positive("effective_area", effective_area) * p_up
    root_rt = np.sqrt(positive("gas_constant", gas_constant) * t_up)
    wanted = not_negative("mass_flow", mass_flow) * root_rt / capacity
    if np.any(wanted > flow_function(0.0, gamma=gamma)):
        raise NonPhysicalInput("mass_flow", limit="must not exceed what the element passes choked")
    k = np.asarray(gamma, np.float64)
    power = 2.0 / (k - 1.0)
    target = wanted**2 * (k - 1.0) / (2.0 * k)
    cooled = bisected_root(
        lambda y: y**power * (1.0 - y) - target, 2.0 / (k + 1.0), np.ones_like(target)
    )
    ratio = cooled ** (k / (k - 1.0))
    return np.where(wanted == 0.0, p_up, ratio * p_up)[()]


def pressures_after_elements(
    effective_areas: ArrayLike,
    upstream_pressure: float,
    upstream_temperature: float,
    mass_flow: float,
    *,
    gamma: float = AIR_GAMMA,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> FloatArray:
    """Pressure behind each of several restrictions that one flow passes in turn.

    Parameters
    ----------
    effective_areas : array_like, shape (n,)
        Discharge coefficient times area, in the order the gas meets them. [m²]
    upstream_pressure : float
        Stagnation pressure before the first. [Pa]
    upstream_temperature : float
        Stagnation temperature, the same all along. [K]
    mass_flow : float
        Mass flow through all of them. [kg s⁻¹]
    gamma : float
        Ratio of heat capacities. [-]
    gas_constant : float
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    ndarray, shape (n,)
        Pressure behind each element. [Pa]

    Raises
    ------
    NonPhysicalInput
        If one of the elements chokes below this mass flow.

    Examples
    --------
    >>> pressures_after_elements([2e-3, 1.5e-3], 101_325.0, 293.15, 0.2).round(-1)
    array([96970., 88460.])
    """
    areas = np.atleast_1d(positive("effective_areas", effective_areas))
    pressures = np.empty(areas.shape)
    pressure: ArrayLike = upstream_pressure
    for place, area in enumerate(areas):
        pressure = pressure_after_element(
            area, pressure, upstream_temperature, mass_flow, gamma=gamma, gas_constant=gas_constant
        )
        pressures[place] = pressure
    return pressures


def combined_effective_area(
    effective_areas: ArrayLike,
    upstream_pressure: float,
    upstream_temperature: float,
    mass_flow: float,
    *,
    gamma: float = AIR_GAMMA,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> float:
    r"""Effective area of the one restriction that costs as much pressure as several in series.

    Parameters
    ----------
    effective_areas : array_like, shape (n,)
        Discharge coefficient times area, in the order the gas meets them. [m²]
    upstream_pressure : float
        Stagnation pressure before the first. [Pa]
    upstream_temperature : float
        Stagnation temperature, the same all along. [K]
    mass_flow : float
        Mass flow through all of them; 0 gives the limit of slow flow. [kg s⁻¹]
    gamma : float
        Ratio of heat capacities. [-]
    gas_constant : float
        Specific gas constant. [J kg⁻¹ K⁻¹]

    Returns
    -------
    float
        Effective area. [m²]

    Raises
    ------
    NonPhysicalInput
        If one of the elements chokes below this mass flow.

    Notes
    -----
    Slow flow: :math:`1/A^2 = \sum 1/A_i^2`. The area rises a little with the flow, because
    pressure lost in steps thins the gas less, in the throats, than the same loss at once.

    Examples
    --------
    >>> f"{1e6 * combined_effective_area([2e-3, 1.5e-3], 101_325.0, 293.15, 0.0):.1f}"
    '1200.0'
    >>> f"{1e6 * combined_effective_area([2e-3, 1.5e-3], 101_325.0, 293.15, 0.2):.1f}"
    '1222.3'
    """
    areas = np.atleast_1d(positive("effective_areas", effective_areas))
    flow = float(not_negative("mass_flow", mass_flow))
    if flow == 0.0:
        return float(np.sum(areas**-2.0) ** -0.5)
    last = pressures_after_elements(
        areas, upstream_pressure, upstream_temperature, flow, gamma=gamma, gas_constant=gas_constant
    )[-1]
    per_area = restriction_mass_flow(
        1.0,
        upstream_pressure,
        last,
        upstream_temperature,
        discharge_coefficient=1.0,
        gamma=gamma,
        gas_constant=gas_constant,
    )
    return float(flow / per_area)
