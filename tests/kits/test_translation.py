"""Catalogue units into SI, by hand-worked conversions."""

import math
from dataclasses import replace

import pytest

from service.catalog.slots import Slot
from service.catalog.specs import ThrottleBodySpec
from service.kits.kit import Kit, Weather
from service.kits.translation import ambient, engine_spec, exhaust_path, intake_path
from tests.kits.assembled import assembled, stock_engine
from tests.seed import FACTORY_MANIFOLD, MODIFIED_TWIN, QUAY_BIG, families, parts


def with_throttle(kit: Kit, bore_mm: float) -> Kit:
    part = kit.parts[Slot.THROTTLE_BODY]
    changed = replace(part, spec=replace(kit.spec(ThrottleBodySpec), bore_mm=bore_mm))
    return replace(kit, parts={**kit.parts, Slot.THROTTLE_BODY: changed})


def test_the_crank_train_is_that_of_the_family_in_metres() -> None:
    spec, home = stock_engine(QUAY_BIG), families()[QUAY_BIG]

    assert spec.bore == pytest.approx(home.bore_mm / 1000.0)
    assert spec.stroke == pytest.approx(home.stroke_mm / 1000.0)
    assert spec.rod_length == pytest.approx(home.rod_length_mm / 1000.0)


def test_the_factory_throat_lies_below_the_plenum_and_the_twin_has_none() -> None:
    """4,000 mm² with a coefficient of .72 in the demo catalogue: 2,880 mm² effective."""
    factory = stock_engine(QUAY_BIG)
    twin = engine_spec(assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN}))

    (throat,) = factory.below_plenum
    assert throat.effective_area == pytest.approx(2880e-6)
    assert throat not in factory.above_plenum
    assert factory.gallery_volume == pytest.approx(2.9e-3)
    assert twin.below_plenum == ()


def test_the_path_names_the_part_that_each_place_belongs_to() -> None:
    kit = assembled(QUAY_BIG)

    path = {place.slot: place.sku for place in (*intake_path(kit), *exhaust_path(kit))}

    assert path[Slot.INTAKE_MANIFOLD] == FACTORY_MANIFOLD
    assert path == {slot: kit.parts[slot].sku for slot in path}
    assert set(path) == {
        Slot.AIR_INLET,
        Slot.THROTTLE_BODY,
        Slot.INTAKE_MANIFOLD,
        Slot.EXHAUST_SYSTEM,
    }


def test_a_throttle_bore_wider_than_the_manifold_s_opening_brings_nothing() -> None:
    """The air passes both; the smaller one counts."""
    kit = assembled(QUAY_BIG)
    body = kit.spec(ThrottleBodySpec)

    wide = with_throttle(kit, 120.0)
    wider = with_throttle(kit, 140.0)

    assert body.bore_mm < 120.0
    assert throttle_area(wide) == throttle_area(wider)


def test_a_wide_open_throttle_passes_its_bore_less_its_shaft() -> None:
    """Between the bore less a full-width strip of the shaft, and the whole bore: geometry."""
    kit = assembled(QUAY_BIG)
    body = kit.spec(ThrottleBodySpec)
    circle = math.pi / 4.0 * (body.bore_mm * 1e-3) ** 2
    strip = body.bore_mm * body.shaft_mm * 1e-6

    open_share = throttle_area(kit) / (body.bore_count * body.discharge_coefficient)

    assert circle - strip <= open_share * (1.0 + 1e-9)
    assert open_share < circle


def throttle_area(kit: Kit) -> float:
    return next(
        place.element.effective_area
        for place in intake_path(kit)
        if place.slot is Slot.THROTTLE_BODY
    )


def test_the_exhaust_nose_lies_twice_the_separation_from_the_intake_s() -> None:
    """Cam card arithmetic: lobe separation is half the crank angle between the noses."""
    cam = parts()[families()[QUAY_BIG].stock_parts[Slot.CAMSHAFT]].spec
    spec = stock_engine(QUAY_BIG)

    between = spec.intake.centreline - spec.exhaust.centreline

    assert between == pytest.approx(2.0 * cam.lobe_separation_deg)  # type: ignore[union-attr] # A cam.


@pytest.mark.parametrize(("family", "bearings"), [(QUAY_BIG, 5), ("orrin-4-4", 7)])
def test_a_crank_has_one_main_bearing_more_than_throws(family: str, bearings: int) -> None:
    """Five in a V8, seven in an inline six: common practice, no source."""
    assert stock_engine(family).main_bearings == bearings


def test_moist_air_brings_less_oxygen() -> None:
    """30 degrees C, 60 %: saturation pressure 4.246 kPa (steam tables), so 2.548 kPa of vapour."""
    air = ambient(Weather(pressure_kpa=100.0, temperature_c=30.0, relative_humidity=0.6))

    assert air.dry_pressure == pytest.approx(100_000.0 - 2548.0, abs=15.0)
    assert air.temperature == pytest.approx(303.15)
