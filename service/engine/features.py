"""What of an engine's airflow decides its torque: features for a response surface.

Logarithms of sizes and of the numbers that theory says matter: how hard valves and path
have to breathe, how the runner's swing, its organ-pipe note and the primary's lie to the
crank. All speeds are taken at the reference temperature's speed of sound, so that gas
dynamics in other weather looks like itself.
"""

import numpy as np

from service.engine.flow import choked_flow_per_sound_speed, sound_speed
from service.engine.geometry import swept_volume
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import FULL_LIFT, INDEX, LIFT_KNOTS, PARAMETERS, SEAT_LIFT

FEATURES_VERSION = "airflow-3"
"""Changes with every change of a feature or of the bumps over them; a surface fitted to
others is not read."""
REFERENCE_TEMPERATURE = 298.15
"""Of SAE J1349. [K]"""
EXHAUST_SOUND_SPEED = 600.0
"""In gas of some 900 K (documented assumption; it only scales a feature). [m s⁻¹]"""
EXHAUST_EXPANSION = 3.0
"""Of the volume of the gas on its way through the engine: its temperature over the air's
(documented assumption; it only scales a feature). [-]"""
CHOKED_FLOW = float(choked_flow_per_sound_speed())
"""Of air, as volume at rest through an area at the speed of sound. [-]"""
CLOSED = 1e-6
"""Area of a valve that counts as closed, where two areas stand in series. [m²]"""
LEAST_SUM = 1e-4
"""Added to sums of valve area over angle, a thousandth of a usual one: an overlap may be
none at all, and its logarithm must stay finite. [m²]"""
_ANGLES = np.arange(-300.0, 300.1, 6.0)
"""Crank angles about gas-exchange top dead centre at which valve areas are added up. [deg]"""
OPEN_SHARE = (_ANGLES[-1] - _ANGLES[0]) / 720.0
"""Of a cycle that the angles cover. [-]"""
_HALF_TURN = 180.0
_CYCLE = 720.0
_IS_LOG = np.array([parameter.is_log for parameter in PARAMETERS])


def airflow_features(rows: FloatArray, angular_speed: FloatArray, base: EngineSpec) -> FloatArray:
    """Features of engines at speeds.

    Parameters
    ----------
    rows : ndarray, shape (n, p)
        Engines, in the order of `PARAMETERS`.
    angular_speed : ndarray, shape (n, s)
        Speeds of each. [rad s⁻¹]
    base : EngineSpec
        Gives bore and stroke.

    Returns
    -------
    ndarray, shape (n, s, f)
        Not scaled.
    """
    kit = np.column_stack([_sizes(rows), _valve_sums(rows, base.bore)])
    speed = angular_speed * np.sqrt(REFERENCE_TEMPERATURE / _of(rows, "temperature"))[:, None]
    wanted = _demands(rows, speed, base)
    moving = np.stack(
        [
            np.log(speed),
            *(np.log(demand) for demand in wanted),
            *(demand**2 for demand in wanted),
            *_phases(rows, speed, base),
        ],
        axis=-1,
    )
    spread = np.broadcast_to(kit[:, None, :], (*speed.shape, kit.shape[1]))
    return np.concatenate([spread, moving], axis=-1)


def _of(rows: FloatArray, name: str) -> FloatArray:
    return rows[:, INDEX[name]]


def _sizes(rows: FloatArray) -> FloatArray:
    """Return the parameters themselves; the throat as its share of the path's resistance."""
    sizes = np.where(_IS_LOG, np.log(np.where(_IS_LOG, rows, 1.0)), rows)
    path = _of(rows, "intake_path_area") ** -2
    throat = _of(rows, "throat_resistance")
    sizes[:, INDEX["throat_resistance"]] = throat / (throat + path)
    sizes[:, INDEX["intake_path_area"]] = -0.5 * np.log(path + throat)
    return sizes


def _valve_sums(rows: FloatArray, bore: float) -> FloatArray:
    """Logarithms of valve area added up over crank angle, in the parts that matter."""
    intake, exhaust = _areas(rows, bore, "intake"), _areas(rows, bore, "exhaust")
    both = intake * exhaust / np.sqrt(intake**2 + exhaust**2 + CLOSED**2)
    sums = (
        intake.sum(axis=1),
        (intake * (_ANGLES > _HALF_TURN)).sum(axis=1),
        exhaust.sum(axis=1),
        (exhaust * (_ANGLES < -_HALF_TURN)).sum(axis=1),
        both.sum(axis=1),
    )
    return np.log(np.column_stack(sums) + LEAST_SUM)


def _lobe(rows: FloatArray, name: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Lift, half span and exponent of the lobes, as `parameters.engine_at` makes them."""
    duration = _of(rows, "intake_duration")
    if name == "exhaust":
        duration = duration + _of(rows, "exhaust_excess_duration")
    fullness = _of(rows, f"{name}_fullness")
    lift = _of(rows, f"{name}_lift_rate") * duration * fullness
    seat, full = (1.0 - np.sqrt(height / lift) for height in (SEAT_LIFT, FULL_LIFT))
    exponent = np.log(seat / full) / -np.log(fullness)
    return lift, 0.5 * duration * seat ** (-1.0 / exponent), exponent


def _areas(rows: FloatArray, bore: float, name: str) -> FloatArray:
    """Effective valve area over crank angle, flow joined by straight lines over lift."""
    lift, half_span, exponent = _lobe(rows, name)
    from_nose = np.abs(_ANGLES - _of(rows, f"{name}_centreline")[:, None]) / half_span[:, None]
    lifts = lift[:, None] * (1.0 - np.minimum(from_nose, 1.0) ** exponent[:, None]) ** 2
    usual = _of(rows, "intake_flow_area")
    if name == "exhaust":
        usual = usual * _of(rows, "exhaust_over_intake_flow")
    low = usual * _of(rows, f"{name}_low_lift_share")
    high = usual * _of(rows, f"{name}_high_lift_share")
    knots = np.array([0.0, *LIFT_KNOTS]) * bore
    heights = (np.zeros_like(usual), low, usual, high)
    area = np.zeros_like(lifts)
    for place in range(len(LIFT_KNOTS)):
        part = np.clip((lifts - knots[place]) / (knots[place + 1] - knots[place]), 0.0, 1.0)
        area += part * (heights[place + 1] - heights[place])[:, None]
    return area


def _demands(rows: FloatArray, speed: FloatArray, base: EngineSpec) -> list[FloatArray]:
    """Swept volume per second over what each narrow place could pass, were it choked.

    Of the intake path, the exhaust system and both valves while they are open; their
    squares go with losses of pressure.
    """
    swept = float(swept_volume(base.bore, base.stroke)) * base.cylinders
    demand = swept * speed / (4.0 * np.pi)
    path = (_of(rows, "intake_path_area") ** -2 + _of(rows, "throat_resistance")) ** -0.5
    valves = [
        _areas(rows, base.bore, name).mean(axis=1) * OPEN_SHARE * base.cylinders
        for name in ("intake", "exhaust")
    ]
    cold = CHOKED_FLOW * float(sound_speed(REFERENCE_TEMPERATURE))
    hot = CHOKED_FLOW * EXHAUST_SOUND_SPEED / EXHAUST_EXPANSION
    return [
        demand / (cold * path)[:, None],
        demand / (cold * valves[0])[:, None],
        demand / (hot * _of(rows, "system_area"))[:, None],
        demand / (hot * valves[1])[:, None],
    ]


def _phases(rows: FloatArray, speed: FloatArray, base: EngineSpec) -> list[FloatArray]:
    """Where the notes of runner and primary stand when valves open and close."""
    sound = float(sound_speed(REFERENCE_TEMPERATURE))
    duration = _of(rows, "intake_duration")
    length = _of(rows, "runner_length")
    area = _of(rows, "runner_area_at_port") * np.sqrt(_of(rows, "runner_mouth_over_port_area"))
    swept = float(swept_volume(base.bore, base.stroke))
    ratio = _of(rows, "compression_ratio")
    volume = 0.5 * swept * (ratio + 1.0) / (ratio - 1.0)
    swing = sound * np.sqrt(area / (length * volume))
    note = 0.5 * np.pi * sound / length
    organ = 0.5 * np.pi * EXHAUST_SOUND_SPEED / _of(rows, "primary_length")
    between = _HALF_TURN * 2.0 - duration
    found = []
    for frequency, angle in (
        (swing, duration),
        (note, _CYCLE - duration),
        (organ, between + 0.5 * duration),
    ):
        phase = (frequency * np.deg2rad(angle))[:, None] / speed
        found += [np.sin(phase), np.cos(phase)]
    return found
