"""One plain engine: for examples in docstrings, and to compile the kernels before a request.

Round numbers of textbook proportions; no real engine.
"""

from service.engine.cams import lobe_shape
from service.engine.cycle import simulate_cycle
from service.engine.model import Ambient, Duct, EngineSpec, FlowElement, ValveTrain

STANDARD_AIR = Ambient(dry_pressure=99_000.0, temperature=298.15)
"""Reference state of SAE J1349."""


def example_engine() -> EngineSpec:
    """Return a V8 of five litres with everything it breathes through.

    Returns
    -------
    EngineSpec
        100 x 80 mm, compression 9, two valves.

    Examples
    --------
    >>> example_engine().cylinders
    8
    """
    return EngineSpec(
        cylinders=8,
        bore=0.100,
        stroke=0.080,
        rod_length=0.150,
        compression_ratio=9.0,
        intake=_train(valve_diameter=0.050, largest_area=11e-4, centreline=110.0),
        exhaust=_train(valve_diameter=0.040, largest_area=8e-4, centreline=-114.0),
        above_plenum=(FlowElement(name="throttle", effective_area=50e-4),),
        below_plenum=(),
        plenum_volume=4e-3,
        gallery_volume=0.0,
        runner=_duct(length=0.40, area=14e-4, wall_temperature=340.0),
        primary=_duct(length=0.50, area=12e-4, wall_temperature=750.0),
        cylinders_per_collector=4,
        collector_volume=1e-3,
        system=(FlowElement(name="exhaust system", effective_area=40e-4),),
        fuel="gasoline",
        air_fuel_ratio=12.8,
        burn_centre=9.0,
        main_bearings=5,
        roller_tappets=True,
    )


def compile_kernels() -> None:
    """Simulate one point, so that the first request does not wait for the compiler.

    Examples
    --------
    >>> compile_kernels()
    """
    simulate_cycle(example_engine(), STANDARD_AIR, 400.0)


def _train(*, valve_diameter: float, largest_area: float, centreline: float) -> ValveTrain:
    shares = (0.28, 0.53, 0.74, 0.89, 1.0)
    return ValveTrain(
        lifts=tuple(2.5e-3 * (place + 1) for place in range(len(shares))),
        effective_areas=tuple(largest_area * share for share in shares),
        lobe=lobe_shape(
            seat_duration=266.0,
            seat_checking_height=0.15e-3,
            duration_at_1_27_mm=212.0,
            lobe_lift=7.5e-3,
        ),
        rocker_ratio=1.6,
        lash=0.0,
        centreline=centreline,
        valve_diameter=valve_diameter,
    )


def _duct(*, length: float, area: float, wall_temperature: float) -> Duct:
    return Duct(
        length=length,
        area_at_valve=area,
        area_at_far_end=area,
        far_end_effective_area=0.9 * area,
        wall_temperature=wall_temperature,
    )
