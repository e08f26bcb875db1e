"""Builders of catalogue values: a plausible truck V8, its factory parts, a rule, a paper.

The engine is the demo family Quay 7.6 (90-degree V8, 108 x 104 mm). Every other number
is of the size that is common for such an engine (common practice, no source): port flow
is curtain area times the speed of air at 28 inH2O (about 110 m/s) times a discharge
coefficient that falls from 0.68 to 0.4 with lift.
"""

from dataclasses import replace
from datetime import date
from typing import Any

from service.catalog.appearance import Exterior
from service.catalog.devices import Device, DeviceFitting
from service.catalog.families import EngineFamily
from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part
from service.catalog.rules import RuleKind, RuleSeverity, Selector, ShopRule
from service.catalog.slots import KIT_SLOTS, Fuel, Slot, UseClass
from service.catalog.specs import (
    AirInletSpec,
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
    ExhaustConstruction,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    FlowPoint,
    HeadMaterial,
    InjectorsSpec,
    IntakeManifoldSpec,
    LobeSpec,
    PartSpec,
    PathSection,
    PortSpec,
    SectionPlace,
    Tappet,
    ThrottleBodySpec,
    ThrottleDrive,
)
from service.compliance.documents import Document, DocumentStatus, DocumentType, ScopeLine

FAMILY_KEY = "quay-7-6"

LIFTS_MM = (2.5, 5.0, 7.5, 10.0, 12.5, 15.0)
INTAKE_FLOW_CFM = (64.0, 125.0, 172.0, 207.0, 224.0, 230.0)
EXHAUST_FLOW_CFM = (54.0, 99.0, 134.0, 155.0, 165.0, 170.0)


def _flow(readings_cfm: tuple[float, ...]) -> tuple[FlowPoint, ...]:
    return tuple(
        FlowPoint(lift_mm=lift, flow_cfm=flow)
        for lift, flow in zip(LIFTS_MM, readings_cfm, strict=True)
    )


def _lobe(seat_deg: float, at_1_27_mm_deg: float, lift_mm: float) -> LobeSpec:
    return LobeSpec(
        seat_duration_deg=seat_deg,
        seat_checking_height_mm=0.15,
        duration_at_1_27_mm_deg=at_1_27_mm_deg,
        lobe_lift_mm=lift_mm,
    )


SPECS: dict[Slot, PartSpec] = {
    Slot.AIR_INLET: AirInletSpec(flow_cfm=900.0, depression_inh2o=28.0, outlet_bore_mm=90.0),
    Slot.THROTTLE_BODY: ThrottleBodySpec(
        bore_count=1,
        bore_mm=80.0,
        shaft_mm=10.0,
        closed_angle_deg=5.0,
        discharge_coefficient=0.9,
        drive=ThrottleDrive.CABLE,
    ),
    Slot.INTAKE_MANIFOLD: IntakeManifoldSpec(
        throttle_bore_mm=80.0,
        plenum_volume_cm3=3500.0,
        sections=(
            PathSection(
                name="throat under the throttle",
                place=SectionPlace.ABOVE_PLENUM,
                area_mm2=4300.0,
                discharge_coefficient=0.85,
            ),
        ),
        runner_length_mm=330.0,
        runner_inlet_area_mm2=1700.0,
        runner_outlet_area_mm2=1650.0,
        runner_discharge_coefficient=0.95,
    ),
    Slot.CYLINDER_HEADS: CylinderHeadsSpec(
        material=HeadMaterial.IRON,
        chamber_cm3=95.0,
        depression_inh2o=28.0,
        intake=PortSpec(
            valve_mm=54.0,
            stem_mm=8.7,
            port_volume_cm3=210.0,
            port_length_mm=130.0,
            flow=_flow(INTAKE_FLOW_CFM),
        ),
        exhaust=PortSpec(
            valve_mm=43.7,
            stem_mm=8.7,
            port_volume_cm3=85.0,
            port_length_mm=75.0,
            flow=_flow(EXHAUST_FLOW_CFM),
        ),
        rocker_ratio=1.7,
        max_valve_lift_mm=14.0,
    ),
    Slot.CAMSHAFT: CamshaftSpec(
        tappet=Tappet.HYDRAULIC_ROLLER,
        intake=_lobe(268.0, 204.0, 7.4),
        exhaust=_lobe(276.0, 212.0, 7.6),
        lobe_separation_deg=114.0,
        intake_centreline_deg=110.0,
    ),
    Slot.EXHAUST_MANIFOLD: ExhaustManifoldSpec(
        construction=ExhaustConstruction.CAST_LOG,
        primary_length_mm=180.0,
        primary_bore_mm=41.0,
        discharge_coefficient=0.8,
        cylinders_per_collector=4,
        collector_bore_mm=60.0,
        collector_volume_cm3=900.0,
    ),
    Slot.EXHAUST_SYSTEM: ExhaustSystemSpec(
        flow_cfm=700.0, depression_inh2o=28.0, inlet_bore_mm=60.0, catalyst_count=2
    ),
    Slot.INJECTORS: InjectorsSpec(
        count=8, static_flow_lb_per_h=28.0, rated_pressure_kpa=300.0, height_mm=64.0
    ),
    Slot.CALIBRATION: CalibrationSpec(
        fuel=Fuel.GASOLINE,
        octane_aki_min=87.0,
        air_fuel_ratio=12.6,
        burn_centre_deg=10.0,
        rev_limit_rpm=5200.0,
        rail_pressure_kpa=300.0,
    ),
}

_INTAKE_FLANGE = Interface(kind=InterfaceKind.INTAKE_FLANGE, code="quay-wide")
_INTAKE_PORT = Interface(
    kind=InterfaceKind.INTAKE_PORT, code="quay-oval", width_mm=34.0, height_mm=55.0
)
_EXHAUST_FLANGE = Interface(kind=InterfaceKind.EXHAUST_FLANGE, code="quay-exhaust")
_EXHAUST_PORT = Interface(
    kind=InterfaceKind.EXHAUST_PORT, code="quay-round", width_mm=41.0, height_mm=41.0
)
_THROTTLE_FLANGE = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="quay-single", width_mm=80.0)
_COLLECTOR = Interface(kind=InterfaceKind.COLLECTOR, code="quay-ball", width_mm=60.0)
_AIR_DUCT = Interface(kind=InterfaceKind.AIR_DUCT, code="quay-duct", width_mm=90.0)
_INJECTOR_SEAT = Interface(kind=InterfaceKind.INJECTOR_SEAT, code="quay-seat", width_mm=14.0)
_FUEL_RAIL = Interface(kind=InterfaceKind.FUEL_RAIL, code="quay-rail")
_EGR_PORT = Interface(kind=InterfaceKind.EGR_PORT, code="quay-egr")
_HEAD_DECK = Interface(kind=InterfaceKind.HEAD_DECK, code="quay-deck")
_CAM_BEARING = Interface(kind=InterfaceKind.CAM_BEARING, code="quay-tunnel")
_DRIVE = Interface(kind=InterfaceKind.THROTTLE_DRIVE, code="cable")
_CONNECTOR = Interface(kind=InterfaceKind.INJECTOR_CONNECTOR, code="two-pin")
_CONTROLLER = Interface(kind=InterfaceKind.CONTROLLER, code="quay-box-1")
_SENSOR_BUNG = Interface(kind=InterfaceKind.SENSOR_BUNG, code="m18")

PROVIDES: dict[Slot, tuple[Interface, ...]] = {
    Slot.THROTTLE_BODY: (_AIR_DUCT,),
    Slot.INTAKE_MANIFOLD: (_THROTTLE_FLANGE, _INJECTOR_SEAT, _FUEL_RAIL, _EGR_PORT),
    Slot.CYLINDER_HEADS: (_INTAKE_FLANGE, _INTAKE_PORT, _EXHAUST_FLANGE, _EXHAUST_PORT),
    Slot.EXHAUST_MANIFOLD: (_COLLECTOR,),
    Slot.EXHAUST_SYSTEM: (_SENSOR_BUNG,),
}
NEEDS: dict[Slot, tuple[Interface, ...]] = {
    Slot.AIR_INLET: (_AIR_DUCT,),
    Slot.THROTTLE_BODY: (_THROTTLE_FLANGE, _DRIVE),
    Slot.INTAKE_MANIFOLD: (_INTAKE_FLANGE, _INTAKE_PORT),
    Slot.CYLINDER_HEADS: (_HEAD_DECK,),
    Slot.CAMSHAFT: (_CAM_BEARING,),
    Slot.EXHAUST_MANIFOLD: (_EXHAUST_FLANGE, _EXHAUST_PORT),
    Slot.EXHAUST_SYSTEM: (_COLLECTOR,),
    Slot.INJECTORS: (_INJECTOR_SEAT, _FUEL_RAIL, _CONNECTOR),
    Slot.CALIBRATION: (_CONTROLLER,),
}

PRICES_CENTS: dict[Slot, int] = {
    Slot.AIR_INLET: 14_900,
    Slot.THROTTLE_BODY: 32_500,
    Slot.INTAKE_MANIFOLD: 61_250,
    Slot.CYLINDER_HEADS: 148_000,
    Slot.CAMSHAFT: 38_999,
    Slot.EXHAUST_MANIFOLD: 42_000,
    Slot.EXHAUST_SYSTEM: 97_500,
    Slot.INJECTORS: 46_000,
    Slot.CALIBRATION: 25_000,
}


def stock_sku(slot: Slot) -> str:
    """SKU of the factory part that `make_part(slot)` builds."""
    return f"QUAY-{slot.value.replace('_', '-').upper()}"


def make_part(slot: Slot = Slot.INTAKE_MANIFOLD, **changes: Any) -> Part:  # noqa: ANN401 - any field of a part.
    """The factory part of this slot; `changes` replace fields of `Part`."""
    part = Part(
        sku=stock_sku(slot),
        title=f"Factory {slot.value.replace('_', ' ')}",
        maker_reference=f"REF-{stock_sku(slot)}",
        families=(FAMILY_KEY,),
        spec=SPECS[slot],
        provides=PROVIDES.get(slot, ()),
        needs=NEEDS.get(slot, ()),
        exterior=Exterior(assessed=True),
        factory_part=True,
        price_cents=PRICES_CENTS[slot],
        stock_count=3,
        lead_time_days=10,
        weight_g=4000,
    )
    return replace(part, **changes)


def make_kit_parts() -> dict[Slot, Part]:
    """The factory part of every slot: they fit each other and the family."""
    return {slot: make_part(slot) for slot in KIT_SLOTS}


def make_family(**changes: Any) -> EngineFamily:  # noqa: ANN401 - any field of a family.
    """Quay 7.6 with all its factory parts; `changes` replace fields of `EngineFamily`."""
    family = EngineFamily(
        key=FAMILY_KEY,
        title="Quay 7.6",
        fuel=Fuel.GASOLINE,
        cylinders=8,
        bank_angle_deg=90.0,
        bore_mm=108.0,
        stroke_mm=104.0,
        rod_length_mm=165.0,
        compression_ratio=9.2,
        intake_valves_per_cylinder=1,
        exhaust_valves_per_cylinder=1,
        intake_face_angle_deg=10.0,
        deck_height_mm=258.0,
        rev_limit_rpm=5500.0,
        first_model_year=1996,
        last_model_year=2004,
        use_classes=(UseClass.ROAD, UseClass.MARINE),
        required_slots=tuple(KIT_SLOTS),
        stock_parts={slot: stock_sku(slot) for slot in KIT_SLOTS},
        provides=(_HEAD_DECK, _CAM_BEARING, _DRIVE, _CONNECTOR, _CONTROLLER),
        needs=(_EGR_PORT, _SENSOR_BUNG),
        devices_fitted=tuple(
            DeviceFitting(
                device=device,
                first_model_year=1996,
                last_model_year=2004,
                source="Label on the demo engine",
            )
            for device in (Device.PCV, Device.EGR, Device.TWC, Device.HO2S)
        ),
        exterior_description="Cast plenum in bare aluminium, black iron logs.",
    )
    return replace(family, **changes)


def make_rule(**changes: Any) -> ShopRule:  # noqa: ANN401 - any field of a rule.
    """A rule that warns beside the factory camshaft; `changes` replace fields."""
    rule = ShopRule(
        key="cam-wants-calibration",
        families=(FAMILY_KEY,),
        kind=RuleKind.NEEDS,
        severity=RuleSeverity.WARNS,
        when=Selector(skus=(stock_sku(Slot.CAMSHAFT),)),
        other=Selector(slot=Slot.CALIBRATION),
        reason="The idle wanders on a calibration made for another camshaft.",
        remedy="Add the calibration that was made with it.",
    )
    return replace(rule, **changes)


def make_document(**changes: Any) -> Document:  # noqa: ANN401 - any field of a document.
    """A demo paper about the factory intake manifold; `changes` replace fields."""
    document = Document(
        number="DEMO-EO-17",
        type=DocumentType.EXEMPTION_ORDER,
        issuer="Demo authority",
        issued_on=date(2019, 5, 2),
        scope=(
            ScopeLine(
                part_references=(f"REF-{stock_sku(Slot.INTAKE_MANIFOLD)}",),
                revisions=("A",),
                family=FAMILY_KEY,
                first_model_year=1996,
                last_model_year=2004,
                use=UseClass.ROAD,
                jurisdictions=("demo-state",),
            ),
        ),
        conditions=("The factory label stays in place.",),
        conditions_met=True,
        status=DocumentStatus.IN_FORCE,
        checked_on=date(2026, 11, 2),
        checked_by="Demo clerk",
    )
    return replace(document, **changes)
