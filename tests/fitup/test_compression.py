"""Rows C1 to C17: textbook and shop examples, and exact arithmetic on the same inputs.

Sources: S20 = FOSSEE Scilab textbook companion 443 (internal-combustion-engine textbook),
examples 1.1 and 17.17; S18 = machine-shop note of 2013-01-30 on milling heads; shop examples
C3 and C4 as printed. Rows C5 to C13 are exact arithmetic on stated inputs (1 in = 25.4 mm).
"""

from dataclasses import replace
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.otto import otto_efficiency
from service.engine.power import mean_effective_pressure, power_from_torque
from service.fitup.check import fit_findings
from service.fitup.compression import (
    CHAMBER_CUT_MM_PER_CM3,
    ClearanceStack,
    NoClearanceVolume,
    clearance_for_ratio_cm3,
    compression_ratio,
    crevice_volume_cm3,
    cut_for_chamber_mm_per_cm3,
    disc_volume_cm3,
    ratio_after_chamber_change,
)
from service.units import rpm_to_rad_per_s
from tests.fitup.subjects import make_subject

INCH = 25.4
CUBIC_INCH_CM3 = 16.387064
BORE = 4.000 * INCH
STROKE = 3.480 * INCH
C5 = ClearanceStack(
    chamber_cm3=64.0,
    gasket_bore_mm=4.100 * INCH,
    gasket_thickness_mm=0.041 * INCH,
    deck_clearance_mm=0.025 * INCH,
    dish_cm3=5.0,
)


def ratio(stack: ClearanceStack, bore_mm: float = BORE, stroke_mm: float = STROKE) -> float:
    return compression_ratio(disc_volume_cm3(bore_mm, stroke_mm), stack.volume_cm3(bore_mm))


def test_c1_the_textbook_cylinder_of_245_cm3() -> None:
    """S20, example 1.1: 27.22 cm³ of clearance give 10.0007; bore 70.009 mm, ratio 1.1."""
    assert compression_ratio(245.0, 27.22) == pytest.approx(10.0007, abs=1e-3)
    assert disc_volume_cm3(70.009, 63.645) == pytest.approx(245.0, rel=1e-4)


def test_c2_the_textbook_four_cylinder_engine() -> None:
    """S20, example 17.17: 60 x 100 mm, 60 cm³ of clearance."""
    swept = disc_volume_cm3(60.0, 100.0)

    ratio_of_it = compression_ratio(swept, 60.0)
    assert swept == pytest.approx(282.743, abs=1e-3)
    assert ratio_of_it == pytest.approx(5.7124, abs=1e-4)
    # The same example: half of the air-standard efficiency, 66.5 N·m at 3000 rev/min, four
    # cylinders, 42 MJ/kg.
    efficiency = float(otto_efficiency(ratio_of_it))
    power_w = float(power_from_torque(66.5, rpm_to_rad_per_s(3000.0)))
    fuel_kg_per_s = power_w / (0.5 * efficiency * 42e6)
    bmep_pa = float(mean_effective_pressure(66.5, 4.0 * swept * 1e-6))
    assert efficiency == pytest.approx(0.50195, rel=1e-3)
    assert power_w == pytest.approx(20_892.0, rel=1e-3)
    assert fuel_kg_per_s * 3600.0 == pytest.approx(7.1350, rel=1e-3)
    assert bmep_pa == pytest.approx(7.3889e5, rel=1e-3)
    assert fuel_kg_per_s * 3.6e9 / (power_w / 1e3) / 1e3 == pytest.approx(341.5, rel=1e-3)


def test_c3_the_shop_example_in_inches() -> None:
    """Printed 10.60 with rounded volumes; 10.585 exactly. Gasket at the cylinder's bore."""
    bore = 4.25 * INCH
    stack = ClearanceStack(
        chamber_cm3=64.0,
        gasket_bore_mm=bore,
        gasket_thickness_mm=0.051 * INCH,
        deck_clearance_mm=0.005 * INCH,
        dish_cm3=1.22 * CUBIC_INCH_CM3,
    )

    assert ratio(stack, bore, 4.0 * INCH) == pytest.approx(10.60, abs=0.02)
    assert ratio(stack, bore, 4.0 * INCH) == pytest.approx(10.585, abs=1e-3)


def test_c4_the_shop_example_in_millimetres() -> None:
    """Printed 7.95: 87 x 69 mm, deck .060 in = 9.06 cm³, head 50 cm³."""
    stack = ClearanceStack(
        chamber_cm3=50.0,
        gasket_bore_mm=87.0,
        gasket_thickness_mm=0.0,
        deck_clearance_mm=0.06 * INCH,
    )

    assert disc_volume_cm3(87.0, 0.06 * INCH) == pytest.approx(9.06, abs=5e-3)
    assert disc_volume_cm3(87.0, 69.0) == pytest.approx(410.18, abs=5e-3)
    assert ratio(stack, 87.0, 69.0) == pytest.approx(7.946, abs=5e-3)


def test_c5_the_base_engine_in_every_volume() -> None:
    """Exact arithmetic: 716.622 swept, 8.870 gasket, 5.148 deck, 83.019 clearance, 9.6321."""
    swept = disc_volume_cm3(BORE, STROKE)

    assert swept == pytest.approx(716.622, abs=1e-3)
    assert disc_volume_cm3(4.100 * INCH, 0.041 * INCH) == pytest.approx(8.870, abs=1e-3)
    assert disc_volume_cm3(BORE, 0.025 * INCH) == pytest.approx(5.148, abs=1e-3)
    assert C5.volume_cm3(BORE) == pytest.approx(83.019, abs=1e-3)
    assert ratio(C5) == pytest.approx(9.6321, abs=1e-3)
    assert 8 * swept / CUBIC_INCH_CM3 == pytest.approx(349.848, abs=1e-3)


@pytest.mark.parametrize(
    ("row", "stack", "bore_in", "expected"),
    [
        ("C6", replace(C5, chamber_cm3=64.0 - 0.010 / 0.006), 4.000, 9.8089),
        ("C7", replace(C5, deck_clearance_mm=0.010 * INCH), 4.000, 9.9657),
        ("C8", replace(C5, gasket_thickness_mm=0.028 * INCH), 4.000, 9.9348),
        ("C9", C5, 4.030, 9.7539),
        ("C10", replace(C5, dish_cm3=-8.0), 4.000, 11.2347),
        (
            "C11",
            replace(C5, crevice_cm3=crevice_volume_cm3(BORE, 3.970 * INCH, 0.200 * INCH)),
            4.000,
            9.5686,
        ),
    ],
)
def test_c6_to_c11_what_machining_does_to_the_base_engine(
    row: str, stack: ClearanceStack, bore_in: float, expected: float
) -> None:
    """Rows C6 to C11: milled head, decked block, gasket, overbore, dome, crevice."""
    assert ratio(stack, bore_in * INCH) == pytest.approx(expected, abs=1e-3), row


def test_c5_c9_displacement_before_and_after_the_overbore() -> None:
    """Rows C5 and C9: 5.73298 l; bored .030 in over 727.412 cm³, 355.115 in³, 5.81929 l."""
    bored = disc_volume_cm3(4.030 * INCH, STROKE)

    assert 8 * disc_volume_cm3(BORE, STROKE) / 1000.0 == pytest.approx(5.73298, abs=1e-5)
    assert bored == pytest.approx(727.412, abs=1e-3)
    assert 8 * bored / CUBIC_INCH_CM3 == pytest.approx(355.115, abs=1e-3)
    assert 8 * bored / 1000.0 == pytest.approx(5.81929, abs=1e-5)


def test_c6_another_chamber_on_the_same_block_gives_the_same_ratio() -> None:
    """Row C6 by the second route: only the old ratio and the change are known."""
    changed = ratio_after_chamber_change(ratio(C5), disc_volume_cm3(BORE, STROKE), -0.010 / 0.006)

    assert changed == pytest.approx(9.8089, abs=1e-3)


def test_c11_the_crevice_above_the_top_ring() -> None:
    """Row C11: .200 in of land, piston 3.970 in: .6155 cm³."""
    assert crevice_volume_cm3(BORE, 3.970 * INCH, 0.200 * INCH) == pytest.approx(0.6155, abs=1e-3)


@pytest.mark.parametrize(
    ("target", "clearance", "to_remove"),
    [(10.0, 79.625, 3.394), (10.5, 75.434, 7.585), (11.0, 71.662, 11.356)],
)
def test_c12_the_clearance_that_a_target_ratio_wants(
    target: float, clearance: float, to_remove: float
) -> None:
    """Row C12."""
    wanted = clearance_for_ratio_cm3(disc_volume_cm3(BORE, STROKE), target)

    assert wanted == pytest.approx(clearance, abs=1e-3)
    assert C5.volume_cm3(BORE) - wanted == pytest.approx(to_remove, abs=1e-3)


@pytest.mark.parametrize(
    ("bore_in", "expected"), [(3.736, 0.1796), (4.000, 0.2059), (4.125, 0.2190), (4.250, 0.2325)]
)
def test_c13_a_thousandth_of_an_inch_of_disc(bore_in: float, expected: float) -> None:
    """Row C13."""
    assert disc_volume_cm3(bore_in * INCH, 0.001 * INCH) == pytest.approx(expected, abs=1e-4)


def test_c14_the_cut_from_the_outline_of_the_chamber() -> None:
    """S18: 1/((L/pi)² · 12.87) inches a cm³; .00580 at 11.5 in."""
    assert cut_for_chamber_mm_per_cm3(11.5 * INCH) / INCH == pytest.approx(0.00580, abs=1e-5)


def test_c14_a_round_chamber_is_met_exactly_and_any_other_needs_a_deeper_cut() -> None:
    """Geometry: of all outlines of one length the circle holds the most area."""
    square_side = 60.0

    true_cut = 1000.0 / square_side**2

    assert cut_for_chamber_mm_per_cm3(pi * 80.0) == pytest.approx(1 / disc_volume_cm3(80.0, 1.0))
    assert cut_for_chamber_mm_per_cm3(4 * square_side) < true_cut


def test_c15_the_rule_of_thumb_brackets_the_outline_formula() -> None:
    """Common practice, no source: .005 to .007 in a cm³; C14's chamber lies within."""
    least, most = CHAMBER_CUT_MM_PER_CM3

    assert least / INCH == pytest.approx(0.005, abs=2e-4)
    assert most / INCH == pytest.approx(0.007, abs=2e-4)
    assert least < cut_for_chamber_mm_per_cm3(11.5 * INCH) < most


def test_c16_shaving_the_heads_raises_the_ratio_until_fuel_is_the_limit() -> None:
    """TM 9-8000, *Principles of Automotive Vehicles*: knock limits what shaving may gain."""
    shaved = ratio_after_chamber_change(9.0, disc_volume_cm3(108.0, 104.0), -20.0)

    findings = fit_findings(make_subject(compression_ratio=shaved), (), {}, None)

    assert shaved > 9.0
    assert "fuel.octane" in {finding.code for finding in findings}


@given(
    field=st.sampled_from(
        ["chamber_cm3", "gasket_bore_mm", "gasket_thickness_mm", "deck_clearance_mm", "dish_cm3"]
    ),
    growth=st.floats(0.01, 20.0),
)
def test_c17_whatever_adds_clearance_lowers_the_ratio(field: str, growth: float) -> None:
    """Row C17."""
    grown = replace(C5, **{field: getattr(C5, field) + growth})

    assert ratio(grown) < ratio(C5)


@given(growth=st.floats(0.1, 20.0))
def test_c17_bore_and_stroke_raise_the_ratio(growth: float) -> None:
    """Row C17."""
    assert ratio(C5, stroke_mm=STROKE + growth) > ratio(C5)
    assert ratio(C5, bore_mm=BORE + growth) > ratio(C5)


def test_a_dome_that_fills_the_chamber_is_refused() -> None:
    with pytest.raises(NoClearanceVolume):
        replace(C5, dish_cm3=-90.0).volume_cm3(BORE)
