"""Mechanical friction of a pushrod engine: rubbing parts and engine-driven auxiliaries.

The component correlations of Patton, Nitschke and Heywood [1]_: each group of parts has
terms for hydrodynamic, mixed and boundary lubrication, scaled by the engine's own
dimensions. They were fitted to production spark-ignition engines of the 1980s with
fully warm oil. Pumping is not in here, because the cycle simulation computes it.

**Every coefficient of this file is from memory**; the paper could not be read. The
correlations take millimetres, rev/min and m/s and give kilopascals; the functions here
take and give SI and convert inside.

References
----------
.. [1] K. J. Patton, R. G. Nitschke, J. B. Heywood, "Development and Evaluation of a
   Friction Model for Spark-Ignition Engines", SAE 890836, 1989; also J. B. Heywood,
   *Internal Combustion Engine Fundamentals*, 2nd ed., McGraw-Hill, 2018, section 13.8.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from service.engine.geometry import mean_piston_speed
from service.engine.inputs import FloatArray, not_negative, positive

_RPM = 60.0 / (2.0 * np.pi)
"""Converts rad/s to rev/min."""
_MM = 1e3
_KPA = 1e3
_BAR = 1e5

# Journal sizes over the bore: common practice of pushrod engines, no source. All crank
# bearings together make a quarter of the total at most.
MAIN_DIAMETER, MAIN_LENGTH = 0.65, 0.25
ROD_DIAMETER, ROD_LENGTH = 0.53, 0.22

SEAL = 1.22e5
BEARING = 3.03e-4
TURBULENCE = 1.35e-10
SKIRT = 2.94e2
RING_TENSION = 4.06e4
BOUNDARY_SPEED = 500.0
"""Speed at which boundary friction has fallen to twice its limit. [rev/min]"""
RING_GAS_LOAD = 6.89
RING_LINEAR, RING_POWER = 0.088, 0.182
RING_EXPONENT, RING_EXPONENT_SLOPE = 1.33, 2.38e-2
CAM_BEARING = 2.44e2
# Pushrod valvetrain with the cam in the block.
FLAT_FOLLOWER = 400.0
ROLLER_FOLLOWER = 0.0151
OSCILLATING_HYDRODYNAMIC = 0.5
OSCILLATING_MIXED = 32.1
AUXILIARY = (6.23, 5.22e-3, -1.79e-7)
"""Oil pump, water pump and an alternator that does not charge."""
MOTORED = (0.97, 0.15, 0.05)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machinery:
    """What of an engine decides its friction.

    Attributes
    ----------
    bore, stroke : float
        Of the crank train. [m]
    cylinders : int
        How many.
    compression_ratio : float
        Geometric. [-]
    main_bearings : int
        Of the crankshaft; the camshaft is taken to have as many.
    valves : int
        Of the whole engine.
    valve_lift : float
        Largest, mean of intake and exhaust. [m]
    roller_tappets : bool
        Whether rollers follow the cam.
    """

    bore: float
    stroke: float
    cylinders: int
    compression_ratio: float
    main_bearings: int
    valves: int
    valve_lift: float
    roller_tappets: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Friction:
    """Friction mean effective pressures by group of parts.

    Attributes
    ----------
    crankshaft : ndarray
        Main bearings, seals and oil stirred up. [Pa]
    piston : ndarray
        Skirts, rings by their own tension, and rod bearings. [Pa]
    gas_loading : ndarray
        Rings pressed on the bore by the gas behind them. [Pa]
    valvetrain : ndarray
        Cam bearings, tappets, pushrods, rockers and valves. [Pa]
    auxiliaries : ndarray
        Oil pump, water pump, alternator. [Pa]
    """

    crankshaft: FloatArray
    piston: FloatArray
    gas_loading: FloatArray
    valvetrain: FloatArray
    auxiliaries: FloatArray

    @property
    def total(self) -> FloatArray:
        """Rubbing and auxiliary friction mean effective pressure [Pa]."""
        rubbing = self.crankshaft + self.piston + self.gas_loading + self.valvetrain
        return rubbing + self.auxiliaries


def friction(
    machinery: Machinery, angular_speed: ArrayLike, *, intake_pressure_ratio: ArrayLike = 1.0
) -> Friction:
    """Friction of a warm engine, group by group.

    Parameters
    ----------
    machinery : Machinery
        The engine.
    angular_speed : array_like
        Of the crank. [rad s⁻¹]
    intake_pressure_ratio : array_like
        Manifold over atmospheric pressure, both absolute; 1 at full load. [-]

    Returns
    -------
    Friction
        Its `total` does not contain pumping.

    Raises
    ------
    NonPhysicalInput
        If the speed is not positive or the pressure ratio is negative.

    Examples
    --------
    >>> engine = Machinery(
    ...     bore=0.1, stroke=0.09, cylinders=8, compression_ratio=9.0, main_bearings=5,
    ...     valves=16, valve_lift=0.011, roller_tappets=True,
    ... )
    >>> f"{friction(engine, 3000.0 * np.pi / 30.0).total / 1e3:.0f} kPa"
    '94 kPa'
    """
    speed = np.asarray(positive("angular_speed", angular_speed)) * _RPM
    piston_speed = mean_piston_speed(machinery.stroke, angular_speed)
    ratio = not_negative("intake_pressure_ratio", intake_pressure_ratio)
    return Friction(
        crankshaft=_crankshaft(machinery, speed),
        piston=_piston(machinery, speed, piston_speed),
        gas_loading=_gas_loading(machinery, piston_speed, ratio),
        valvetrain=_valvetrain(machinery, speed),
        auxiliaries=auxiliary_friction(angular_speed),
    )


def auxiliary_friction(angular_speed: ArrayLike) -> FloatArray:
    """Mean effective pressure of the oil pump, the water pump and an idle alternator.

    Parameters
    ----------
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Friction mean effective pressure. [Pa]

    Raises
    ------
    NonPhysicalInput
        If the speed is not positive.

    Notes
    -----
    Quadratic in speed [1]_; fan and power steering are not in it.

    References
    ----------
    .. [1] Patton, Nitschke, Heywood, SAE 890836, 1989 (coefficients from memory).

    Examples
    --------
    >>> f"{auxiliary_friction(1000.0 * np.pi / 30.0) / 1e3:.3f} kPa"
    '11.271 kPa'
    """
    speed = positive("angular_speed", angular_speed) * _RPM
    constant, linear, quadratic = AUXILIARY
    return _KPA * (constant + linear * speed + quadratic * speed**2)


def motored_friction(angular_speed: ArrayLike) -> FloatArray:
    """Total motored friction of small four-cylinder engines, pumping included.

    Parameters
    ----------
    angular_speed : array_like
        Of the crank. [rad s⁻¹]

    Returns
    -------
    ndarray
        Friction mean effective pressure. [Pa]

    Raises
    ------
    NonPhysicalInput
        If the speed is not positive.

    Notes
    -----
    Fit to engines of 845 to 2000 cm³ motored at wide-open throttle [1]_. A check on the
    size of `friction`, not a part of the model.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       Eq. 13.6, after M. Barnes-Moss, 1975 (from memory).

    Examples
    --------
    >>> f"{motored_friction(3000.0 * np.pi / 30.0) / 1e5:.2f} bar"
    '1.87 bar'
    """
    thousands = positive("angular_speed", angular_speed) * _RPM / 1000.0
    constant, linear, quadratic = MOTORED
    return _BAR * (constant + linear * thousands + quadratic * thousands**2)


def _swept_measure(machinery: Machinery) -> float:
    """Bore squared times stroke times cylinders, to which shaft friction is referred. [mm³]."""
    return (machinery.bore * _MM) ** 2 * machinery.stroke * _MM * machinery.cylinders


def _journals(machinery: Machinery, speed: FloatArray, size: FloatArray, count: int) -> FloatArray:
    """Hydrodynamic friction of a row of journal bearings. [Pa]."""
    diameter, length = size * machinery.bore * _MM
    drag = BEARING * speed * diameter**3 * length * count
    return np.asarray(_KPA * drag / _swept_measure(machinery))


def _crankshaft(machinery: Machinery, speed: FloatArray) -> FloatArray:
    diameter = MAIN_DIAMETER * machinery.bore * _MM
    bearings = machinery.main_bearings
    seals = SEAL * diameter / _swept_measure(machinery)
    turbulence = TURBULENCE * diameter**2 * speed**2 * bearings / machinery.cylinders
    size = np.array([MAIN_DIAMETER, MAIN_LENGTH])
    return _journals(machinery, speed, size, bearings) + _KPA * (seals + turbulence)


def _piston(machinery: Machinery, speed: FloatArray, piston_speed: FloatArray) -> FloatArray:
    bore = machinery.bore * _MM
    skirt = SKIRT * piston_speed / bore
    rings = RING_TENSION * (1.0 + BOUNDARY_SPEED / speed) / bore**2
    size = np.array([ROD_DIAMETER, ROD_LENGTH])
    return _journals(machinery, speed, size, machinery.cylinders) + _KPA * (skirt + rings)


def _gas_loading(
    machinery: Machinery, piston_speed: FloatArray, pressure_ratio: FloatArray
) -> FloatArray:
    ratio = machinery.compression_ratio
    exponent = RING_EXPONENT - RING_EXPONENT_SLOPE * piston_speed
    load = RING_LINEAR * ratio + RING_POWER * ratio**exponent
    return np.asarray(_KPA * RING_GAS_LOAD * pressure_ratio * load)


def _valvetrain(machinery: Machinery, speed: FloatArray) -> FloatArray:
    bore, stroke, lift = (
        length * _MM for length in (machinery.bore, machinery.stroke, machinery.valve_lift)
    )
    per_stroke = machinery.valves / (stroke * machinery.cylinders)
    boundary = 1.0 + BOUNDARY_SPEED / speed
    bearings = CAM_BEARING * speed * machinery.main_bearings / _swept_measure(machinery)
    follower = ROLLER_FOLLOWER * speed if machinery.roller_tappets else FLAT_FOLLOWER * boundary
    sliding = OSCILLATING_HYDRODYNAMIC * lift**1.5 * np.sqrt(speed) / bore
    mixed = OSCILLATING_MIXED * boundary * lift
    return np.asarray(_KPA * (bearings + (follower + sliding + mixed) * per_stroke))
