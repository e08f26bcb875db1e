"""A default engine for any displacement, number of cylinders and rated speed.

Every number below was written down from a band of the literature before the outcome on
any data was seen. One was changed after it: all runners were 0.35 m long while the model
knew no waves. Under waves that tuned every engine to its rated speed and made 13 and 21 %
too much of the median engines of 1993 and 1985; the length now follows from a rule. What is
known of an engine is its size and the speed at which its maker rates it; the rest says
that a production engine is proportioned for that speed. So the inlet Mach index at rated
speed is the same for all.
"""

import math
from functools import cache
from typing import NamedTuple

import numpy as np

from service.engine.cams import LobeShape, lobe_shape
from service.engine.curve import operating_point
from service.engine.example import STANDARD_AIR
from service.engine.flow import gas_density, sound_speed
from service.engine.model import Duct, EngineSpec, FlowElement, ValveTrain
from service.engine.plant import effective_valve_area
from service.engine.tuning import helmholtz_tuned_speed
from service.units import hp_to_w, rpm_to_rad_per_s

RATED_MACH_INDEX = 0.5
"""Filling falls off past about .5: a valve is sized to stay below at the highest speed
(dictionary of the Japan Society of Mechanical Engineers, entry on the index)."""
STROKE_TO_BORE = 1.0
"""Middle of .8 to 1.2 (Heywood 1988, section 2.2; from memory)."""
ROD_TO_STROKE = 1.75
"""Rod over crank radius 3 to 4 (Heywood 1988, section 2.2; from memory)."""
COMPRESSION_RATIO = 9.0
AIR_FUEL_RATIO = 12.8
"""Richest torque lies near a relative ratio of .87 (common practice, no source)."""
BURN_CENTRE = 9.0
"""8 to 10 degrees after top dead centre at best torque (Heywood 1988, section 9.3; from
memory)."""
INTAKE_OPENS, INTAKE_CLOSES = -15.0, 180.0 + 55.0
EXHAUST_OPENS, EXHAUST_CLOSES = -180.0 - 55.0, 14.0
"""10 to 20 before and 50 to 60 after the stroke for intake, 50 to 60 before and 8 to 20
after for exhaust: middles (Heywood 1988, section 6.2; from memory). [deg]"""
SEAT_HEIGHT, YARD_HEIGHT_RAMP = 0.15e-3, 52.0
"""Seat duration is taken at this tappet lift and exceeds that at 1.27 mm by so much
(cam cards; common practice, no source). [m, deg]"""
LOBE_LIFT = 7.5e-3
"""Only the shape of the lobe counts: the rocker's ratio is made to reach the lift. [m]"""
LIFT_TO_DIAMETER = 0.25
"""Curtain area equals head area there (arithmetic; usual in production)."""
CURTAIN_LIFTS = (0.0, 0.15, 0.25, 0.275)
CURTAIN_COEFFICIENTS = (0.65, 0.65, 0.53, 0.50)
"""By lift over diameter: .60 to .70 up to .15, then falling to about .5 at .25 to .3
(Heywood 1988, figure 6-18; from memory)."""
EXHAUST_TO_INTAKE_FLOW = 0.75
""".65 to .80 typical (head shops; common practice, no source)."""
PORT_TO_BORE = 0.46
"""44 to 48 % (lecture page of an American university on poppet valves)."""
INLET_LOSS, BACK_PRESSURE = 4e3, 25e3
"""At rated speed: filter and throttle 3 to 5 kPa, silenced exhaust 20 to 30 kPa
(Heywood 1988, section 6.2, and common practice; from memory). [Pa]"""
RATED_FILLING, EXHAUST_TEMPERATURE = 0.8, 1150.0
"""Only to turn those losses into areas (Heywood 1988, sections 2.10 and 6.5; from
memory). [-, K]"""
PLENUM_SHARE, COLLECTOR_SHARE = 0.5, 0.5
"""Of the engine's and of one cylinder's displacement (documented assumption)."""
TORQUE_PEAK_TO_RATED_SPEED = 2.0 / 3.0
"""Production runners serve the torque peak, which lies near two thirds of rated speed
(common practice, no source): their length follows from it by Engelman's rule."""
PRIMARY_LENGTH = 0.30
"""Port included (documented assumption). [m]"""
MOUTH_COEFFICIENT, OUTLET_COEFFICIENT = 0.9, 0.8
"""Rounded mouth, sudden widening (documented assumption)."""
RUNNER_WALL, PRIMARY_WALL = 340.0, 750.0
"""The service's own assumptions. [K]"""
INLINE_AT_MOST = 5
"""Cylinders; more stand in two banks with one collector each."""


class Rated(NamedTuple):
    """What an open data set says of an engine."""

    displacement_l: float
    power_hp: float
    speed_rpm: float
    cylinders: int
    compression_ratio: float = COMPRESSION_RATIO


def default_engine(rated: Rated) -> EngineSpec:
    """The engine that the constants above make of a rating; its power is not looked at."""
    cylinder = rated.displacement_l * 1e-3 / rated.cylinders
    bore = (4.0 * cylinder / (math.pi * STROKE_TO_BORE)) ** (1.0 / 3.0)
    stroke = STROKE_TO_BORE * bore
    speed = rpm_to_rad_per_s(rated.speed_rpm)
    piston_speed = stroke * speed / math.pi
    mean_area = (
        0.25 * math.pi * bore**2 * piston_speed / (RATED_MACH_INDEX * _ambient_sound_speed())
    )
    intake_valve = math.sqrt(mean_area / _mean_area_over_square())
    exhaust_valve = intake_valve * math.sqrt(EXHAUST_TO_INTAKE_FLOW)
    inlet, outlet = _areas_for_losses(rated.displacement_l * 1e-3, speed)
    port = 0.25 * math.pi * (PORT_TO_BORE * bore) ** 2
    inline = rated.cylinders <= INLINE_AT_MOST
    return EngineSpec(
        cylinders=rated.cylinders,
        bore=bore,
        stroke=stroke,
        rod_length=ROD_TO_STROKE * stroke,
        compression_ratio=rated.compression_ratio,
        intake=_train(intake_valve, _intake_lobe(), _middle(INTAKE_OPENS, INTAKE_CLOSES)),
        exhaust=_train(exhaust_valve, _exhaust_lobe(), _middle(EXHAUST_OPENS, EXHAUST_CLOSES)),
        above_plenum=(FlowElement(name="filter and throttle", effective_area=inlet),),
        below_plenum=(),
        plenum_volume=PLENUM_SHARE * rated.displacement_l * 1e-3,
        gallery_volume=0.0,
        runner=_duct(_runner_length(cylinder, rated, port), port, MOUTH_COEFFICIENT, RUNNER_WALL),
        primary=_duct(
            PRIMARY_LENGTH, EXHAUST_TO_INTAKE_FLOW * port, OUTLET_COEFFICIENT, PRIMARY_WALL
        ),
        cylinders_per_collector=rated.cylinders if inline else rated.cylinders // 2,
        collector_volume=COLLECTOR_SHARE * cylinder,
        system=(FlowElement(name="exhaust system", effective_area=outlet),),
        fuel="gasoline",
        air_fuel_ratio=AIR_FUEL_RATIO,
        burn_centre=BURN_CENTRE,
        main_bearings=rated.cylinders + 1 if inline else rated.cylinders // 2 + 1,
        roller_tappets=False,
    )


@cache
def predicted_over_rated(rated: Rated) -> float:
    """Simulated over rated power at rated speed, in the air of SAE J1349."""
    point = operating_point(
        default_engine(rated), STANDARD_AIR, float(rpm_to_rad_per_s(rated.speed_rpm))
    )
    return point.power / float(hp_to_w(rated.power_hp))


def _runner_length(cylinder: float, rated: Rated, port: float) -> float:
    """Length that resonates with a half-filled cylinder at the torque peak, port included."""
    speed = TORQUE_PEAK_TO_RATED_SPEED * rpm_to_rad_per_s(rated.speed_rpm)
    one_metre = helmholtz_tuned_speed(
        _ambient_sound_speed(), port, 1.0, cylinder, rated.compression_ratio
    )
    return float((one_metre / speed) ** 2)


def _ambient_sound_speed() -> float:
    return float(sound_speed(STANDARD_AIR.temperature))


def _middle(opens: float, closes: float) -> float:
    return 0.5 * (opens + closes)


def _intake_lobe() -> LobeShape:
    return _lobe(INTAKE_CLOSES - INTAKE_OPENS)


def _exhaust_lobe() -> LobeShape:
    return _lobe(EXHAUST_CLOSES - EXHAUST_OPENS)


def _lobe(seat_duration: float) -> LobeShape:
    return lobe_shape(
        seat_duration=seat_duration,
        seat_checking_height=SEAT_HEIGHT,
        duration_at_1_27_mm=seat_duration - YARD_HEIGHT_RAMP,
        lobe_lift=LOBE_LIFT,
    )


def _train(valve: float, lobe: LobeShape, centreline: float) -> ValveTrain:
    shares = np.linspace(0.05, 0.275, 10)
    coefficients = np.interp(shares, CURTAIN_LIFTS, CURTAIN_COEFFICIENTS)
    areas = math.pi * valve**2 * shares * coefficients
    return ValveTrain(
        lifts=tuple(float(share) * valve for share in shares),
        effective_areas=tuple(float(area) for area in areas),
        lobe=lobe,
        rocker_ratio=LIFT_TO_DIAMETER * valve / LOBE_LIFT,
        lash=0.0,
        centreline=centreline,
        valve_diameter=valve,
    )


@cache
def _mean_area_over_square() -> float:
    """Effective area of an intake valve of one metre, mean over the time it is open. [-]"""
    train = _train(1.0, _intake_lobe(), _middle(INTAKE_OPENS, INTAKE_CLOSES))
    area = effective_valve_area(np.arange(0.0, 720.0, 0.25), train, flow_multiplier=1.0)
    return float(area[area > 0.0].mean())


def _areas_for_losses(displacement: float, angular_speed: float) -> tuple[float, float]:
    """Areas of inlet and exhaust system that lose what the constants say at rated speed."""
    density = float(gas_density(STANDARD_AIR.dry_pressure, STANDARD_AIR.temperature))
    air = RATED_FILLING * density * displacement * angular_speed / (4.0 * math.pi)
    hot = float(gas_density(STANDARD_AIR.dry_pressure + BACK_PRESSURE, EXHAUST_TEMPERATURE))
    exhaust = air * (1.0 + 1.0 / AIR_FUEL_RATIO)
    return (
        air / math.sqrt(2.0 * density * INLET_LOSS),
        exhaust / math.sqrt(2.0 * hot * BACK_PRESSURE),
    )


def _duct(length: float, area: float, coefficient: float, wall: float) -> Duct:
    return Duct(
        length=length,
        area_at_valve=area,
        area_at_far_end=area,
        far_end_effective_area=coefficient * area,
        wall_temperature=wall,
    )
