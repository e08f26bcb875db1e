"""The demo catalogue as data: every line is sound, and the kits of its story go together."""

from datetime import date
from math import prod

import pytest

from service.catalog.devices import Device, DeviceEffect
from service.catalog.integrity import (
    CatalogIndex,
    family_problems,
    part_problems,
    rule_problems,
)
from service.catalog.interfaces import InterfaceKind
from service.catalog.parts import PartStatus
from service.catalog.rules import RuleKind, RuleSeverity
from service.catalog.slots import KIT_SLOTS, SUPPLY_SLOTS, Slot, UseClass
from service.catalog.specs import (
    ExhaustConstruction,
    ExhaustManifoldSpec,
    ExhaustSystemSpec,
)
from service.compliance.documents import DocumentStatus, DocumentType, document_problems
from service.engine.geometry import mean_piston_speed, swept_volume
from service.fitup.changes import open_needs
from service.fitup.openings import joints, step_severity
from service.units import (
    mm_to_m,
    rpm_to_rad_per_s,
)
from tests.seed import (
    BOAT_KIT,
    FAMILIES,
    FILES,
    HEADER_KIT,
    MODIFIED_TWIN,
    OPEN_KIT,
    PART_FILES,
    QUAY_BIG,
    STOCK_LOOK_KIT,
    documents,
    families,
    findings_above_notes,
    lines,
    obstacles,
    of,
    parts,
    shop_rules,
    stock_kit,
    subject,
)

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
        *(
            problem
            for paper in documents().values()
            for problem in document_problems(paper, date(2026, 11, 26))
        ),
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

    assert set(engine.required_slots) == set(KIT_SLOTS)
    assert set(engine.stock_parts) == set(KIT_SLOTS)
    assert all(parts()[sku].factory_part for sku in engine.stock_parts.values())
    assert len(factory) == len(KIT_SLOTS)


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

    counts = {slot: len(of(QUAY_BIG, slot)) for slot in KIT_SLOTS}

    assert all(counts[slot] >= least[slot] for slot in KIT_SLOTS)
    assert prod(counts.values()) >= 1_500_000


@pytest.mark.parametrize("family", FAMILIES)
def test_there_is_a_choice_in_every_slot(family: str) -> None:
    assert all(len(of(family, slot)) >= 3 for slot in KIT_SLOTS)


# --- How the parts meet ------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
def test_the_factory_kit_leaves_no_need_open_and_no_step_between_its_openings(family: str) -> None:
    kit = subject(family, stock_kit(family))

    assert open_needs(kit.family, kit.parts) == ()
    assert [joint for joint in joints(kit.parts) if step_severity(joint) is not None] == []
    assert findings_above_notes(family, stock_kit(family)) == set()


def test_the_outwardly_identical_manifold_takes_the_factory_part_s_place() -> None:
    assert obstacles(QUAY_BIG, stock_kit(QUAY_BIG, intake_manifold=MODIFIED_TWIN)) == set()


def test_a_stronger_kit_that_changes_nothing_to_be_seen_goes_together() -> None:
    kit = stock_kit(QUAY_BIG) | STOCK_LOOK_KIT

    exteriors = [parts()[sku].exterior for sku in kit.values()]

    assert all(exterior.assessed and not exterior.differences for exterior in exteriors)
    assert obstacles(QUAY_BIG, kit) == set()


@pytest.mark.parametrize(
    ("kit", "use"),
    [(OPEN_KIT, UseClass.ROAD), (BOAT_KIT, UseClass.MARINE)],
    ids=["open", "boat"],
)
def test_a_kit_without_a_factory_part_goes_together(kit: dict[Slot, str], use: UseClass) -> None:
    assert set(kit) == set(KIT_SLOTS)
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
        if part.slot in SUPPLY_SLOTS:
            assert 50 <= part.price_cents <= 50_000, part.sku
            assert part.weight_g > 0 or part.slot is Slot.MACHINING
            continue
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
