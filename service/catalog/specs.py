"""What physics and fit rules need to know of a part, slot by slot.

`kits` turns what was measured on a part into areas and volumes; `engine` solves with them.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Literal

from annotated_types import Ge, Gt, Le, MinLen

from service.catalog.slots import Fuel, Slot
from service.catalog.supplies import SupplySpec
from service.quantities import (
    BY_SLOT,
    EDGE_CONFIG,
    STRICT,
    AreaMm2,
    Coefficient,
    DepressionInH2O,
    FlowCfm,
    LengthMm,
    LiftMm,
    Name,
    PositiveCount,
    PressureKpa,
    SpeedRpm,
    VolumeCm3,
)


class ThrottleDrive(StrEnum):
    """How the blade is turned."""

    CABLE = "cable"
    ELECTRONIC = "electronic"


class SectionPlace(StrEnum):
    """On which side of the plenum a narrow place of the path lies."""

    ABOVE_PLENUM = "above_plenum"
    BELOW_PLENUM = "below_plenum"


class Tappet(StrEnum):
    """What follows the cam."""

    HYDRAULIC_FLAT = "hydraulic_flat"
    HYDRAULIC_ROLLER = "hydraulic_roller"
    SOLID_FLAT = "solid_flat"
    SOLID_ROLLER = "solid_roller"


class HeadMaterial(StrEnum):
    """What the head is cast from."""

    IRON = "iron"
    ALUMINIUM = "aluminium"


class ExhaustConstruction(StrEnum):
    """How the exhaust leaves the heads."""

    CAST_LOG = "cast_log"
    TUBULAR = "tubular"
    WATER_JACKETED = "water_jacketed"


@dataclass(frozen=True, slots=True, kw_only=True)
class AirInletSpec:
    """Filter, duct and everything before the throttle."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.AIR_INLET] = Slot.AIR_INLET
    flow_cfm: FlowCfm
    """Steady flow on the bench with a clean filter. [ft³/min]"""
    depression_inh2o: DepressionInH2O
    """Pressure drop at which it was read. [inH₂O]"""
    outlet_bore_mm: LengthMm
    """Bore where it meets the throttle body. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrottleBodySpec:
    """One or more butterfly bores of one size."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.THROTTLE_BODY] = Slot.THROTTLE_BODY
    bore_count: Annotated[int, STRICT, Ge(1), Le(8)]
    bore_mm: LengthMm
    """Bore at the blade. [mm]"""
    shaft_mm: LengthMm
    """Diameter of the shaft across the open bore. [mm]"""
    closed_angle_deg: Annotated[float, STRICT, Ge(0), Le(30)] = 0.0
    """Blade angle from the plane of the bore when shut. [deg]"""
    discharge_coefficient: Coefficient
    """Wide open, on the exact open area. [-]"""
    drive: ThrottleDrive


@dataclass(frozen=True, slots=True, kw_only=True)
class PathSection:
    """One narrow place that all the air passes between throttle and runners."""

    __pydantic_config__ = EDGE_CONFIG

    name: Name
    """What a builder would call it."""
    place: SectionPlace
    area_mm2: AreaMm2
    """Smallest flow area. [mm²]"""
    discharge_coefficient: Coefficient
    """On that area. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeManifoldSpec:
    """Plenum, runners and every restriction between them and the throttle."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.INTAKE_MANIFOLD] = Slot.INTAKE_MANIFOLD
    throttle_bore_mm: LengthMm
    """Opening under each throttle bore. [mm]"""
    plenum_volume_cm3: VolumeCm3
    """Volume above any section below the plenum. [cm³]"""
    gallery_volume_cm3: VolumeCm3 | None = None
    """Volume between a section below the plenum and the runner mouths. [cm³]"""
    sections: tuple[PathSection, ...] = ()
    """Narrow places in the order the air meets them."""
    runner_length_mm: LengthMm
    """From the runner mouth to the head's flange. [mm]"""
    runner_inlet_area_mm2: AreaMm2
    runner_outlet_area_mm2: AreaMm2
    runner_discharge_coefficient: Coefficient
    """Of the runner mouth, on the inlet area. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowPoint:
    """One reading of a port on the bench."""

    __pydantic_config__ = EDGE_CONFIG

    lift_mm: Annotated[float, STRICT, Gt(0), Le(40)]
    flow_cfm: FlowCfm


@dataclass(frozen=True, slots=True, kw_only=True)
class PortSpec:
    """One kind of port with its valve."""

    __pydantic_config__ = EDGE_CONFIG

    valve_mm: LengthMm
    """Valve head diameter. [mm]"""
    stem_mm: LengthMm
    port_volume_cm3: VolumeCm3
    """From flange to valve seat. [cm³]"""
    port_length_mm: LengthMm
    flow: Annotated[tuple[FlowPoint, ...], MinLen(3)]
    """Flow of one port by rising lift, at the head's bench depression."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderHeadsSpec:
    """A pair of heads (or the one head of an inline engine)."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.CYLINDER_HEADS] = Slot.CYLINDER_HEADS
    material: HeadMaterial
    chamber_cm3: VolumeCm3
    depression_inh2o: DepressionInH2O
    """Pressure drop at which both ports were flowed. [inH₂O]"""
    intake: PortSpec
    exhaust: PortSpec
    rocker_ratio: Annotated[float, STRICT, Ge(1), Le(2.5)]
    max_valve_lift_mm: LiftMm
    """Lift that springs, guides and retainers allow. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LobeSpec:
    """One lobe, as cam cards give it."""

    __pydantic_config__ = EDGE_CONFIG

    seat_duration_deg: Annotated[float, STRICT, Ge(120), Le(400)]
    """Crank angle above the seat checking height. [deg]"""
    seat_checking_height_mm: Annotated[float, STRICT, Gt(0), Le(1)]
    """Tappet lift at which the seat duration was taken. [mm]"""
    duration_at_1_27_mm_deg: Annotated[float, STRICT, Ge(100), Le(360)]
    """Crank angle above 1.27 mm (.050 in) of tappet lift. [deg]"""
    lobe_lift_mm: LiftMm
    """Tappet lift at the nose. [mm]"""
    lash_mm: Annotated[float, STRICT, Ge(0), Le(1)] = 0.0
    """Clearance at the valve; 0 with a hydraulic tappet. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CamshaftSpec:
    """Two lobes and where they stand to the crank and to each other."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.CAMSHAFT] = Slot.CAMSHAFT
    tappet: Tappet
    intake: LobeSpec
    exhaust: LobeSpec
    lobe_separation_deg: Annotated[float, STRICT, Ge(90), Le(130)]
    """Between the lobes' centrelines. [cam deg]"""
    intake_centreline_deg: Annotated[float, STRICT, Ge(85), Le(135)]
    """Intake nose after top dead centre, as installed. [crank deg]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExhaustManifoldSpec:
    """A manifold or a header: from the port to the collector."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.EXHAUST_MANIFOLD] = Slot.EXHAUST_MANIFOLD
    construction: ExhaustConstruction
    primary_length_mm: LengthMm
    """From the head's flange to the collector. [mm]"""
    primary_bore_mm: LengthMm
    discharge_coefficient: Coefficient
    """Of the primary's outlet, on its bore area. [-]"""
    cylinders_per_collector: Annotated[int, STRICT, Ge(1), Le(8)]
    collector_bore_mm: LengthMm
    collector_volume_cm3: VolumeCm3


@dataclass(frozen=True, slots=True, kw_only=True)
class ExhaustSystemSpec:
    """Everything after the collectors, all branches together."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.EXHAUST_SYSTEM] = Slot.EXHAUST_SYSTEM
    flow_cfm: FlowCfm
    """Steady flow of cold air through the whole system. [ft³/min]"""
    depression_inh2o: DepressionInH2O
    inlet_bore_mm: LengthMm
    catalyst_count: Annotated[int, STRICT, Ge(0), Le(8)] = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class InjectorsSpec:
    """A set, one for each cylinder."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.INJECTORS] = Slot.INJECTORS
    count: PositiveCount
    static_flow_lb_per_h: Annotated[float, STRICT, Gt(0), Le(500)]
    """Each, held open, at the rated pressure. [lb/h]"""
    rated_pressure_kpa: PressureKpa
    """Gauge, across the injector. [kPa]"""
    height_mm: LengthMm
    """Between the seals: what the rail's height has to suit. [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationSpec:
    """What the controller is told."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Literal[Slot.CALIBRATION] = Slot.CALIBRATION
    fuel: Fuel
    octane_aki_min: Annotated[float, STRICT, Ge(60), Le(130)]
    """(R+M)/2 that the timing asks for."""
    air_fuel_ratio: Annotated[float, STRICT, Ge(5), Le(30)]
    """By mass, at full load. [-]"""
    burn_centre_deg: Annotated[float, STRICT, Ge(0), Le(40)]
    """Crank angle after top dead centre by which half the charge has burned. [deg]"""
    rev_limit_rpm: SpeedRpm
    rail_pressure_kpa: PressureKpa
    """Gauge. [kPa]"""


PartSpec = Annotated[
    AirInletSpec
    | ThrottleBodySpec
    | IntakeManifoldSpec
    | CylinderHeadsSpec
    | CamshaftSpec
    | ExhaustManifoldSpec
    | ExhaustSystemSpec
    | InjectorsSpec
    | CalibrationSpec
    | SupplySpec,
    BY_SLOT,
]
"""One of the specs; the field `slot` says which."""
