"""The airflow of an engine as a row of numbers with physical meaning, and back.

A response surface and a space-filling design need every engine of a family as a point in
one space. Each number is chosen so that a catalogue fills its range evenly: sizes that
follow each other (an exhaust port its intake port, lift its duration) stand as ratios.
Whatever is not a parameter is taken from a base engine; `fixed_differences` says where
an engine differs from its base in something that no parameter carries.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from service.engine.cams import LobeShape
from service.engine.inputs import FloatArray
from service.engine.model import Ambient, Duct, EngineSpec, FlowElement, ValveTrain
from service.engine.plant import series_area

LIFT_KNOTS = (0.04, 0.10, 0.155)
"""Valve lifts at which a port's flow is read, as shares of the bore: low, usual, high."""
SEAT_LIFT = 0.25e-3
"""Valve lift above which a duration counts the valve as open. [m]"""
FULL_LIFT = 2.2e-3
"""Valve lift above which a duration counts the valve as well open: about what 1.27 mm at
the tappet becomes through a rocker of 1.7. [m]"""
NO_GALLERY_SHARE = 0.5
"""Stands for the share of a gallery that is not there; it changes nothing then. [-]"""
_TABLE_LIFTS = (0.02, 0.04, 0.06, 0.08, 0.10, 0.12, 0.14, 0.155)
"""Lifts of a table that is made from a row, as shares of the bore; the knots among them."""


@dataclass(frozen=True, slots=True)
class Parameter:
    """One axis of the space of airflow.

    Attributes
    ----------
    name : str
        In words of the trade, with underscores.
    unit : str
        SI, or "deg"; "-" for a ratio.
    is_log : bool
        Whether equal ratios, and not equal steps, are equally far apart.
    margin : float
        How far beyond the catalogue a design reaches: a share of its span, logarithmic
        where `is_log`. [-]
    is_switch : bool
        Whether it is 0 or 1 and nothing in between.
    is_free : bool
        Whether machining or tuning moves it beside any part, so that it need not go with
        the other figures of a part.
    """

    name: str
    unit: str
    is_log: bool
    margin: float = 0.05
    is_switch: bool = False
    is_free: bool = False


PARAMETERS = (
    Parameter("intake_path_area", "m2", is_log=True),
    Parameter("throat_resistance", "m-4", is_log=False),
    Parameter("plenum_volume", "m3", is_log=True),
    Parameter("gallery_share", "-", is_log=False),
    Parameter("runner_length", "m", is_log=True),
    Parameter("runner_area_at_port", "m2", is_log=True),
    Parameter("runner_mouth_over_port_area", "-", is_log=True),
    Parameter("runner_mouth_coefficient", "-", is_log=False),
    Parameter("intake_flow_area", "m2", is_log=True),
    Parameter("intake_low_lift_share", "-", is_log=False),
    Parameter("intake_high_lift_share", "-", is_log=False),
    Parameter("exhaust_over_intake_flow", "-", is_log=True),
    Parameter("exhaust_low_lift_share", "-", is_log=False),
    Parameter("exhaust_high_lift_share", "-", is_log=False),
    Parameter("intake_duration", "deg", is_log=False),
    Parameter("intake_fullness", "-", is_log=False),
    Parameter("intake_lift_rate", "m deg-1", is_log=False),
    Parameter("intake_centreline", "deg", is_log=False),
    Parameter("exhaust_excess_duration", "deg", is_log=False),
    Parameter("exhaust_fullness", "-", is_log=False),
    Parameter("exhaust_lift_rate", "m deg-1", is_log=False),
    Parameter("exhaust_centreline", "deg", is_log=False),
    Parameter("primary_length", "m", is_log=True),
    Parameter("primary_area_at_port", "m2", is_log=True),
    Parameter("primary_outlet_over_port_area", "-", is_log=True),
    Parameter("primary_outlet_coefficient", "-", is_log=False),
    Parameter("primary_wall_temperature", "K", is_log=False, margin=0.0),
    Parameter("collector_volume", "m3", is_log=True),
    Parameter("system_area", "m2", is_log=True),
    Parameter("compression_ratio", "-", is_log=False, margin=0.1, is_free=True),
    Parameter("air_fuel_ratio", "-", is_log=False, margin=0.1, is_free=True),
    Parameter("burn_centre", "deg", is_log=False, margin=0.1, is_free=True),
    Parameter("roller_tappets", "-", is_log=False, margin=0.0, is_switch=True),
    Parameter("dry_pressure", "Pa", is_log=True, margin=0.0),
    Parameter("temperature", "K", is_log=True, margin=0.0),
)
"""In the order of a row."""

INDEX = {parameter.name: place for place, parameter in enumerate(PARAMETERS)}
"""Where each name stands in a row."""

_FREE = {
    "above_plenum",
    "air_fuel_ratio",
    "below_plenum",
    "burn_centre",
    "collector_volume",
    "compression_ratio",
    "exhaust",
    "gallery_volume",
    "intake",
    "plenum_volume",
    "primary",
    "roller_tappets",
    "runner",
    "system",
}
"""Fields of a spec that parameters carry."""


def parameters_of(spec: EngineSpec, ambient: Ambient) -> FloatArray:
    """Return the row of one engine in its air.

    Parameters
    ----------
    spec : EngineSpec
        The engine.
    ambient : Ambient
        The air it breathes.

    Returns
    -------
    ndarray, shape (p,)
        In the order of `PARAMETERS`.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> f"{row[INDEX['runner_length']]:.2f} m, {row[INDEX['intake_centreline']]:.0f} deg"
    '0.40 m, 110 deg'
    """
    intake, exhaust = _port_figures(spec.intake, spec.bore), _port_figures(spec.exhaust, spec.bore)
    inlet_lobe, outlet_lobe = _lobe_figures(spec.intake), _lobe_figures(spec.exhaust)
    figures = (
        *_path_figures(spec),
        *_duct_figures(spec.runner),
        *intake,
        exhaust[0] / intake[0],
        *exhaust[1:],
        *inlet_lobe,
        outlet_lobe[0] - inlet_lobe[0],
        *outlet_lobe[1:],
        *_duct_figures(spec.primary),
        spec.primary.wall_temperature,
        spec.collector_volume,
        series_area(spec.system),
        spec.compression_ratio,
        spec.air_fuel_ratio,
        spec.burn_centre,
        float(spec.roller_tappets),
        ambient.dry_pressure,
        ambient.temperature,
    )
    return np.array(figures)


def engine_at(base: EngineSpec, row: FloatArray) -> tuple[EngineSpec, Ambient]:
    """Return the engine and the air that a row stands for.

    Parameters
    ----------
    base : EngineSpec
        Gives everything that no parameter carries, and the shape of the ports' flow
        between the lifts at which it is read.
    row : ndarray, shape (p,)
        In the order of `PARAMETERS`.

    Returns
    -------
    tuple of EngineSpec and Ambient
        `parameters_of` them is the row again.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> bool(np.allclose(parameters_of(*engine_at(example_engine(), row)), row, rtol=1e-9))
    True
    """
    at = dict(zip(INDEX, row.tolist(), strict=True))
    narrows = at["throat_resistance"] > 0.0
    gallery = at["plenum_volume"] * at["gallery_share"] if narrows else 0.0
    throat = _element("throat", at["throat_resistance"] ** -0.5) if narrows else ()
    spec = replace(
        base,
        above_plenum=_element("intake path", at["intake_path_area"]),
        below_plenum=throat,
        plenum_volume=at["plenum_volume"] - gallery,
        gallery_volume=gallery,
        runner=_duct(base.runner, at, "runner", "mouth"),
        primary=_duct(base.primary, at, "primary", "outlet"),
        intake=_train(base, at, "intake"),
        exhaust=_train(base, at, "exhaust"),
        collector_volume=at["collector_volume"],
        system=_element("exhaust system", at["system_area"]),
        compression_ratio=at["compression_ratio"],
        air_fuel_ratio=at["air_fuel_ratio"],
        burn_centre=at["burn_centre"],
        roller_tappets=at["roller_tappets"] == 1.0,
    )
    return spec, Ambient(dry_pressure=at["dry_pressure"], temperature=at["temperature"])


def fixed_differences(spec: EngineSpec, base: EngineSpec) -> dict[str, tuple[object, object]]:
    """Return what differs from the base and no parameter carries: theirs and the base's.

    Parameters
    ----------
    spec, base : EngineSpec
        Two engines.

    Returns
    -------
    dict
        Values of `spec` and of `base` by field.

    Examples
    --------
    >>> from service.engine.example import example_engine
    >>> stroker = replace(example_engine(), stroke=0.09, plenum_volume=5e-3)
    >>> fixed_differences(stroker, example_engine())
    {'stroke': (0.09, 0.08)}
    """
    fields = (name for name in base.__dataclass_fields__ if name not in _FREE)
    pairs = {name: (getattr(spec, name), getattr(base, name)) for name in fields}
    return {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}


def _element(name: str, area: float) -> tuple[FlowElement, ...]:
    return (FlowElement(name=name, effective_area=area),)


def _path_figures(spec: EngineSpec) -> tuple[float, ...]:
    """Area above the plenum, resistance below, volume of both sides, share of the gallery."""
    area = series_area(spec.above_plenum)
    if not spec.below_plenum:
        return area, 0.0, spec.plenum_volume, NO_GALLERY_SHARE
    volume = spec.plenum_volume + spec.gallery_volume
    return area, series_area(spec.below_plenum) ** -2, volume, spec.gallery_volume / volume


def _duct_figures(duct: Duct) -> tuple[float, ...]:
    """Length, area at the valve, far area over it, coefficient of the far end."""
    return (
        duct.length,
        duct.area_at_valve,
        duct.area_at_far_end / duct.area_at_valve,
        duct.far_end_effective_area / duct.area_at_far_end,
    )


def _duct(base: Duct, at: dict[str, float], name: str, end: str) -> Duct:
    area = at[f"{name}_area_at_port"]
    far = area * at[f"{name}_{end}_over_port_area"]
    return replace(
        base,
        length=at[f"{name}_length"],
        area_at_valve=area,
        area_at_far_end=far,
        far_end_effective_area=far * at[f"{name}_{end}_coefficient"],
        wall_temperature=at.get(f"{name}_wall_temperature", base.wall_temperature),
    )


def _flow_at(train: ValveTrain, lifts: FloatArray) -> FloatArray:
    """Effective area at valve lifts, joined and cut off as the simulation does it."""
    curve = PchipInterpolator((0.0, *train.lifts), (0.0, *train.effective_areas))
    return np.asarray(curve(np.minimum(lifts, train.lifts[-1])))


def _port_figures(train: ValveTrain, bore: float) -> tuple[float, float, float]:
    """Flow at usual lift, and its shares at low and at high lift."""
    low, usual, high = _flow_at(train, np.array(LIFT_KNOTS) * bore)
    return float(usual), float(low / usual), float(high / usual)


def _lobe_figures(train: ValveTrain) -> tuple[float, float, float, float]:
    """Open duration, well-open share of it, lift over well-open duration, centreline."""
    lift = train.lobe.lift * train.rocker_ratio - train.lash
    open_half, full_half = (_half_above(train, height) for height in (SEAT_LIFT, FULL_LIFT))
    return 2.0 * open_half, full_half / open_half, lift / (2.0 * full_half), train.centreline


def _half_above(train: ValveTrain, height: float) -> float:
    """Crank angle from the nose to where the valve's lift is `height`."""
    lobe = train.lobe
    share = (height + train.lash) / train.rocker_ratio / lobe.lift
    return float(lobe.half_span * (1.0 - math.sqrt(share)) ** (1.0 / lobe.exponent))


def _train(base: EngineSpec, at: dict[str, float], name: str) -> ValveTrain:
    """Return a valve train with a hydraulic tappet and the base's rockers."""
    train = base.intake if name == "intake" else base.exhaust
    duration = at["intake_duration"]
    flow = at["intake_flow_area"]
    if name == "exhaust":
        duration += at["exhaust_excess_duration"]
        flow *= at["exhaust_over_intake_flow"]
    usual, low, high = _port_figures(train, base.bore)
    wanted = (at[f"{name}_low_lift_share"], 1.0, at[f"{name}_high_lift_share"])
    log_ratio = np.log(np.array(wanted) / (low, 1.0, high))
    lifts = np.array(_TABLE_LIFTS) * base.bore
    bend = PchipInterpolator(LIFT_KNOTS, log_ratio)(
        np.clip(_TABLE_LIFTS, LIFT_KNOTS[0], LIFT_KNOTS[-1])
    )
    areas = _flow_at(train, lifts) * flow / usual * np.exp(bend)
    full_duration = duration * at[f"{name}_fullness"]
    lift = at[f"{name}_lift_rate"] * full_duration
    return replace(
        train,
        lifts=tuple(lifts.tolist()),
        effective_areas=tuple(areas.tolist()),
        lobe=_lobe(duration, full_duration, lift, train.rocker_ratio),
        lash=0.0,
        centreline=at[f"{name}_centreline"],
    )


def _lobe(duration: float, full_duration: float, lift: float, rocker_ratio: float) -> LobeShape:
    seat_share, full_share = (1.0 - math.sqrt(height / lift) for height in (SEAT_LIFT, FULL_LIFT))
    exponent = math.log(seat_share / full_share) / math.log(duration / full_duration)
    half_span = 0.5 * duration * seat_share ** (-1.0 / exponent)
    return LobeShape(exponent=exponent, half_span=half_span, lift=lift / rocker_ratio)
