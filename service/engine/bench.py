"""What a flow bench reads, and what it means as an area.

A bench pulls room air through a part at a fixed pressure drop and names the volume it
draws, at the density of the room. Air is compressible: at 28 inches of water the flow is
4 % below what Bernoulli's equation says, so areas are taken from the compressible law.
The shop figure of 146 ft³/min through a square inch at 28 inches of water is the
incompressible one, and is used nowhere here.
"""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.flow import AIR_GAMMA, gas_density, restriction_mass_flow
from service.engine.inputs import FloatArray, NonPhysicalInput, positive

BENCH_PRESSURE = 101_325.0
"""Room of the reference bench: standard atmosphere. [Pa]"""
BENCH_TEMPERATURE = 293.15
"""Room of the reference bench: 20 degrees Celsius. [K]"""


def flow_at_depression(
    volume_flow: ArrayLike, measured_depression: ArrayLike, wanted_depression: ArrayLike
) -> FloatArray:
    """Bench flow of a part carried to another pressure drop by the square-root rule.

    Parameters
    ----------
    volume_flow : array_like
        Flow as read. [m³ s⁻¹]
    measured_depression : array_like
        Pressure drop at which it was read. [Pa]
    wanted_depression : array_like
        Pressure drop at which it is wanted. [Pa]

    Returns
    -------
    ndarray
        Flow at the wanted pressure drop, in the unit in which it came. [m³ s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Notes
    -----
    Common practice, exact for a fluid of constant density; at 28 inches of water it is
    one or two per cent off. To get an area use `bench_effective_area`, which is not.

    Examples
    --------
    >>> f"{flow_at_depression(100.0, 10.0, 28.0):.2f}"
    '167.33'
    """
    measured = positive("measured_depression", measured_depression)
    wanted = positive("wanted_depression", wanted_depression)
    return positive("volume_flow", volume_flow) * np.sqrt(wanted / measured)


def bench_volume_flow(
    effective_area: ArrayLike,
    depression: ArrayLike,
    *,
    room_pressure: ArrayLike = BENCH_PRESSURE,
    room_temperature: ArrayLike = BENCH_TEMPERATURE,
) -> FloatArray:
    """Volume of room air that a bench draws through an effective area.

    Parameters
    ----------
    effective_area : array_like
        Discharge coefficient times area. [m²]
    depression : array_like
        Pressure drop across the part. [Pa]
    room_pressure : array_like
        Absolute pressure before the part. [Pa]
    room_temperature : array_like
        Temperature before the part. [K]

    Returns
    -------
    ndarray
        Volume flow at the density of the room. [m³ s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive, or the depression is not below the room's pressure.

    Examples
    --------
    One square inch at 28 inches of water, in cubic feet per minute:

    >>> f"{bench_volume_flow(645.16e-6, 6974.49) / 4.719474e-4:.2f}"
    '141.60'
    """
    pressure = positive("room_pressure", room_pressure)
    drop = positive("depression", depression)
    if np.any(drop >= pressure):
        raise NonPhysicalInput("depression", limit="must be below `room_pressure`")
    mass_flow = restriction_mass_flow(
        effective_area,
        pressure,
        pressure - drop,
        room_temperature,
        discharge_coefficient=1.0,
        gamma=AIR_GAMMA,
    )
    return mass_flow / gas_density(pressure, room_temperature)


def bench_effective_area(
    volume_flow: ArrayLike,
    depression: ArrayLike,
    *,
    room_pressure: ArrayLike = BENCH_PRESSURE,
    room_temperature: ArrayLike = BENCH_TEMPERATURE,
) -> FloatArray:
    """Effective area of a part from its bench flow, by the compressible law.

    Parameters
    ----------
    volume_flow : array_like
        Volume flow at the density of the room. [m³ s⁻¹]
    depression : array_like
        Pressure drop across the part. [Pa]
    room_pressure : array_like
        Absolute pressure before the part. [Pa]
    room_temperature : array_like
        Temperature before the part. [K]

    Returns
    -------
    ndarray
        Discharge coefficient times area. [m²]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive, or the depression is not below the room's pressure.

    Examples
    --------
    300 ft³/min at 28 inches of water, in square centimetres:

    >>> f"{1e4 * bench_effective_area(300.0 * 4.719474e-4, 6974.49):.3f}"
    '13.668'
    """
    per_area = bench_volume_flow(
        1.0, depression, room_pressure=room_pressure, room_temperature=room_temperature
    )
    return positive("volume_flow", volume_flow) / per_area


def curtain_discharge_coefficient(
    effective_area: ArrayLike, valve_diameter: ArrayLike, lift: ArrayLike
) -> FloatArray:
    r"""Effective area of a port over the cylinder of area between valve edge and seat.

    Parameters
    ----------
    effective_area : array_like
        From the bench, at this lift. [m²]
    valve_diameter : array_like
        Diameter of the valve head. [m]
    lift : array_like
        Valve lift. [m]

    Returns
    -------
    ndarray
        :math:`C_D A/(\pi D L)`. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       section 6.3 (from memory).

    Examples
    --------
    >>> f"{curtain_discharge_coefficient(13.668e-4, 55.626e-3, 12.7e-3):.4f}"
    '0.6158'
    """
    curtain = np.pi * positive("valve_diameter", valve_diameter) * positive("lift", lift)
    return positive("effective_area", effective_area) / curtain


def head_discharge_coefficient(effective_area: ArrayLike, valve_diameter: ArrayLike) -> FloatArray:
    r"""Effective area of a port over the area of the valve head.

    Parameters
    ----------
    effective_area : array_like
        From the bench, at some lift. [m²]
    valve_diameter : array_like
        Diameter of the valve head. [m]

    Returns
    -------
    ndarray
        :math:`C_D A/(\pi D^2/4)`. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{head_discharge_coefficient(13.668e-4, 55.626e-3):.4f}"
    '0.5624'
    """
    head = 0.25 * np.pi * positive("valve_diameter", valve_diameter) ** 2
    return positive("effective_area", effective_area) / head
