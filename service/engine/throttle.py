"""Open area of a butterfly throttle."""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, NonPhysicalInput, not_negative, positive, within

_RIGHT_ANGLE = 90.0


def butterfly_open_area(
    bore: ArrayLike, shaft: ArrayLike, closed_angle: ArrayLike, blade_angle: ArrayLike
) -> FloatArray:
    r"""Area that a butterfly leaves open, seen along the bore.

    Parameters
    ----------
    bore : array_like
        Diameter of the bore. [m]
    shaft : array_like
        Diameter of the shaft. [m]
    closed_angle : array_like
        Blade angle from the plane across the bore when shut. [deg]
    blade_angle : array_like
        Blade angle from the same plane. [deg]

    Returns
    -------
    ndarray
        Open area: 0 when shut, constant once the blade hides behind its shaft. [m²]

    Raises
    ------
    NonPhysicalInput
        If the shaft fills the bore, or the blade angle does not lie between shut and 90 degrees.

    Notes
    -----
    The blade is an ellipse that fills the bore when shut. With
    :math:`c = \cos\psi/\cos\psi_0` and :math:`a = d/D`, while :math:`a < c`,

    .. math:: \frac{A}{\pi D^2/4} = 1 - c + \frac{2}{\pi}\left[
              a\sqrt{1-a^2/c^2} + c\,\arcsin\frac{a}{c} - a\sqrt{1-a^2} - \arcsin a\right]

    and past that the bore less its shaft. Derived from the two shadows, ellipse and
    shaft; it meets the wide-open limit without a step. In the form often quoted for
    Heywood's equation 7.18 (from memory) both arcsines have the other sign, which makes
    a step there and reads 5 % low at 75 degrees with a thick shaft.

    Examples
    --------
    A thin shaft at 60 degrees leaves half of the bore open:

    >>> f"{butterfly_open_area(2.0, 0.0, 0.0, 60.0) / np.pi:.4f}"
    '0.5000'
    """
    diameter = positive("bore", bore)
    shut = within("closed_angle", closed_angle, 0.0, _RIGHT_ANGLE)
    blade = within("blade_angle", blade_angle, 0.0, _RIGHT_ANGLE)
    a = not_negative("shaft", shaft) / diameter
    if np.any(a >= 1.0):
        raise NonPhysicalInput("shaft", limit="must be below `bore`")
    if np.any(shut >= _RIGHT_ANGLE) or np.any(blade < shut):
        raise NonPhysicalInput("blade_angle", limit="must lie between `closed_angle` and 90")
    c = np.cos(np.deg2rad(blade)) / np.cos(np.deg2rad(shut))
    # Behind its shaft the blade covers nothing more; c = a then gives the wide-open limit.
    c = np.maximum(c, a)
    hidden = np.divide(a, c, out=np.zeros(np.shape(a + c)), where=c > 0.0)
    ellipse = a * np.sqrt(1.0 - hidden**2) + c * np.arcsin(hidden)
    shaft_share = a * np.sqrt(1.0 - a**2) + np.arcsin(a)
    return 0.25 * np.pi * diameter**2 * (1.0 - c + 2.0 / np.pi * (ellipse - shaft_share))
