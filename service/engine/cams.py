r"""Cam events and the lift curve of a lobe.

Angles are crank degrees, except the lobe separation, which the trade gives in cam
degrees. A duration means nothing without the tappet lift at which it was taken: grinders
take the long figure at different small lifts, and the short one at 1.27 mm (.050 in),
which is the common yardstick (trade practice). Events therefore carry their checking
height, and whatever needs the moment of sealing asks `seat_timing` first.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, NonPhysicalInput, finite, not_negative, positive

YARDSTICK_CHECKING_HEIGHT = 1.27e-3
"""Tappet lift of the trade's short duration, .050 in. [m]"""
SEAT_CHECKING_HEIGHT_LIMIT = 1.0e-3
"""Above this tappet lift a timing says nothing of the seat: our line between the heights
used for seat durations, which end near half a millimetre, and the yardstick. [m]"""
_HALF_TURN = 180.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CamEvents:
    """Where the valves open and close, at one checking height."""

    intake_opening: FloatArray
    """Before top dead centre; negative is after. [deg]"""
    intake_closing: FloatArray
    """After bottom dead centre. [deg]"""
    exhaust_opening: FloatArray
    """Before bottom dead centre. [deg]"""
    exhaust_closing: FloatArray
    """After top dead centre; negative is before. [deg]"""
    exhaust_centreline: FloatArray
    """Exhaust nose before top dead centre. [deg]"""
    overlap: FloatArray
    """Crank angle with both valves off their heights; negative is a gap. [deg]"""
    checking_height: float
    """Tappet lift at which the durations were taken. [m]"""


def cam_events(
    intake_duration: ArrayLike,
    exhaust_duration: ArrayLike,
    lobe_separation: ArrayLike,
    intake_centreline: ArrayLike,
    *,
    checking_height: float,
) -> CamEvents:
    """Return opening and closing angles of symmetric lobes from the figures of a cam card.

    Parameters
    ----------
    intake_duration : array_like
        Of the intake lobe at the checking height. [deg]
    exhaust_duration : array_like
        Of the exhaust lobe at the same height. [deg]
    lobe_separation : array_like
        Between the noses, in cam degrees. [deg]
    intake_centreline : array_like
        Intake nose after top dead centre. [deg]
    checking_height : float
        Tappet lift at which both durations were taken. [m]

    Returns
    -------
    CamEvents
        The events, with the checking height that they belong to.

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Notes
    -----
    Arithmetic of the cam card, common practice. The separation is the mean of the two
    centrelines, because the cam turns once in two turns of the crank.

    Examples
    --------
    >>> events = cam_events(270.0, 280.0, 112.0, 108.0, checking_height=0.15e-3)
    >>> float(events.intake_closing), float(events.overlap)
    (63.0, 51.0)
    """
    half_intake = 0.5 * positive("intake_duration", intake_duration)
    half_exhaust = 0.5 * positive("exhaust_duration", exhaust_duration)
    separation = positive("lobe_separation", lobe_separation)
    intake = positive("intake_centreline", intake_centreline)
    exhaust = 2.0 * separation - intake
    return CamEvents(
        intake_opening=half_intake - intake,
        intake_closing=half_intake + intake - _HALF_TURN,
        exhaust_opening=half_exhaust + exhaust - _HALF_TURN,
        exhaust_closing=half_exhaust - exhaust,
        exhaust_centreline=exhaust,
        overlap=half_intake + half_exhaust - 2.0 * separation,
        checking_height=float(positive("checking_height", checking_height)),
    )


def seat_timing(events: CamEvents) -> CamEvents:
    """Return the events, if they tell when a valve seals.

    Parameters
    ----------
    events : CamEvents
        Events at any checking height.

    Returns
    -------
    CamEvents
        The same.

    Raises
    ------
    NonPhysicalInput
        If they were taken above 1 mm of tappet lift, as the yardstick of 1.27 mm is: the
        intake valve is then open for tens of degrees more, and a trapped compression
        ratio from such a timing would be far too high.

    Examples
    --------
    >>> seat_timing(cam_events(230.0, 236.0, 112.0, 108.0, checking_height=1.27e-3))
    Traceback (most recent call last):
    service.engine.inputs.NonPhysicalInput: `checking_height` must not exceed 1 mm to tell when \
a valve seals; convert the timing or give the seat duration
    """
    if events.checking_height > SEAT_CHECKING_HEIGHT_LIMIT:
        raise NonPhysicalInput(
            "checking_height",
            limit="must not exceed 1 mm to tell when a valve seals; "
            "convert the timing or give the seat duration",
        )
    return events


@dataclass(frozen=True, slots=True, kw_only=True)
class LobeShape:
    r"""A symmetric lobe as a curve of tappet lift against crank angle from its nose.

    Notes
    -----
    :math:`\ell(\theta) = \ell_{max}(1 - |\theta/\theta_0|^a)^2` inside the half span, 0
    outside. The form is our assumption: it has no source. It is the simplest one that
    meets both durations and the lift, leaves the base circle without a step in speed,
    has a flat nose, and rises and falls without a ripple.
    """

    exponent: float
    """The a of the form, above 1; a higher one makes a fuller lobe. [-]"""
    half_span: float
    """From the nose to the base circle. [deg]"""
    lift: float
    """Tappet lift at the nose. [m]"""


def lobe_shape(
    *,
    seat_duration: float,
    seat_checking_height: float,
    duration_at_1_27_mm: float,
    lobe_lift: float,
) -> LobeShape:
    r"""Return the lobe that meets both durations of a cam card and its lift.

    Parameters
    ----------
    seat_duration : float
        Crank angle above the seat checking height. [deg]
    seat_checking_height : float
        Tappet lift at which the seat duration was taken. [m]
    duration_at_1_27_mm : float
        Crank angle above 1.27 mm of tappet lift. [deg]
    lobe_lift : float
        Tappet lift at the nose. [m]

    Returns
    -------
    LobeShape
        Exponent, half span and lift.

    Raises
    ------
    NonPhysicalInput
        If the heights do not rise from seat to 1.27 mm to nose, or the durations cannot
        belong to one lobe with a rounded nose; all fields concerned are named.

    Notes
    -----
    With :math:`q_h = 1 - \sqrt{h/\ell_{max}}` the form asks for
    :math:`(\theta_h/\theta_0)^a = q_h` at both heights, hence
    :math:`a = \ln(q_s/q_y)/\ln(\theta_s/\theta_y)` and
    :math:`\theta_0 = \theta_s q_s^{-1/a}`.

    Examples
    --------
    >>> shape = lobe_shape(
    ...     seat_duration=270.0,
    ...     seat_checking_height=0.15e-3,
    ...     duration_at_1_27_mm=219.0,
    ...     lobe_lift=8.0e-3,
    ... )
    >>> f"{shape.exponent:.3f} {shape.half_span:.2f}"
    '1.724 147.04'
    """
    seat_half = 0.5 * float(positive("seat_duration", seat_duration))
    yard_half = 0.5 * float(positive("duration_at_1_27_mm", duration_at_1_27_mm))
    seat_height = float(positive("seat_checking_height", seat_checking_height))
    lift = float(positive("lobe_lift", lobe_lift))
    _check_order(seat_half, yard_half, seat_height, lift)
    seat_share = 1.0 - np.sqrt(seat_height / lift)
    yard_share = 1.0 - np.sqrt(YARDSTICK_CHECKING_HEIGHT / lift)
    exponent = float(np.log(seat_share / yard_share) / np.log(seat_half / yard_half))
    if exponent <= 1.0:
        raise NonPhysicalInput(
            "seat_duration",
            "seat_checking_height",
            "duration_at_1_27_mm",
            "lobe_lift",
            limit="is inconsistent with the others: together they need a pointed nose",
        )
    half_span = float(seat_half * seat_share ** (-1.0 / exponent))
    return LobeShape(exponent=exponent, half_span=half_span, lift=lift)


def _check_order(seat_half: float, yard_half: float, seat_height: float, lift: float) -> None:
    if not seat_height < YARDSTICK_CHECKING_HEIGHT < lift:
        raise NonPhysicalInput(
            "seat_checking_height", "lobe_lift", limit="must lie on either side of 1.27 mm"
        )
    if seat_half <= yard_half:
        raise NonPhysicalInput(
            "seat_duration",
            "duration_at_1_27_mm",
            limit="is inconsistent: the seat duration must exceed that at 1.27 mm",
        )


def lobe_lift_at(angle_from_nose: ArrayLike, shape: LobeShape) -> FloatArray:
    """Tappet lift of a lobe.

    Parameters
    ----------
    angle_from_nose : array_like
        Crank angle from the nose, either side. [deg]
    shape : LobeShape
        The lobe.

    Returns
    -------
    ndarray
        Tappet lift; 0 on the base circle. [m]

    Raises
    ------
    NonPhysicalInput
        If an angle is not finite.

    Examples
    --------
    >>> shape = LobeShape(exponent=2.0, half_span=140.0, lift=8e-3)
    >>> lobe_lift_at([-150.0, 0.0, 70.0], shape)
    array([0.    , 0.008 , 0.0045])
    """
    share = np.minimum(np.abs(finite("angle_from_nose", angle_from_nose)) / shape.half_span, 1.0)
    return shape.lift * (1.0 - share**shape.exponent) ** 2


def valve_lift(
    angle_from_nose: ArrayLike, shape: LobeShape, rocker_ratio: ArrayLike, lash: ArrayLike
) -> FloatArray:
    """Valve lift through a rocker, less the clearance.

    Parameters
    ----------
    angle_from_nose : array_like
        Crank angle from the nose, either side. [deg]
    shape : LobeShape
        The lobe.
    rocker_ratio : array_like
        Valve over tappet motion. [-]
    lash : array_like
        Clearance at the valve; 0 with a hydraulic tappet. [m]

    Returns
    -------
    ndarray
        Valve lift, never negative. [m]

    Raises
    ------
    NonPhysicalInput
        If the rocker ratio is not positive or the lash is negative.

    Notes
    -----
    Rigid valve train, one rocker ratio at all lifts.

    Examples
    --------
    >>> shape = LobeShape(exponent=2.0, half_span=140.0, lift=8e-3)
    >>> valve_lift([0.0, 139.0], shape, 1.6, 0.3e-3)
    array([0.0125, 0.    ])
    """
    ratio = positive("rocker_ratio", rocker_ratio)
    clearance = not_negative("lash", lash)
    return np.maximum(ratio * lobe_lift_at(angle_from_nose, shape) - clearance, 0.0)
