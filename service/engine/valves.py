"""How hard the intake valve has to breathe: the inlet Mach index and what follows from it."""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.flow import AIR_GAMMA, choked_flow_per_sound_speed
from service.engine.inputs import FloatArray, NonPhysicalInput, finite, not_negative, positive

_HALF_TURN = 180.0
_LEAST_POINTS = 2


def inlet_mach_index(
    piston_area: ArrayLike,
    valve_area: ArrayLike,
    mean_piston_speed: ArrayLike,
    mean_flow_coefficient: ArrayLike,
    sound_speed: ArrayLike,
) -> FloatArray:
    r"""Taylor's Z: mean gas speed in the intake valve over the speed of sound.

    Parameters
    ----------
    piston_area : array_like
        Area of the bore. [m²]
    valve_area : array_like
        Area of the intake valve heads of that cylinder. [m²]
    mean_piston_speed : array_like
        Two strokes each revolution. [m s⁻¹]
    mean_flow_coefficient : array_like
        Mean effective area over the lift event, over `valve_area`. [-]
    sound_speed : array_like
        In the gas before the valve. [m s⁻¹]

    Returns
    -------
    ndarray
        :math:`Z = A_p\bar s/(\bar C_i A_v a)`. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Notes
    -----
    Filling falls away above a knee that is put at 0.5 (JSME dictionary of mechanical
    engineering, entry on the inlet Mach index) or 0.6 (Taylor, from memory).

    References
    ----------
    .. [1] J. C. Livengood and J. D. Stanitz, *The Effect of Inlet-Valve Design, Size, and
       Lift on the Air Capacity and Output of a Four-Stroke Engine*, NACA TN 915, 1943.
    .. [2] C. F. Taylor, *The Internal-Combustion Engine in Theory and Practice*, vol. 1,
       MIT Press, chapter 6 (both from memory).

    Examples
    --------
    >>> f"{inlet_mach_index(4.25**2, 2.19**2, 18.627, 0.35, 343.23):.4f}"
    '0.5840'
    """
    demand = positive("piston_area", piston_area) * positive("mean_piston_speed", mean_piston_speed)
    effective = positive("valve_area", valve_area) * positive(
        "mean_flow_coefficient", mean_flow_coefficient
    )
    return demand / (effective * positive("sound_speed", sound_speed))


def mean_inlet_flow_coefficient(
    crank_angle: ArrayLike, effective_area: ArrayLike, valve_area: float
) -> float:
    """Mean effective area of the intake valve over its lift event, over the valve's area.

    Parameters
    ----------
    crank_angle : array_like, shape (n,)
        Rising crank angles from opening to closing. [deg]
    effective_area : array_like, shape (n,)
        Effective area at each angle. [m²]
    valve_area : float
        Area of the intake valve heads of that cylinder. [m²]

    Returns
    -------
    float
        Mean flow coefficient, by the trapezium rule. [-]

    Raises
    ------
    NonPhysicalInput
        If the angles do not rise, or an area is negative.

    Examples
    --------
    >>> f"{mean_inlet_flow_coefficient([0.0, 120.0, 240.0], [0.0, 1.4e-3, 0.0], 2e-3):.2f}"
    '0.35'
    """
    angles = finite("crank_angle", crank_angle)
    if angles.size < _LEAST_POINTS or np.any(np.diff(angles) <= 0.0):
        raise NonPhysicalInput("crank_angle", limit="must rise from point to point")
    areas = not_negative("effective_area", effective_area)
    mean = np.trapezoid(areas, angles) / (angles[-1] - angles[0])
    return float(mean / positive("valve_area", valve_area))


def choked_filling_bound(
    mach_index: ArrayLike, open_duration: ArrayLike, *, gamma: ArrayLike = AIR_GAMMA
) -> FloatArray:
    r"""Volumetric efficiency that no intake stroke can exceed, were the valve choked throughout.

    Parameters
    ----------
    mach_index : array_like
        Taylor's Z. [-]
    open_duration : array_like
        Crank angle over which the valve is open, the same over which Z was averaged. [deg]
    gamma : array_like
        Ratio of heat capacities. [-]

    Returns
    -------
    ndarray
        Bound on the volumetric efficiency at the state before the valve. [-]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive or gamma is not above 1.

    Notes
    -----
    Mass through a valve of mean area :math:`A_p\bar s/(Z a_0)`, choked for the time of
    :math:`\Delta\theta`, over the mass that fills the swept volume. A resting supply is
    assumed: a column that rams the charge in starts from a higher stagnation pressure.

    Examples
    --------
    >>> choked_filling_bound([0.8, 1.0], 180.0).round(4)
    array([0.7234, 0.5787])
    """
    strokes = positive("open_duration", open_duration) / _HALF_TURN
    return choked_flow_per_sound_speed(gamma) * strokes / positive("mach_index", mach_index)
