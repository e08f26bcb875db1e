"""The demo catalogue in `seed_data/`: every line is sound, and the engines could exist.

Bands come from trade knowledge written down from memory unless a test says otherwise;
none of them was fitted to the data.
"""

import json
from collections.abc import Iterator
from datetime import date
from functools import cache
from itertools import pairwise
from math import pi, prod
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import TypeAdapter

from service.catalog.appearance import Trait
from service.catalog.devices import Device, DeviceEffect
from service.catalog.families import EngineFamily
from service.catalog.integrity import (
    CatalogIndex,
    family_problems,
    part_problems,
    rule_problems,
)
from service.catalog.interfaces import InterfaceKind
from service.catalog.parts import Part, PartStatus
from service.catalog.rules import RuleKind, RuleSeverity, ShopRule
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import (
    AirInletSpec,
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
    ExhaustConstruction,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
    InjectorsSpec,
    IntakeManifoldSpec,
    LobeSpec,
    PortSpec,
    SectionPlace,
    Tappet,
    ThrottleBodySpec,
    ThrottleDrive,
)
from service.compliance.documents import Document, DocumentStatus, DocumentType
from service.engine.bench import (
    bench_effective_area,
    curtain_discharge_coefficient,
    flow_at_depression,
)
from service.engine.cams import LobeShape, cam_events, lobe_lift_at, lobe_shape
from service.engine.flow import gas_density
from service.engine.geometry import clearance_volume, mean_piston_speed, swept_volume
from service.engine.power import induced_volume_flow
from service.engine.series import pressure_after_element
from service.engine.valves import mean_inlet_flow_coefficient
from service.fitup.changes import open_needs
from service.fitup.check import fit_findings
from service.fitup.openings import joints, step_severity
from service.fitup.subject import FitSubject
from service.units import (
    cfm_to_m3_per_s,
    cm3_to_m3,
    inh2o_to_pa,
    mm2_to_m2,
    mm_to_m,
    rpm_to_rad_per_s,
)

SEED = Path(__file__).parent.parent / "seed_data"
QUAY_BIG = "quay-7-6"
FAMILIES = (QUAY_BIG, "quay-5-3", "orrin-4-4")
FACTORY_MANIFOLD = "Q76-MANIFOLD-HERON"
MODIFIED_TWIN = "Q76-MANIFOLD-BITTERN"

OPEN_KIT = {
    Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-CURLEW",
    Slot.THROTTLE_BODY: "Q76-THROTTLE-LYCHGATE",
    Slot.CAMSHAFT: "Q76-CAM-BECKET",
    Slot.CYLINDER_HEADS: "Q76-HEADS-GRANITE",
    Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-STURGEON",
    Slot.EXHAUST_SYSTEM: "Q76-SYSTEM-LEAT",
    Slot.CALIBRATION: "Q76-CALIBRATION-NOON",
    Slot.INJECTORS: "Q76-INJECTORS-SHOWER",
    Slot.AIR_INLET: "Q76-INLET-TOPSAIL",
}
BOAT_KIT = {
    Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-EIDER",
    Slot.THROTTLE_BODY: "Q76-THROTTLE-LOCKGATE",
    Slot.CAMSHAFT: "Q76-CAM-HALYARD",
    Slot.CYLINDER_HEADS: "Q76-HEADS-SERPENTINE",
    Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-LAMPREY",
    Slot.EXHAUST_SYSTEM: "Q76-SYSTEM-OUTFALL",
    Slot.CALIBRATION: "Q76-CALIBRATION-EBB",
    Slot.INJECTORS: "Q76-INJECTORS-DRIZZLE",
    Slot.AIR_INLET: "Q76-INLET-STAYSAIL",
}
HEADER_KIT = {Slot.CAMSHAFT: "Q76-CAM-BOWLINE", Slot.EXHAUST_MANIFOLD: "Q76-EXHAUST-PIKE"}


FILES = {
    "engine_families": "engine-families",
    "parts_quay_7_6": "parts",
    "parts_quay_5_3": "parts",
    "parts_orrin_4_4": "parts",
    "shop_rules": "shop-rules",
    "documents": "documents",
}
PART_FILES = tuple(name for name, kind in FILES.items() if kind == "parts")


def lines(name: str) -> Iterator[dict[str, Any]]:
    for text in (SEED / f"{name}.jsonl").read_text("utf-8").splitlines():
        yield json.loads(text)


def values(name: str) -> list[str]:
    return [json.dumps(line["value"]) for line in lines(name)]


@cache
def families() -> dict[str, EngineFamily]:
    adapter = TypeAdapter(EngineFamily)
    found = [adapter.validate_json(value) for value in values("engine_families")]
    return {family.key: family for family in found}


@cache
def parts() -> dict[str, Part]:
    adapter = TypeAdapter(Part)
    found = [
        adapter.validate_json(json.dumps(with_cents(line["value"])))
        for name in PART_FILES
        for line in lines(name)
    ]
    return {part.sku: part for part in found}


@cache
def shop_rules() -> tuple[ShopRule, ...]:
    adapter = TypeAdapter(ShopRule)
    return tuple(adapter.validate_json(value) for value in values("shop_rules"))


@cache
def documents() -> dict[str, Document]:
    adapter = TypeAdapter(Document)
    found = [adapter.validate_json(value) for value in values("documents")]
    return {document.number: document for document in found}


def with_cents(value: dict[str, Any]) -> dict[str, Any]:
    price = value.pop("price")
    whole, cents = price["amount"].split(".")
    assert len(cents) == 2
    return {**value, "price_cents": int(whole) * 100 + int(cents), "currency": price["currency"]}


def of(family: str, slot: Slot) -> list[Part]:
    return [part for part in parts().values() if part.slot is slot and family in part.families]


def stock_kit(family: str, **changes: str) -> dict[Slot, str]:
    stock = dict(families()[family].stock_parts)
    return {**stock, **{Slot(slot): sku for slot, sku in changes.items()}}


def subject(family: str, kit: dict[Slot, str], use: UseClass = UseClass.ROAD) -> FitSubject:
    home = families()[family]
    chosen = {slot: parts()[sku] for slot, sku in kit.items()}
    calibration = chosen[Slot.CALIBRATION].spec
    assert isinstance(calibration, CalibrationSpec)
    return FitSubject(
        family=home,
        parts=chosen,
        bore_mm=home.bore_mm,
        stroke_mm=home.stroke_mm,
        compression_ratio=compression_ratio(home, kit[Slot.CYLINDER_HEADS]),
        octane_aki=calibration.octane_aki_min,
        rev_limit_rpm=min(calibration.rev_limit_rpm, home.rev_limit_rpm),
        model_year=home.first_model_year,
        use=use,
    )


def obstacles(family: str, kit: dict[Slot, str], use: UseClass = UseClass.ROAD) -> set[str]:
    """Return the codes of what blocks a kit, by the service's own fit checks."""
    findings = fit_findings(subject(family, kit, use), shop_rules(), {}, None)
    return {one.code for one in findings if one.severity is RuleSeverity.BLOCKS}


def compression_ratio(home: EngineFamily, sku: str) -> float:
    """Return the ratio with other heads on the stock gasket and pistons."""
    swept = swept_volume(mm_to_m(home.bore_mm), mm_to_m(home.stroke_mm))
    stock, other = parts()[home.stock_parts[Slot.CYLINDER_HEADS]].spec, parts()[sku].spec
    assert isinstance(stock, CylinderHeadsSpec)
    assert isinstance(other, CylinderHeadsSpec)
    change = cm3_to_m3(other.chamber_cm3 - stock.chamber_cm3)
    clearance = float(clearance_volume(swept, home.compression_ratio)) + change
    return 1.0 + float(swept) / clearance


# --- The lines as data -------------------------------------------------------------------


@pytest.mark.parametrize(("name", "kind"), FILES.items())
def test_every_line_of_a_file_says_the_kind_that_the_file_holds(name: str, kind: str) -> None:
    kinds = {line["kind"] for line in lines(name)}

    assert kinds == {kind}


def test_no_key_stands_twice() -> None:
    skus = [line["value"]["sku"] for name in PART_FILES for line in lines(name)]
    titles = [part.title for part in parts().values()]
    references = [part.maker_reference for part in parts().values()]
    rule_keys = [rule.key for rule in shop_rules()]
    numbers = [line["value"]["number"] for line in lines("documents")]

    for keys in (skus, titles, references, rule_keys, numbers):
        assert len(keys) == len(set(keys))


def test_the_catalogue_has_no_problem_of_integrity() -> None:
    index = CatalogIndex(stock_parts={}, parts={}).with_values(
        list(families().values()), list(parts().values())
    )

    problems = [
        *(problem for family in families().values() for problem in family_problems(family, index)),
        *(problem for part in parts().values() for problem in part_problems(part, index)),
        *(problem for rule in shop_rules() for problem in rule_problems(rule, index)),
    ]

    assert problems == []


def test_the_demo_holds_exactly_the_three_engines_of_its_scenario() -> None:
    assert set(families()) == set(FAMILIES)


@pytest.mark.parametrize(
    ("family", "cylinders", "bank_angle", "litres"),
    [(QUAY_BIG, 8, 90.0, 7.62), ("quay-5-3", 8, 90.0, 5.31), ("orrin-4-4", 6, 0.0, 4.38)],
)
def test_bore_stroke_and_cylinders_give_the_displacement_in_the_name(
    family: str, cylinders: int, bank_angle: float, litres: float
) -> None:
    """The displacements are those of the scenario, rounded to 10 cm³."""
    engine = families()[family]

    one = swept_volume(mm_to_m(engine.bore_mm), mm_to_m(engine.stroke_mm))

    assert engine.cylinders == cylinders
    assert engine.bank_angle_deg == bank_angle
    assert 1e3 * cylinders * one == pytest.approx(litres, abs=0.005)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_bottom_end_stays_below_the_piston_speed_of_shop_practice(family: str) -> None:
    """4000 to 4500 ft/min, 20.3 to 22.9 m/s, is the limit that shops name; no better source."""
    engine = families()[family]

    speed = mean_piston_speed(mm_to_m(engine.stroke_mm), rpm_to_rad_per_s(engine.rev_limit_rpm))

    assert 18.0 < speed < 22.9


@pytest.mark.parametrize("family", FAMILIES)
def test_the_block_is_tall_enough_for_rod_crank_and_piston(family: str) -> None:
    """The pin sits 25 to 50 mm below the crown in engines of this size: from memory."""
    engine = families()[family]

    left_for_piston = engine.deck_height_mm - engine.rod_length_mm - 0.5 * engine.stroke_mm

    assert 25.0 < left_for_piston < 50.0


@pytest.mark.parametrize("family", FAMILIES)
def test_every_slot_is_required_and_has_a_factory_part(family: str) -> None:
    engine = families()[family]

    factory = {part.slot: part.sku for part in parts().values() if part.factory_part}

    assert set(engine.required_slots) == set(Slot)
    assert set(engine.stock_parts) == set(Slot)
    assert all(parts()[sku].factory_part for sku in engine.stock_parts.values())
    assert len(factory) == len(Slot)


def test_the_large_engine_has_at_least_a_million_and_a_half_combinations() -> None:
    """The counts are those that the demo was ordered with."""
    least = {
        Slot.INTAKE_MANIFOLD: 9,
        Slot.THROTTLE_BODY: 6,
        Slot.CAMSHAFT: 12,
        Slot.CYLINDER_HEADS: 7,
        Slot.EXHAUST_MANIFOLD: 6,
        Slot.EXHAUST_SYSTEM: 5,
        Slot.CALIBRATION: 4,
        Slot.INJECTORS: 4,
        Slot.AIR_INLET: 3,
    }

    counts = {slot: len(of(QUAY_BIG, slot)) for slot in Slot}

    assert all(counts[slot] >= least[slot] for slot in Slot)
    assert prod(counts.values()) >= 1_500_000


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_a_choice_in_every_slot(family: str) -> None:
    assert all(len(of(family, slot)) >= 3 for slot in Slot)


# --- How the parts meet ------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
def test_the_factory_kit_leaves_no_need_open_and_no_step_between_its_openings(family: str) -> None:
    kit = subject(family, stock_kit(family))

    assert open_needs(kit.family, kit.parts) == ()
    assert [joint for joint in joints(kit.parts) if step_severity(joint) is not None] == []
    assert obstacles(family, stock_kit(family)) == set()


def test_the_outwardly_identical_manifold_takes_the_factory_part_s_place() -> None:
    assert obstacles(QUAY_BIG, stock_kit(QUAY_BIG, intake_manifold=MODIFIED_TWIN)) == set()


@pytest.mark.parametrize(
    ("kit", "use"),
    [(OPEN_KIT, UseClass.ROAD), (BOAT_KIT, UseClass.MARINE)],
    ids=["open", "boat"],
)
def test_a_kit_without_a_factory_part_goes_together(kit: dict[Slot, str], use: UseClass) -> None:
    assert set(kit) == set(Slot)
    assert not any(parts()[sku].factory_part for sku in kit.values())
    assert obstacles(QUAY_BIG, kit, use) == set()


@pytest.mark.parametrize(
    ("slot", "sku", "code"),
    [
        ("cylinder_heads", "Q76-HEADS-QUARTZ", "interface.intake_port"),
        ("cylinder_heads", "Q76-HEADS-OBSIDIAN", "interface.intake_flange"),
        ("cylinder_heads", "Q76-HEADS-GRANITE", "interface.exhaust_port"),
        ("throttle_body", "Q76-THROTTLE-LYCHGATE", "throttle.bore_step"),
        ("throttle_body", "Q76-THROTTLE-STABLE-DOOR", "interface.throttle_flange"),
        ("throttle_body", "Q76-THROTTLE-TURNPIKE", "interface.throttle_drive"),
        ("intake_manifold", "Q76-MANIFOLD-CURLEW", "intake_port.step"),
        ("intake_manifold", "Q76-MANIFOLD-AVOCET", "interface.egr_port"),
        ("intake_manifold", "Q76-MANIFOLD-FULMAR", "interface.sensor_bung"),
        ("intake_manifold", "Q76-MANIFOLD-KITTIWAKE", "interface.fuel_rail"),
        ("intake_manifold", "Q76-MANIFOLD-GANNET", "interface.vacuum_port"),
        ("exhaust_manifold", "Q76-EXHAUST-STURGEON", "collector.step"),
        ("exhaust_manifold", "Q76-EXHAUST-BARBEL", "interface.sensor_bung"),
        ("exhaust_manifold", "Q76-EXHAUST-LAMPREY", "interface.collector"),
        ("calibration", "Q76-CALIBRATION-VESPERS", "interface.controller"),
        ("injectors", "Q76-INJECTORS-SQUALL", "interface.fuel_rail"),
        ("injectors", "Q76-INJECTORS-DOWNPOUR", "interface.injector_connector"),
        ("air_inlet", "Q76-INLET-TOPSAIL", "interface.air_duct"),
        ("camshaft", "Q76-CAM-SPLICE", "valvetrain.valve_lift"),
        ("camshaft", "Q76-CAM-PRUSIK", "shop_rule.q76-solid-tappets-need-adjusters"),
        ("cylinder_heads", "Q76-HEADS-FLINT", "shop_rule.q76-regular-fuel-compression"),
    ],
)
def test_one_foreign_part_in_the_factory_kit_does_not_go(slot: str, sku: str, code: str) -> None:
    assert code in obstacles(QUAY_BIG, stock_kit(QUAY_BIG, **{slot: sku}))


def test_large_ports_behind_a_small_port_manifold_are_one_shape_in_two_sizes() -> None:
    kit = subject(QUAY_BIG, stock_kit(QUAY_BIG, cylinder_heads="Q76-HEADS-SLATE"))

    steps = {joint.code: step_severity(joint) for joint in joints(kit.parts)}

    assert open_needs(kit.family, kit.parts) == ()
    assert steps["intake_port.step"] is RuleSeverity.NOTES


@pytest.mark.parametrize("family", FAMILIES)
def test_every_part_but_the_few_for_other_cars_finds_a_partner_on_the_shelf(family: str) -> None:
    """Another controller, another plug, a motor or a cable where the car has the other."""
    home = families()[family]
    shelf = [part for part in parts().values() if family in part.families]
    offers = {(offer.kind, offer.code) for part in shelf for offer in part.provides}
    offers |= {(offer.kind, offer.code) for offer in home.provides}

    lonely = {
        part.sku
        for part in shelf
        if family == part.families[0]
        for need in part.needs
        if (need.kind, need.code) not in offers
    }

    assert lonely <= {
        "Q76-CALIBRATION-VESPERS",
        "Q76-INJECTORS-DOWNPOUR",
        "Q76-THROTTLE-TURNPIKE",
        "Q53-THROTTLE-KISSING-GATE",
    }


# --- The manifolds -----------------------------------------------------------------------


def manifold(sku: str) -> IntakeManifoldSpec:
    spec = parts()[sku].spec
    assert isinstance(spec, IntakeManifoldSpec)
    return spec


def test_the_factory_manifold_narrows_below_its_plenum() -> None:
    spec = manifold(FACTORY_MANIFOLD)

    assert [section.place for section in spec.sections] == [SectionPlace.BELOW_PLENUM]
    assert spec.gallery_volume_cm3 is not None


def test_the_throat_costs_six_to_eight_per_cent_where_the_large_engine_stops_gaining() -> None:
    """The order's band: 7.62 L at 4700 rev/min and a filling of 0.85, air at 25 degrees.

    One compressible orifice at the mean flow; standard atmosphere in the plenum.
    """
    engine, throat = families()[QUAY_BIG], manifold(FACTORY_MANIFOLD).sections[0]
    swept = engine.cylinders * swept_volume(mm_to_m(engine.bore_mm), mm_to_m(engine.stroke_mm))
    flow = induced_volume_flow(swept, rpm_to_rad_per_s(4700.0), 0.85)
    effective = mm2_to_m2(throat.area_mm2) * throat.discharge_coefficient

    behind = pressure_after_element(
        effective, 101_325.0, 298.15, flow * gas_density(101_325.0, 298.15)
    )

    assert 0.06 < 1.0 - behind / 101_325.0 < 0.08


def test_the_twin_is_the_factory_casting_without_the_throat() -> None:
    factory, twin = manifold(FACTORY_MANIFOLD), manifold(MODIFIED_TWIN)

    assert twin.sections == ()
    assert twin.gallery_volume_cm3 is None
    assert factory.gallery_volume_cm3 is not None
    assert twin.plenum_volume_cm3 >= factory.plenum_volume_cm3 + factory.gallery_volume_cm3
    assert twin.runner_length_mm == factory.runner_length_mm
    assert twin.runner_inlet_area_mm2 == factory.runner_inlet_area_mm2
    assert twin.throttle_bore_mm == factory.throttle_bore_mm


def test_the_twin_looks_like_the_factory_part_and_declares_its_change() -> None:
    twin = parts()[MODIFIED_TWIN]

    assert twin.exterior.assessed
    assert twin.exterior.differences == ()
    assert twin.exterior.internal_change is not None
    assert not twin.factory_part


def test_the_same_work_done_from_above_leaves_welds_to_be_seen() -> None:
    opened = parts()["Q76-MANIFOLD-WHIMBREL"].exterior

    assert Trait.VISIBLE_WELDS in {difference.trait for difference in opened.differences}


def test_the_manifolds_reach_from_short_to_long_runners_and_small_to_big_plenums() -> None:
    specs = [manifold(part.sku) for part in of(QUAY_BIG, Slot.INTAKE_MANIFOLD)]

    lengths = {round(spec.runner_length_mm) for spec in specs}

    assert {300, 400, 460} <= lengths
    assert min(spec.plenum_volume_cm3 for spec in specs) < 2000.0
    assert max(spec.plenum_volume_cm3 for spec in specs) > 6000.0


@pytest.mark.parametrize("family", FAMILIES)
def test_plenum_and_runner_volumes_are_of_the_size_of_the_engine(family: str) -> None:
    """Plenum 0.15 to 1.2 of the displacement, one runner 0.3 to 1.5 of a cylinder: from memory."""
    engine = families()[family]
    cylinder = 1e6 * swept_volume(mm_to_m(engine.bore_mm), mm_to_m(engine.stroke_mm))

    for part in of(family, Slot.INTAKE_MANIFOLD):
        spec = manifold(part.sku)
        mean_area = 0.5 * (spec.runner_inlet_area_mm2 + spec.runner_outlet_area_mm2)
        plenum = spec.plenum_volume_cm3 + (spec.gallery_volume_cm3 or 0.0)
        assert 0.15 < plenum / (engine.cylinders * cylinder) < 1.2, part.sku
        assert 0.3 < 1e-3 * mean_area * spec.runner_length_mm / cylinder < 1.5, part.sku


def test_a_runner_ends_in_the_opening_of_its_flange() -> None:
    """The opening less rounded corners; an oval has the least of its box, pi/4."""
    for part in parts().values():
        if not isinstance(part.spec, IntakeManifoldSpec):
            continue
        opening = next(need for need in part.needs if need.kind is InterfaceKind.INTAKE_PORT)
        assert opening.width_mm is not None
        box = opening.width_mm * (opening.height_mm or opening.width_mm)
        assert 0.78 < part.spec.runner_outlet_area_mm2 / box < 1.0, part.sku


# --- The heads ---------------------------------------------------------------------------


def heads(family: str) -> list[tuple[str, CylinderHeadsSpec]]:
    return [
        (part.sku, part.spec)
        for part in of(family, Slot.CYLINDER_HEADS)
        if isinstance(part.spec, CylinderHeadsSpec)
    ]


ALL_HEADS = [pytest.param(f, s, spec, id=s) for f in FAMILIES for s, spec in heads(f)]


def effective_areas(port: PortSpec, depression_inh2o: float) -> np.ndarray[Any, Any]:
    flows = np.array([point.flow_cfm for point in port.flow])
    return bench_effective_area(cfm_to_m3_per_s(flows), inh2o_to_pa(depression_inh2o))


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_port_flow_rises_with_lift_and_flattens(
    family: str, sku: str, spec: CylinderHeadsSpec
) -> None:
    for port in (spec.intake, spec.exhaust):
        points = [(0.0, 0.0), *((point.lift_mm, point.flow_cfm) for point in port.flow)]

        slopes = [(q2 - q1) / (l2 - l1) for (l1, q1), (l2, q2) in pairwise(points)]

        assert all(0.0 < after < before for before, after in pairwise(slopes)), (family, sku)


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_no_port_passes_more_than_its_curtain_can(
    family: str, sku: str, spec: CylinderHeadsSpec
) -> None:
    """Curtain coefficient .60 to .70 at low lift, about .5 at L/D .25, never .8.

    Heywood 1988, figure 6-18, from memory, with a scatter of .08; the .8 is arithmetic.
    """
    for port in (spec.intake, spec.exhaust):
        lifts = np.array([mm_to_m(point.lift_mm) for point in port.flow])
        areas = effective_areas(port, spec.depression_inh2o)

        coefficients = curtain_discharge_coefficient(areas, mm_to_m(port.valve_mm), lifts)

        share = lifts / mm_to_m(port.valve_mm)
        assert np.all(coefficients < 0.8), (family, sku)
        assert np.all(coefficients[share <= 0.15] > 0.52), sku
        assert np.all(coefficients[share <= 0.15] < 0.78), sku
        assert np.all(coefficients[(share > 0.22) & (share < 0.30)] > 0.38), sku


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_the_exhaust_port_passes_six_to_eight_and_a_half_tenths_of_the_intake(
    family: str, sku: str, spec: CylinderHeadsSpec
) -> None:
    """.65 to .80 is typical, .75 the target of head shops: from memory."""
    pairs = zip(spec.intake.flow, spec.exhaust.flow, strict=True)

    for intake, exhaust in pairs:
        assert intake.lift_mm == exhaust.lift_mm
        assert 0.60 <= exhaust.flow_cfm / intake.flow_cfm <= 0.85, (family, sku)


@pytest.mark.parametrize(
    ("sku", "low", "high"),
    [
        ("Q76-HEADS-BASALT", 210, 260),
        ("Q76-HEADS-GNEISS", 210, 260),
        ("Q76-HEADS-SERPENTINE", 210, 260),
        ("Q76-HEADS-SLATE", 270, 320),
    ],
)
def test_iron_heads_flow_what_iron_heads_of_large_v8s_flow(sku: str, low: int, high: int) -> None:
    """Peak intake flow at 28 inches of water by small and large ports: from memory."""
    spec = parts()[sku].spec
    assert isinstance(spec, CylinderHeadsSpec)

    assert spec.depression_inh2o == 28.0
    assert low <= max(point.flow_cfm for point in spec.intake.flow) <= high


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_both_valves_find_room_in_the_bore(family: str, sku: str, spec: CylinderHeadsSpec) -> None:
    """Side by side with a gap and an edge; 96 % is the most that canted valves use: from memory."""
    bore = families()[family].bore_mm

    assert spec.intake.valve_mm + spec.exhaust.valve_mm < 0.96 * bore, sku
    assert 0.46 < spec.intake.valve_mm / bore < 0.54
    assert 0.75 < spec.exhaust.valve_mm / spec.intake.valve_mm < 0.88


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_a_port_is_a_plausible_share_of_the_bore(
    family: str, sku: str, spec: CylinderHeadsSpec
) -> None:
    """44 to 48 % of the bore for production (a university lecture page); race ports go beyond."""
    area = 1e3 * spec.intake.port_volume_cm3 / spec.intake.port_length_mm

    share = (4.0 * area / pi) ** 0.5 / families()[family].bore_mm

    assert 0.43 < share < 0.55, sku
    if parts()[sku].factory_part:
        assert 0.44 <= share <= 0.48


@pytest.mark.parametrize("family", FAMILIES)
def test_chambers_keep_compression_within_what_pistons_and_pump_fuel_allow(family: str) -> None:
    """Flat-topped pump-fuel engines lie between 8.5 and 11: common practice, no source."""
    ratios = {sku: compression_ratio(families()[family], sku) for sku, _ in heads(family)}

    assert all(8.5 < ratio < 11.0 for ratio in ratios.values()), ratios


@pytest.mark.parametrize("family", FAMILIES)
def test_gasket_deck_and_piston_dish_fill_the_rest_of_the_stock_clearance(family: str) -> None:
    """About 1 mm of gasket and .4 mm of deck leave a dish of -5 to 20 cm³: common practice."""
    engine = families()[family]
    swept = swept_volume(mm_to_m(engine.bore_mm), mm_to_m(engine.stroke_mm))
    stock = parts()[engine.stock_parts[Slot.CYLINDER_HEADS]].spec
    assert isinstance(stock, CylinderHeadsSpec)
    bore_area = 0.25 * pi * mm_to_m(engine.bore_mm) ** 2

    rest = clearance_volume(swept, engine.compression_ratio) - cm3_to_m3(stock.chamber_cm3)
    dish = 1e6 * (rest - bore_area * 1.4e-3)

    assert -5.0 < dish < 20.0


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_HEADS)
def test_the_bench_went_as_far_as_the_springs_allow(
    family: str, sku: str, spec: CylinderHeadsSpec
) -> None:
    assert spec.intake.flow[-1].lift_mm >= spec.max_valve_lift_mm, (family, sku)
    assert spec.exhaust.flow[-1].lift_mm >= spec.max_valve_lift_mm


def test_the_open_kit_s_mean_intake_flow_coefficient_is_that_of_developed_engines() -> None:
    """.30 to .45 over the whole lift event, on the valve's area: from memory, after Taylor."""
    head, cam = (parts()[OPEN_KIT[s]].spec for s in (Slot.CYLINDER_HEADS, Slot.CAMSHAFT))
    assert isinstance(head, CylinderHeadsSpec)
    assert isinstance(cam, CamshaftSpec)
    half = 0.5 * cam.intake.seat_duration_deg
    angles = np.linspace(-half, half, 201)
    lifts = head.rocker_ratio * lobe_lift_at(angles, shape_of(cam.intake))
    bench = effective_areas(head.intake, head.depression_inh2o)
    bench_lifts = [0.0, *(mm_to_m(point.lift_mm) for point in head.intake.flow)]

    mean = mean_inlet_flow_coefficient(
        angles,
        np.interp(lifts, bench_lifts, [0.0, *bench]),
        0.25 * pi * mm_to_m(head.intake.valve_mm) ** 2,
    )

    assert 0.30 < mean < 0.45


# --- The camshafts -----------------------------------------------------------------------


def shape_of(lobe: LobeSpec) -> LobeShape:
    return lobe_shape(
        seat_duration=lobe.seat_duration_deg,
        seat_checking_height=mm_to_m(lobe.seat_checking_height_mm),
        duration_at_1_27_mm=lobe.duration_at_1_27_mm_deg,
        lobe_lift=mm_to_m(lobe.lobe_lift_mm),
    )


def camshafts(family: str) -> list[tuple[str, CamshaftSpec]]:
    return [
        (part.sku, part.spec)
        for part in of(family, Slot.CAMSHAFT)
        if isinstance(part.spec, CamshaftSpec)
    ]


ALL_CAMS = [pytest.param(f, s, spec, id=s) for f in FAMILIES for s, spec in camshafts(f)]

RAMPS = {
    Tappet.HYDRAULIC_FLAT: (44.0, 52.0),
    Tappet.HYDRAULIC_ROLLER: (48.0, 58.0),
    Tappet.SOLID_FLAT: (30.0, 42.0),
    Tappet.SOLID_ROLLER: (30.0, 42.0),
}
"""Seat duration less that at 1.27 mm, by tappet: typical of cam cards, from memory. [deg]"""


def overlap(spec: CamshaftSpec) -> float:
    events = cam_events(
        spec.intake.seat_duration_deg,
        spec.exhaust.seat_duration_deg,
        spec.lobe_separation_deg,
        spec.intake_centreline_deg,
        checking_height=mm_to_m(spec.intake.seat_checking_height_mm),
    )
    return float(events.overlap)


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_CAMS)
def test_the_two_durations_of_a_lobe_belong_to_its_tappet(
    family: str, sku: str, spec: CamshaftSpec
) -> None:
    low, high = RAMPS[spec.tappet]

    for lobe in (spec.intake, spec.exhaust):
        ramp = lobe.seat_duration_deg - lobe.duration_at_1_27_mm_deg
        assert low <= ramp <= high, (family, sku)


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_CAMS)
def test_a_lobe_can_be_drawn_through_its_two_durations_and_its_lift(
    family: str, sku: str, spec: CamshaftSpec
) -> None:
    for lobe in (spec.intake, spec.exhaust):
        half = 0.5 * lobe.duration_at_1_27_mm_deg

        lift = lobe_lift_at(half, shape_of(lobe))

        assert 1e3 * lift == pytest.approx(1.27, abs=1e-6), (family, sku)


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_CAMS)
def test_every_lobe_lifts_the_valve_ten_to_seventeen_millimetres(
    family: str, sku: str, spec: CamshaftSpec
) -> None:
    """From mild to race, common practice, no source."""
    ratio = heads(family)[0][1].rocker_ratio

    assert 10.0 <= ratio * spec.intake.lobe_lift_mm <= 17.0, sku
    assert 10.0 <= ratio * spec.exhaust.lobe_lift_mm <= 17.0, sku


@pytest.mark.parametrize(("family", "sku", "spec"), ALL_CAMS)
def test_only_solid_tappets_run_with_lash(family: str, sku: str, spec: CamshaftSpec) -> None:
    solid = spec.tappet in {Tappet.SOLID_FLAT, Tappet.SOLID_ROLLER}

    assert (spec.intake.lash_mm > 0.0) is solid, (family, sku)
    assert (spec.exhaust.lash_mm > 0.0) is solid


def test_the_camshafts_of_the_large_engine_reach_from_mild_to_race() -> None:
    """Overlaps of cam-card arithmetic: 270/280 on 112 gives 51, 310/310 on 110 gives 90 degrees."""
    specs = [spec for _, spec in camshafts(QUAY_BIG)]

    assert min(spec.intake.seat_duration_deg for spec in specs) <= 262.0
    assert max(spec.intake.seat_duration_deg for spec in specs) >= 310.0
    assert min(overlap(spec) for spec in specs) < 51.0
    assert max(overlap(spec) for spec in specs) > 90.0


def test_boat_camshafts_overlap_less_than_the_wet_exhaust_bears() -> None:
    limit = next(
        rule.at_most for rule in shop_rules() if rule.key == "q76-wet-exhaust-limits-overlap"
    )
    assert limit is not None

    for sku in ("Q76-CAM-HALYARD", "Q76-CAM-MOORING"):
        spec = parts()[sku].spec
        assert isinstance(spec, CamshaftSpec)
        assert overlap(spec) < limit


# --- Throttles, inlets, exhaust, fuel, controller ----------------------------------------


def test_throttles_have_the_shaft_and_the_coefficient_of_a_good_butterfly() -> None:
    """Shaft .10 to .15 of the bore; .85 to .95 wide open with a bell mouth: from memory."""
    specs = [part.spec for part in parts().values() if isinstance(part.spec, ThrottleBodySpec)]

    assert all(0.10 <= spec.shaft_mm / spec.bore_mm <= 0.15 for spec in specs)
    assert all(0.85 <= spec.discharge_coefficient <= 0.95 for spec in specs)


def test_single_throttles_of_the_large_engine_are_75_to_105_mm_wide() -> None:
    """The order's band."""
    bores = [
        part.spec.bore_mm
        for part in of(QUAY_BIG, Slot.THROTTLE_BODY)
        if isinstance(part.spec, ThrottleBodySpec) and part.spec.bore_count == 1
    ]

    assert min(bores) >= 75.0
    assert max(bores) <= 105.0


def test_a_throttle_s_joint_is_as_wide_as_its_bore_and_says_its_drive() -> None:
    for part in parts().values():
        if not isinstance(part.spec, ThrottleBodySpec):
            continue
        needs = {need.kind: need for need in part.needs}
        assert needs[InterfaceKind.THROTTLE_FLANGE].width_mm == part.spec.bore_mm
        assert needs[InterfaceKind.THROTTLE_DRIVE].code == ThrottleDrive(part.spec.drive).value


def test_air_inlets_flow_what_filters_in_boxes_flow() -> None:
    """500 to 1200 ft³/min at the depression stated: the order's band."""
    for part in parts().values():
        if isinstance(part.spec, AirInletSpec):
            assert 500.0 <= part.spec.flow_cfm <= 1200.0, part.sku
            assert part.spec.outlet_bore_mm == part.needs[0].width_mm


def test_no_air_inlet_passes_more_than_its_own_outlet() -> None:
    """Ideal nozzle of the outlet's bore: a flow above it cannot be."""
    for part in parts().values():
        if isinstance(part.spec, AirInletSpec):
            area = bench_effective_area(
                cfm_to_m3_per_s(part.spec.flow_cfm), inh2o_to_pa(part.spec.depression_inh2o)
            )
            assert area < 0.25 * pi * mm_to_m(part.spec.outlet_bore_mm) ** 2, part.sku


def test_exhaust_primaries_are_41_to_54_mm_wide_and_open_into_a_wider_collector() -> None:
    """The order's band."""
    for part in parts().values():
        if isinstance(part.spec, ExhaustManifoldSpec):
            assert 41.0 <= part.spec.primary_bore_mm <= 54.0, part.sku
            assert part.spec.collector_bore_mm > part.spec.primary_bore_mm
            assert part.provides[0].width_mm == part.spec.collector_bore_mm


def test_exhaust_systems_of_the_large_engine_reach_from_two_catalysts_to_open_pipes() -> None:
    """550 to 650 ft³/min stock and 1500 open, at 28 inches of water: the order's bands."""
    specs = [
        part.spec
        for part in of(QUAY_BIG, Slot.EXHAUST_SYSTEM)
        if isinstance(part.spec, ExhaustSystemSpec)
    ]
    at_28 = [
        float(flow_at_depression(spec.flow_cfm, spec.depression_inh2o, 28.0)) for spec in specs
    ]

    assert specs[0].catalyst_count == 2
    assert 550.0 <= at_28[0] <= 650.0
    assert max(at_28) >= 1500.0


def test_injectors_are_one_for_each_cylinder_and_of_a_usual_size() -> None:
    """24 to 60 lb/h at 300 to 400 kPa: the order's band."""
    for part in parts().values():
        if not isinstance(part.spec, InjectorsSpec):
            continue
        assert {families()[key].cylinders for key in part.families} == {part.spec.count}
        assert 24.0 <= part.spec.static_flow_lb_per_h <= 60.0
        assert 300.0 <= part.spec.rated_pressure_kpa <= 400.0
        rail = next(need for need in part.needs if need.kind is InterfaceKind.FUEL_RAIL)
        assert rail.height_mm == part.spec.height_mm


@pytest.mark.parametrize("family", FAMILIES)
def test_calibrations_burn_later_on_poorer_fuel(family: str) -> None:
    """8 to 10 degrees is the best centre (Heywood 1988, section 9.3, from memory)."""
    specs = sorted(
        (
            part.spec
            for part in of(family, Slot.CALIBRATION)
            if isinstance(part.spec, CalibrationSpec)
        ),
        key=lambda spec: spec.octane_aki_min,
    )

    centres = [spec.burn_centre_deg for spec in specs]

    assert all(later >= earlier for later, earlier in pairwise(centres))
    assert all(8.0 <= centre <= 10.0 for centre in centres)


def test_calibrations_are_rich_of_stoichiometric_and_within_pump_and_race_fuel() -> None:
    """12.5 to 13.2 at full load, 87 to 98 AKI, 5200 to 7200 rev/min: the order's bands."""
    for part in parts().values():
        if isinstance(part.spec, CalibrationSpec):
            assert 12.5 <= part.spec.air_fuel_ratio <= 13.2, part.sku
            assert 87.0 <= part.spec.octane_aki_min <= 98.0
            assert 5200.0 <= part.spec.rev_limit_rpm <= 7200.0


# --- Devices, looks, papers, rules -------------------------------------------------------


def test_a_factory_part_looks_as_it_does_and_keeps_every_device_of_its_family() -> None:
    for part in parts().values():
        if not part.factory_part:
            continue
        fitted = {fitting.device for fitting in families()[part.families[0]].devices_fitted}
        assert part.exterior.assessed
        assert part.exterior.differences == ()
        assert {change.device for change in part.device_changes} == fitted, part.sku
        assert {change.effect for change in part.device_changes} == {DeviceEffect.KEEPS}


def test_a_part_says_one_thing_of_each_device() -> None:
    for part in parts().values():
        devices = [change.device for change in part.device_changes]
        assert len(devices) == len(set(devices)), part.sku


def test_devices_are_fitted_within_the_years_of_their_family_on_a_named_demo_source() -> None:
    for family in families().values():
        for fitting in family.devices_fitted:
            assert family.first_model_year <= fitting.first_model_year, fitting
            assert fitting.first_model_year <= fitting.last_model_year <= family.last_model_year
            assert fitting.source.startswith("demo:")


def test_a_manifold_without_an_egr_pad_says_that_the_valve_has_no_connection() -> None:
    for part in parts().values():
        if part.slot is not Slot.INTAKE_MANIFOLD:
            continue
        has_pad = any(offer.kind is InterfaceKind.EGR_PORT for offer in part.provides)
        egr = {change.effect for change in part.device_changes if change.device is Device.EGR}
        assert egr == {DeviceEffect.KEEPS if has_pad else DeviceEffect.NO_CONNECTION}, part.sku


def test_a_system_without_a_catalyst_says_that_it_removes_it() -> None:
    for part in parts().values():
        if not isinstance(part.spec, ExhaustSystemSpec):
            continue
        twc = {change.effect for change in part.device_changes if change.device is Device.TWC}
        assert (twc == {DeviceEffect.REMOVES}) is (part.spec.catalyst_count == 0), part.sku


def test_water_jacketed_manifolds_are_for_families_that_go_to_sea() -> None:
    for part in parts().values():
        if not isinstance(part.spec, ExhaustManifoldSpec):
            continue
        if part.spec.construction is ExhaustConstruction.WATER_JACKETED:
            uses = [families()[key].use_classes for key in part.families]
            assert all(UseClass.MARINE in use for use in uses)


def test_every_paper_says_that_it_is_invented() -> None:
    for document in documents().values():
        assert document.number.startswith("DEMO-")
        assert document.issuer == "Demo issuer"
        assert document.conditions[0].startswith("Demo paper: invented")
        assert document.issued_on < (document.checked_on or date.max)


def test_papers_and_parts_point_at_each_other() -> None:
    by_reference = {part.maker_reference: part for part in parts().values()}
    named = {
        (document.number, by_reference[reference].sku)
        for document in documents().values()
        for line in document.scope
        for reference in line.part_references
    }

    claimed = {(number, part.sku) for part in parts().values() for number in part.documents}

    assert named == claimed


def test_scope_lines_stay_within_the_years_and_uses_of_their_family() -> None:
    for document in documents().values():
        for line in document.scope:
            family = families()[line.family]
            assert family.first_model_year <= line.first_model_year <= line.last_model_year
            assert line.last_model_year <= family.last_model_year
            assert line.use in family.use_classes, document.number


def test_one_order_in_force_names_exactly_the_camshaft_and_header_kit() -> None:
    order = documents()["DEMO-EX-0101"]
    kit = stock_kit(QUAY_BIG) | HEADER_KIT

    (line,) = order.scope

    assert order.status is DocumentStatus.IN_FORCE
    assert set(line.part_references) == {
        parts()[sku].maker_reference for sku in HEADER_KIT.values()
    }
    assert {parts()[sku].revision for sku in HEADER_KIT.values()} == set(line.revisions)
    assert obstacles(QUAY_BIG, kit) == set()


def test_one_order_is_for_an_earlier_revision_than_the_part_now_sold() -> None:
    (line,) = documents()["DEMO-EX-0103"].scope

    assert parts()["Q76-EXHAUST-GRAYLING"].revision not in line.revisions


def test_there_is_a_paper_of_every_kind_that_the_desk_has_to_tell_apart() -> None:
    types = {document.type for document in documents().values()}
    statuses = {document.status for document in documents().values()}

    assert {
        DocumentType.EXEMPTION_ORDER,
        DocumentType.IDENTITY_EVIDENCE,
        DocumentType.SAFETY_EVIDENCE,
        DocumentType.CERTIFICATION,
        DocumentType.TEST_REPORT,
    } <= types
    assert statuses == set(DocumentStatus)


def test_a_superseded_paper_names_the_one_that_follows() -> None:
    for document in documents().values():
        superseded = document.status is DocumentStatus.SUPERSEDED
        assert superseded is (document.superseded_by in documents())


def test_the_shop_has_rules_of_every_kind_each_with_reason_and_remedy() -> None:
    kinds = {rule.kind for rule in shop_rules()}

    assert kinds == set(RuleKind)
    assert len(shop_rules()) >= 12
    assert all(rule.reason and rule.remedy for rule in shop_rules())


def test_prices_weights_and_lead_times_are_those_of_goods() -> None:
    """A calibration weighs nothing and the factory's costs nothing; everything else does."""
    for part in parts().values():
        if part.slot is Slot.CALIBRATION:
            continue
        assert part.currency == "USD"
        assert 10_000 <= part.price_cents <= 500_000, part.sku
        assert 300 <= part.weight_g <= 80_000
        assert part.lead_time_days <= 70


def test_a_part_that_is_out_of_stock_and_current_has_a_lead_time() -> None:
    for part in parts().values():
        if part.status is PartStatus.CURRENT and part.stock_count == 0:
            assert part.lead_time_days > 0, part.sku
