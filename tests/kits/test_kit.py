from dataclasses import replace

import numpy as np
import pytest

from service.catalog.slots import Fuel, Slot
from service.errors import InvalidInput
from service.fitup.compression import clearance_for_ratio_cm3, compression_ratio, disc_volume_cm3
from service.fitup.machined import BankAsMachined, EngineAsMachined, Unknown
from service.fitup.spans import Span
from service.kits.full_load import FullLoad, widened
from service.kits.kit import EngineAsItStands, kit_of
from tests.kits.assembled import assembled, question
from tests.seed import QUAY_BIG, families, parts


def test_a_slot_that_is_not_named_keeps_the_factory_part() -> None:
    kit = assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"})

    stock = families()[QUAY_BIG].stock_parts
    assert kit.chosen == (Slot.CAMSHAFT,)
    assert {slot: part.sku for slot, part in kit.parts.items()} == {
        **stock,
        Slot.CAMSHAFT: "Q76-CAM-BOWLINE",
    }


def test_naming_the_factory_part_is_not_a_choice() -> None:
    stock = families()[QUAY_BIG].stock_parts[Slot.CAMSHAFT]

    assert assembled(QUAY_BIG, {Slot.CAMSHAFT: stock}).chosen == ()


def test_the_factory_kit_has_the_compression_that_the_family_states() -> None:
    kit = assembled(QUAY_BIG)

    assert kit.compression_ratio == pytest.approx(families()[QUAY_BIG].compression_ratio)


def test_heads_with_smaller_chambers_raise_compression_by_their_volume() -> None:
    """Geometry: the rest of the clearance stays on the engine."""
    home, heads = families()[QUAY_BIG], "Q76-HEADS-GNEISS"
    swept = disc_volume_cm3(home.bore_mm, home.stroke_mm)
    change = (
        parts()[heads].spec.chamber_cm3  # type: ignore[union-attr] # These are heads.
        - parts()[home.stock_parts[Slot.CYLINDER_HEADS]].spec.chamber_cm3  # type: ignore[union-attr] # The same.
    )
    clearance = clearance_for_ratio_cm3(swept, home.compression_ratio) + change

    kit = assembled(QUAY_BIG, {Slot.CYLINDER_HEADS: heads})

    assert change != 0.0
    assert kit.compression_ratio == pytest.approx(compression_ratio(swept, clearance))


def test_a_larger_bore_raises_displacement_and_compression() -> None:
    """The chamber stays what it was, the swept volume grows."""
    bored = assembled(QUAY_BIG, engine=EngineAsItStands(bore_mm=109.0))

    assert bored.bore_mm == 109.0
    assert bored.compression_ratio > assembled(QUAY_BIG).compression_ratio


def test_cuts_raise_compression_and_a_range_widens_the_bounds_of_the_curve() -> None:
    """By the air-standard cycle, 1 - r^-0.4 (O6), written out here."""

    def with_mill(mill: float | Unknown) -> Span:
        machined = EngineAsMachined(right=BankAsMachined(head_mill_mm=mill))
        return assembled(QUAY_BIG, engine=EngineAsItStands(machined=machined)).compression_range

    assert with_mill(0.5).low > with_mill(0.0).high
    assert with_mill(Unknown.UNKNOWN).holds(with_mill(0.5))

    load = FullLoad(
        angular_speed=np.ones(1),
        torque=np.ones(1),
        relative_error=np.full(1, 0.16),
        volumetric_efficiency=np.ones(1),
        residual_fraction=(None,),
        converged=(None,),
        cycles=(None,),
        bounds="",
        assumptions=(),
    )
    assert widened(load, Span.exactly(9.5)) == load
    share = 1.0 - (1.0 - 9.0**-0.4) / (1.0 - 9.5**-0.4)
    wider = widened(load, Span(9.0, 10.0))
    assert wider.relative_error[0] == pytest.approx(0.16 + share)
    assert "9.00 to 10.00" in wider.assumptions[0]


def test_a_measured_compression_ratio_is_taken_as_it_is() -> None:
    kit = assembled(
        QUAY_BIG,
        {Slot.CYLINDER_HEADS: "Q76-HEADS-GNEISS"},
        engine=EngineAsItStands(compression_ratio=9.7),
    )

    assert kit.compression_ratio == 9.7


def test_the_lower_of_the_family_s_and_the_calibration_s_limit_counts() -> None:
    """Family 6,000, factory calibration 5,200 rev/min in the demo catalogue."""
    assert assembled(QUAY_BIG).rev_limit_rpm == 5200.0
    later = assembled(QUAY_BIG, {Slot.CALIBRATION: "Q76-CALIBRATION-COMPLINE"})
    assert later.rev_limit_rpm == families()[QUAY_BIG].rev_limit_rpm


def test_a_part_in_a_slot_that_it_does_not_go_into_names_the_slot() -> None:
    with pytest.raises(InvalidInput) as refusal:
        assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-INLET-TOPSAIL"})

    (problem,) = refusal.value.problems
    assert (problem.pointer, problem.code) == ("/parts/camshaft", "wrong_slot")
    assert "air_inlet" in problem.detail


@pytest.mark.parametrize("year", [1988, 2005])
def test_a_model_year_outside_the_family_names_the_years(year: int) -> None:
    with pytest.raises(InvalidInput) as refusal:
        assembled(QUAY_BIG, model_year=year)

    (problem,) = refusal.value.problems
    assert problem.pointer == "/model_year"
    assert "1989" in problem.detail
    assert "2004" in problem.detail


def test_another_fuel_than_the_calibration_s_is_refused() -> None:
    with pytest.raises(InvalidInput) as refusal:
        assembled(QUAY_BIG, engine=EngineAsItStands(fuel=Fuel.ETHANOL_85))

    (problem,) = refusal.value.problems
    assert problem.pointer == "/engine/fuel"
    assert "gasoline" in problem.detail


def test_a_family_without_a_factory_part_asks_for_one() -> None:
    home = replace(families()[QUAY_BIG], stock_parts={})
    found = dict(assembled(QUAY_BIG).parts)
    del found[Slot.CAMSHAFT]

    with pytest.raises(InvalidInput) as refusal:
        kit_of(question(QUAY_BIG), home, found, None)

    assert refusal.value.problems[0].pointer == "/parts/camshaft"
