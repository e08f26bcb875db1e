"""Turns the parts of a kit into the numbers that the physics works on.

The catalogue speaks millimetres, cubic centimetres and flow-bench readings; the engine
slice speaks SI and effective areas. Only this file knows both.
"""

import math
from dataclasses import dataclass

from service.catalog.slots import Slot
from service.catalog.specs import (
    AirInletSpec,
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
    ExhaustConstruction,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    IntakeManifoldSpec,
    LobeSpec,
    PathSection,
    PortSpec,
    SectionPlace,
    Tappet,
    ThrottleBodySpec,
)
from service.engine.bench import bench_effective_area
from service.engine.cams import lobe_shape
from service.engine.corrections import dry_air_pressure, vapour_pressure
from service.engine.model import Ambient, Duct, EngineSpec, FlowElement, ValveTrain
from service.engine.throttle import butterfly_open_area
from service.kits.kit import Kit, Weather
from service.units import (
    celsius_to_kelvin,
    cfm_to_m3_per_s,
    cm3_to_m3,
    inh2o_to_pa,
    mm2_to_m2,
    mm_to_m,
)

WIDE_OPEN_DEG = 90.0
JACKET_WALL_K = 400.0
"""Inner wall of an exhaust manifold with raw or engine water around it (documented
assumption: a little above the coolant)."""
HOT_WALL_K = 750.0
"""Inner wall of a dry manifold or header at full load (documented assumption)."""
RUNNER_WALL_K = 340.0
"""Between coolant and the air under the bonnet (documented assumption)."""
ROLLERS = (Tappet.HYDRAULIC_ROLLER, Tappet.SOLID_ROLLER)


@dataclass(frozen=True, slots=True, kw_only=True)
class PathElement:
    """One restriction with the part it belongs to."""

    slot: Slot
    sku: str
    element: FlowElement


def intake_path(kit: Kit) -> tuple[PathElement, ...]:
    """Return the restrictions that all the air passes, in the order it meets them."""
    inlet = _from_bench("air inlet and filter", kit.spec(AirInletSpec))
    manifold = kit.spec(IntakeManifoldSpec)
    return (
        _belongs(kit, Slot.AIR_INLET, inlet),
        _belongs(kit, Slot.THROTTLE_BODY, _throttle(kit.spec(ThrottleBodySpec), manifold)),
        *(_belongs(kit, Slot.INTAKE_MANIFOLD, _section(each)) for each in manifold.sections),
    )


def exhaust_path(kit: Kit) -> tuple[PathElement, ...]:
    """Return the restrictions after the collectors."""
    system = _from_bench("exhaust system", kit.spec(ExhaustSystemSpec))
    return (_belongs(kit, Slot.EXHAUST_SYSTEM, system),)


def engine_spec(kit: Kit) -> EngineSpec:
    """Return the engine with this kit on it, as the physics sees it."""
    manifold, heads = kit.spec(IntakeManifoldSpec), kit.spec(CylinderHeadsSpec)
    cam, header = kit.spec(CamshaftSpec), kit.spec(ExhaustManifoldSpec)
    calibration = kit.spec(CalibrationSpec)
    above, below = _by_place(kit, manifold)
    exhaust_centreline = 2.0 * cam.lobe_separation_deg - cam.intake_centreline_deg
    intake_valves = kit.family.intake_valves_per_cylinder
    exhaust_valves = kit.family.exhaust_valves_per_cylinder
    return EngineSpec(
        cylinders=kit.family.cylinders,
        bore=mm_to_m(kit.bore_mm),
        stroke=mm_to_m(kit.stroke_mm),
        rod_length=mm_to_m(kit.family.rod_length_mm),
        compression_ratio=kit.compression_ratio,
        intake=_train(heads, heads.intake, cam.intake, cam.intake_centreline_deg, intake_valves),
        exhaust=_train(heads, heads.exhaust, cam.exhaust, -exhaust_centreline, exhaust_valves),
        above_plenum=above,
        below_plenum=below,
        plenum_volume=cm3_to_m3(manifold.plenum_volume_cm3),
        gallery_volume=cm3_to_m3(manifold.gallery_volume_cm3 or 0.0),
        runner=_runner(manifold, heads.intake),
        primary=_primary(header, heads.exhaust),
        cylinders_per_collector=header.cylinders_per_collector,
        collector_volume=cm3_to_m3(header.collector_volume_cm3),
        system=tuple(each.element for each in exhaust_path(kit)),
        fuel=calibration.fuel.value,
        air_fuel_ratio=calibration.air_fuel_ratio,
        burn_centre=calibration.burn_centre_deg,
        main_bearings=_main_bearings(kit),
        roller_tappets=cam.tappet in ROLLERS,
    )


def ambient(weather: Weather) -> Ambient:
    """Return the dry part of the air, which is what brings the oxygen."""
    temperature = celsius_to_kelvin(weather.temperature_c)
    vapour = vapour_pressure(temperature, weather.relative_humidity)
    dry = dry_air_pressure(weather.pressure_kpa * 1e3, vapour)
    return Ambient(dry_pressure=float(dry), temperature=temperature)


def _belongs(kit: Kit, slot: Slot, element: FlowElement) -> PathElement:
    return PathElement(slot=slot, sku=kit.parts[slot].sku, element=element)


def _by_place(
    kit: Kit, manifold: IntakeManifoldSpec
) -> tuple[tuple[FlowElement, ...], tuple[FlowElement, ...]]:
    below = tuple(
        _section(each) for each in manifold.sections if each.place is SectionPlace.BELOW_PLENUM
    )
    above = tuple(each.element for each in intake_path(kit) if each.element not in below)
    return above, below


def _from_bench(name: str, spec: AirInletSpec | ExhaustSystemSpec) -> FlowElement:
    area = bench_effective_area(cfm_to_m3_per_s(spec.flow_cfm), inh2o_to_pa(spec.depression_inh2o))
    return FlowElement(name=name, effective_area=float(area))


def _throttle(body: ThrottleBodySpec, manifold: IntakeManifoldSpec) -> FlowElement:
    """Wide open; where the manifold's opening is smaller than the bore, it is the limit."""
    bore = mm_to_m(min(body.bore_mm, manifold.throttle_bore_mm))
    open_area = butterfly_open_area(
        bore, mm_to_m(body.shaft_mm), body.closed_angle_deg, WIDE_OPEN_DEG
    )
    area = body.bore_count * float(open_area) * body.discharge_coefficient
    return FlowElement(name="throttle", effective_area=area)


def _section(section: PathSection) -> FlowElement:
    return FlowElement(
        name=section.name,
        effective_area=mm2_to_m2(section.area_mm2) * section.discharge_coefficient,
    )


def _train(
    heads: CylinderHeadsSpec, port: PortSpec, lobe: LobeSpec, centreline_deg: float, valves: int
) -> ValveTrain:
    flows = [cfm_to_m3_per_s(point.flow_cfm) for point in port.flow]
    areas = bench_effective_area(flows, inh2o_to_pa(heads.depression_inh2o))
    return ValveTrain(
        lifts=tuple(mm_to_m(point.lift_mm) for point in port.flow),
        effective_areas=tuple(areas.tolist()),
        lobe=lobe_shape(
            seat_duration=lobe.seat_duration_deg,
            seat_checking_height=mm_to_m(lobe.seat_checking_height_mm),
            duration_at_1_27_mm=lobe.duration_at_1_27_mm_deg,
            lobe_lift=mm_to_m(lobe.lobe_lift_mm),
        ),
        rocker_ratio=heads.rocker_ratio,
        lash=mm_to_m(lobe.lash_mm),
        centreline=centreline_deg,
        valve_diameter=mm_to_m(port.valve_mm),
        valve_count=valves,
    )


def _port_area(port: PortSpec) -> float:
    """Return the mean cross-section of a port, in m²."""
    return cm3_to_m3(port.port_volume_cm3) / mm_to_m(port.port_length_mm)


def _runner(manifold: IntakeManifoldSpec, port: PortSpec) -> Duct:
    inlet = mm2_to_m2(manifold.runner_inlet_area_mm2)
    return Duct(
        length=mm_to_m(manifold.runner_length_mm + port.port_length_mm),
        area_at_valve=_port_area(port),
        area_at_far_end=inlet,
        far_end_effective_area=inlet * manifold.runner_discharge_coefficient,
        wall_temperature=RUNNER_WALL_K,
    )


def _primary(header: ExhaustManifoldSpec, port: PortSpec) -> Duct:
    outlet = math.pi / 4.0 * mm_to_m(header.primary_bore_mm) ** 2
    jacketed = header.construction is ExhaustConstruction.WATER_JACKETED
    return Duct(
        length=mm_to_m(header.primary_length_mm + port.port_length_mm),
        area_at_valve=_port_area(port),
        area_at_far_end=outlet,
        far_end_effective_area=outlet * header.discharge_coefficient,
        wall_temperature=JACKET_WALL_K if jacketed else HOT_WALL_K,
    )


def _main_bearings(kit: Kit) -> int:
    """One more than there are crank throws: two rods share a throw in a V."""
    cylinders = kit.family.cylinders
    throws = cylinders // 2 if kit.family.bank_angle_deg > 0.0 else cylinders
    return throws + 1
