"""The air-standard Otto cycle: the yardstick that no engine of its ratio reaches."""

from dataclasses import dataclass

from numpy.typing import ArrayLike

from service.engine.flow import AIR_GAMMA, AIR_GAS_CONSTANT
from service.engine.inputs import FloatArray, above, not_negative, positive


def otto_efficiency(compression_ratio: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA) -> FloatArray:
    r"""Efficiency of the air-standard Otto cycle.

    Parameters
    ----------
    compression_ratio : array_like
        Largest over smallest volume. [-]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Efficiency, :math:`1 - r^{1-\gamma}`. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not above 1.

    Examples
    --------
    >>> f"{otto_efficiency(10.0):.4f}"
    '0.6019'
    """
    k = above("gamma", gamma, 1.0)
    return 1.0 - above("compression_ratio", compression_ratio, 1.0) ** (1.0 - k)


@dataclass(frozen=True, slots=True, kw_only=True)
class OttoCycle:
    """Corner states and work: 2 after compression, 3 after heating, 4 after expansion."""

    compressed_temperature: FloatArray
    """T2. [K]"""
    peak_temperature: FloatArray
    """T3. [K]"""
    expanded_temperature: FloatArray
    """T4. [K]"""
    compressed_pressure: FloatArray
    """p2. [Pa]"""
    peak_pressure: FloatArray
    """p3. [Pa]"""
    net_work: FloatArray
    """Of each kilogram of air. [J kg⁻¹]"""
    mean_effective_pressure: FloatArray
    """Net work over swept volume. [Pa]"""


def otto_cycle(
    compression_ratio: ArrayLike,
    initial_pressure: ArrayLike,
    initial_temperature: ArrayLike,
    heat_added: ArrayLike,
    *,
    isochoric_heat_capacity: ArrayLike,
    gamma: ArrayLike = AIR_GAMMA,
    gas_constant: ArrayLike = AIR_GAS_CONSTANT,
) -> OttoCycle:
    """Return the air-standard Otto cycle with constant heat capacities.

    Parameters
    ----------
    compression_ratio : array_like
        Largest over smallest volume. [-]
    initial_pressure : array_like
        At the start of compression. [Pa]
    initial_temperature : array_like
        At the start of compression. [K]
    heat_added : array_like
        At constant volume, for each kilogram of air. [J kg⁻¹]
    isochoric_heat_capacity : array_like
        At constant volume. [J kg⁻¹ K⁻¹]
    gamma : array_like
        Ratio of heat capacities. [-]
    gas_constant : array_like
        Specific gas constant; apart from the heat capacity because textbooks round the
        two apart from each other. [J kg⁻¹ K⁻¹]

    Returns
    -------
    OttoCycle
        Corner states, net work and mean effective pressure.

    Raises
    ------
    NonPhysicalInput
        If the heat is negative, another argument not positive, or a ratio not above 1.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       section 5.4 (from memory).

    Examples
    --------
    >>> cycle = otto_cycle(8.0, 100e3, 290.0, 800e3, isochoric_heat_capacity=718.0)
    >>> f"{cycle.peak_temperature:.1f} {cycle.net_work / 1e3:.1f}"
    '1780.5 451.8'
    """
    ratio = above("compression_ratio", compression_ratio, 1.0)
    p_1 = positive("initial_pressure", initial_pressure)
    t_1 = positive("initial_temperature", initial_temperature)
    heat = not_negative("heat_added", heat_added)
    warming = ratio ** (above("gamma", gamma, 1.0) - 1.0)
    t_2 = t_1 * warming
    t_3 = t_2 + heat / positive("isochoric_heat_capacity", isochoric_heat_capacity)
    work = otto_efficiency(ratio, gamma=gamma) * heat
    volume = positive("gas_constant", gas_constant) * t_1 / p_1
    return OttoCycle(
        compressed_temperature=t_2,
        peak_temperature=t_3,
        expanded_temperature=t_3 / warming,
        compressed_pressure=p_1 * ratio * warming,
        peak_pressure=p_1 * ratio * t_3 / t_1,
        net_work=work,
        mean_effective_pressure=work / (volume * (1.0 - 1.0 / ratio)),
    )
