"""The demo catalogue as hardware: the engines and parts could exist.

Bands come from trade knowledge written down from memory unless a test says otherwise;
none of them was fitted to the data.
"""

from itertools import pairwise
from math import pi
from typing import Any

import numpy as np
import pytest

from service.catalog.appearance import Trait
from service.catalog.interfaces import InterfaceKind
from service.catalog.slots import Slot
from service.catalog.specs import (
    AirInletSpec,
    CalibrationSpec,
    CamshaftSpec,
    CylinderHeadsSpec,
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
from service.engine.bench import (
    bench_effective_area,
    curtain_discharge_coefficient,
    flow_at_depression,
)
from service.engine.cams import LobeShape, cam_events, lobe_lift_at, lobe_shape
from service.engine.flow import gas_density
from service.engine.geometry import clearance_volume, swept_volume
from service.engine.power import induced_volume_flow
from service.engine.series import pressure_after_element
from service.engine.valves import mean_inlet_flow_coefficient
from service.units import (
    cfm_to_m3_per_s,
    cm3_to_m3,
    inh2o_to_pa,
    mm2_to_m2,
    mm_to_m,
    rpm_to_rad_per_s,
)
from tests.seed import (
    FACTORY_MANIFOLD,
    FAMILIES,
    MODIFIED_TWIN,
    OPEN_KIT,
    QUAY_BIG,
    compression_ratio,
    families,
    of,
    parts,
    shop_rules,
)

# --- The manifolds -----------------------------------------------------------------------


def manifold(sku: str) -> IntakeManifoldSpec:
    spec = parts()[sku].spec
    assert isinstance(spec, IntakeManifoldSpec)
    return spec


def test_the_factory_manifold_narrows_below_its_plenum() -> None:
    spec = manifold(FACTORY_MANIFOLD)

    assert [section.place for section in spec.sections] == [SectionPlace.BELOW_PLENUM]
    assert spec.gallery_volume_cm3 is not None


def test_the_throat_costs_a_few_per_cent_of_pressure_where_the_large_engine_stops_gaining() -> None:
    """3 to 5 %: our choice for the demo, no source. 7.62 L at 4700 rev/min, filling 0.85, 25
    degrees; one compressible orifice at the mean flow, standard atmosphere in the plenum."""
    engine, throat = families()[QUAY_BIG], manifold(FACTORY_MANIFOLD).sections[0]
    swept = engine.cylinders * swept_volume(mm_to_m(engine.bore_mm), mm_to_m(engine.stroke_mm))
    flow = induced_volume_flow(swept, rpm_to_rad_per_s(4700.0), 0.85)
    effective = mm2_to_m2(throat.area_mm2) * throat.discharge_coefficient

    behind = pressure_after_element(
        effective, 101_325.0, 298.15, flow * gas_density(101_325.0, 298.15)
    )

    assert 0.03 < 1.0 - behind / 101_325.0 < 0.05


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
