"""Tuned speeds of runners and pipes by closed formulas.

They say where resonance helps, not how much: the cycle simulation says that. None of
them knows about valve timing beyond one number.
"""

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, above, positive

HELMHOLTZ_SPEED_RATIO = 2.1
"""Resonant frequency over crank frequency at the tuned speed. Values of 2.0 to 2.5 are
quoted for Engelman's rule; a middle one, from memory. [-]"""
UNFLANGED_END_CORRECTION = 0.6133
"""Levine and Schwinger, 1948; length over radius, from memory. [-]"""
FLANGED_END_CORRECTION = 0.8216
"""Pipe end in a wide wall; length over radius, from memory. [-]"""
_TURNS_PER_CYCLE = 2.0


def mid_stroke_volume(displacement: ArrayLike, compression_ratio: ArrayLike) -> FloatArray:
    """Volume above the piston half-way down: what a runner resonates against.

    Parameters
    ----------
    displacement : array_like
        Swept volume of one cylinder. [m³]
    compression_ratio : array_like
        Geometric compression ratio. [-]

    Returns
    -------
    ndarray
        Volume. [m³]

    Raises
    ------
    NonPhysicalInput
        If the displacement is not positive or the compression ratio is not above 1.

    Examples
    --------
    >>> f"{mid_stroke_volume(900e-6, 10.0):.2e}"
    '5.50e-04'
    """
    ratio = above("compression_ratio", compression_ratio, 1.0)
    return 0.5 * positive("displacement", displacement) * (ratio + 1.0) / (ratio - 1.0)


def helmholtz_frequency(
    sound_speed: ArrayLike,
    pipe_area: ArrayLike,
    pipe_length: ArrayLike,
    resonator_volume: ArrayLike,
) -> FloatArray:
    r"""Frequency of the air in a pipe that swings against a closed volume.

    Parameters
    ----------
    sound_speed : array_like
        In the gas. [m s⁻¹]
    pipe_area : array_like
        Cross-section of the pipe. [m²]
    pipe_length : array_like
        Length of the pipe with its end corrections. [m]
    resonator_volume : array_like
        Volume. [m³]

    Returns
    -------
    ndarray
        Frequency, :math:`(a/2\pi)\sqrt{A/(LV)}`. [Hz]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{helmholtz_frequency(344.4, 19.35e-4, 0.3556, 568.3e-6):.1f}"
    '169.6'
    """
    spring = positive("pipe_length", pipe_length) * positive("resonator_volume", resonator_volume)
    stiffness = positive("pipe_area", pipe_area) / spring
    return positive("sound_speed", sound_speed) / (2.0 * np.pi) * np.sqrt(stiffness)


def helmholtz_tuned_speed(
    sound_speed: ArrayLike,
    runner_area: ArrayLike,
    runner_length: ArrayLike,
    displacement: ArrayLike,
    compression_ratio: ArrayLike,
    *,
    speed_ratio: ArrayLike = HELMHOLTZ_SPEED_RATIO,
) -> FloatArray:
    r"""Crank speed at which an intake runner and its cylinder resonate.

    Parameters
    ----------
    sound_speed : array_like
        In the runner. [m s⁻¹]
    runner_area : array_like
        Mean cross-section of runner and port. [m²]
    runner_length : array_like
        Runner and port to the valve. [m]
    displacement : array_like
        Swept volume of one cylinder. [m³]
    compression_ratio : array_like
        Geometric compression ratio. [-]
    speed_ratio : array_like
        Resonant frequency over crank frequency at the tuned speed. [-]

    Returns
    -------
    ndarray
        Tuned crank speed. [rad s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive or the compression ratio is not above 1.

    Notes
    -----
    In feet per second and inches the rule reads
    :math:`(162/K) c \sqrt{A/(LV)}\sqrt{(R-1)/(R+1)}` rev/min; 162 is 162.057 rounded,
    so that this function lies 0.035 % above the rounded form.

    References
    ----------
    .. [1] Attributed to H. W. Engelman and M. P. Thompson, ASME 69-DGP-11 and
       73-WA/DGP-2 (from memory).

    Examples
    --------
    >>> f"{helmholtz_tuned_speed(344.4, 19.35e-4, 0.3556, 930e-6, 10.0):.0f}"
    '507'
    """
    volume = mid_stroke_volume(displacement, compression_ratio)
    frequency = helmholtz_frequency(sound_speed, runner_area, runner_length, volume)
    return 2.0 * np.pi * frequency / positive("speed_ratio", speed_ratio)


def plenum_resonances(
    sound_speed: ArrayLike,
    runner_inertance: ArrayLike,
    inlet_inertance: ArrayLike,
    cylinder_volume: ArrayLike,
    plenum_volume: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    r"""Two frequencies of cylinder, runner, plenum and inlet duct in a row.

    Parameters
    ----------
    sound_speed : array_like
        In the gas. [m s⁻¹]
    runner_inertance : array_like
        Sum of length over area along the runner. [m⁻¹]
    inlet_inertance : array_like
        The same from the plenum to the open air. [m⁻¹]
    cylinder_volume : array_like
        Volume that the runner swings against: `mid_stroke_volume`. [m³]
    plenum_volume : array_like
        Volume between runner and inlet duct. [m³]

    Returns
    -------
    tuple of ndarray
        The lower and the higher frequency. [Hz]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Notes
    -----
    With :math:`\alpha = I_2/I_1`, :math:`\beta = V_2/V_1` and
    :math:`s = \alpha\beta + \alpha + 1`,

    .. math:: f = \frac{a}{2\pi}\sqrt{\frac{1}{I_1V_1}}
              \sqrt{\frac{s \mp \sqrt{s^2 - 4\alpha\beta}}{2\alpha\beta}},

    the natural frequencies of two masses of air on two springs of air.

    References
    ----------
    .. [1] As `helmholtz_tuned_speed`; the form was read in a student's published script.

    Examples
    --------
    >>> low, high = plenum_resonances(350.5, 157.5, 19.69, 568.3e-6, 2458e-6)
    >>> f"{low:.0f} {high:.0f}"
    '169 281'
    """
    i_1 = positive("runner_inertance", runner_inertance)
    v_1 = positive("cylinder_volume", cylinder_volume)
    alpha = positive("inlet_inertance", inlet_inertance) / i_1
    product = alpha * positive("plenum_volume", plenum_volume) / v_1
    total = product + alpha + 1.0
    root = np.sqrt(total**2 - 4.0 * product)
    alone = positive("sound_speed", sound_speed) / (2.0 * np.pi) / np.sqrt(i_1 * v_1)
    # The lower root is written without the difference of two large numbers.
    low = alone * np.sqrt(2.0 / (total + root))
    high = alone * np.sqrt((total + root) / (2.0 * product))
    return low, high


def wave_return_length(
    return_angle: ArrayLike, sound_speed: ArrayLike, angular_speed: ArrayLike
) -> FloatArray:
    """Length of a pipe whose open end sends a wave back within a crank angle.

    Parameters
    ----------
    return_angle : array_like
        Crank angle for the way out and back. [deg]
    sound_speed : array_like
        In the pipe. [m s⁻¹]
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Length of the pipe. [m]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{wave_return_length(85.0, 330.0, 314.16):.4f}"
    '0.7792'
    """
    time = np.deg2rad(positive("return_angle", return_angle)) / positive(
        "angular_speed", angular_speed
    )
    return 0.5 * positive("sound_speed", sound_speed) * time


def wave_tuned_speed(
    return_angle: ArrayLike, sound_speed: ArrayLike, pipe_length: ArrayLike
) -> FloatArray:
    """Crank speed at which a wave returns from a pipe's open end within a crank angle.

    Parameters
    ----------
    return_angle : array_like
        Crank angle for the way out and back. [deg]
    sound_speed : array_like
        In the pipe. [m s⁻¹]
    pipe_length : array_like
        Length of the pipe with its end correction. [m]

    Returns
    -------
    ndarray
        Tuned crank speed. [rad s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{wave_tuned_speed(85.0, 330.0, 0.7792):.1f}"
    '314.1'
    """
    time = 2.0 * positive("pipe_length", pipe_length) / positive("sound_speed", sound_speed)
    return np.deg2rad(positive("return_angle", return_angle)) / time


def quarter_wave_frequency(sound_speed: ArrayLike, pipe_length: ArrayLike) -> FloatArray:
    """Lowest frequency of a pipe that is closed at one end.

    Parameters
    ----------
    sound_speed : array_like
        In the pipe. [m s⁻¹]
    pipe_length : array_like
        Length of the pipe with its end correction. [m]

    Returns
    -------
    ndarray
        Frequency, a/4L. [Hz]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{quarter_wave_frequency(343.2, 0.5):.1f}"
    '171.6'
    """
    return positive("sound_speed", sound_speed) / (4.0 * positive("pipe_length", pipe_length))


def order_speed(frequency: ArrayLike, order: ArrayLike) -> FloatArray:
    """Crank speed at which a frequency fits a number of times into a four-stroke cycle.

    Parameters
    ----------
    frequency : array_like
        Of the resonance. [Hz]
    order : array_like
        Oscillations in two turns of the crank. [-]

    Returns
    -------
    ndarray
        Crank speed. [rad s⁻¹]

    Raises
    ------
    NonPhysicalInput
        If an argument is not positive.

    Examples
    --------
    >>> f"{order_speed(200.0, 4.0) * 30.0 / np.pi:.0f}"
    '6000'
    """
    cycles = positive("frequency", frequency) / positive("order", order)
    return 2.0 * np.pi * _TURNS_PER_CYCLE * cycles


def end_correction(pipe_radius: ArrayLike, *, flanged: bool) -> FloatArray:
    """Length that the air outside adds to a pipe's open end.

    Parameters
    ----------
    pipe_radius : array_like
        Radius of the pipe. [m]
    flanged : bool
        Whether the end sits in a wide wall, as in a plenum's floor.

    Returns
    -------
    ndarray
        Length to add. [m]

    Raises
    ------
    NonPhysicalInput
        If the radius is not positive.

    References
    ----------
    .. [1] H. Levine and J. Schwinger, "On the radiation of sound from an unflanged
       circular pipe", Phys. Rev. 73 (1948) 383 (coefficient from memory).

    Examples
    --------
    >>> f"{end_correction(20e-3, flanged=False):.5f}"
    '0.01227'
    """
    share = FLANGED_END_CORRECTION if flanged else UNFLANGED_END_CORRECTION
    return share * positive("pipe_radius", pipe_radius)
