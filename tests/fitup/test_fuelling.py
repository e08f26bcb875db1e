"""Rows I1 to I8 (orifice law, common practice) and O4, O7 (US DOE; common practice)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalog.rules import RuleSeverity
from service.catalog.slots import Fuel, Slot
from service.catalog.specs import HeadMaterial
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.fitup.fuelling import (
    DUTY_NOTES,
    DUTY_WARNS,
    FUEL_USE_LB_PER_HP_H,
    flow_at_pressure,
    injector_flow_lb_per_h,
)
from service.fitup.subject import FitSubject
from service.units import (
    cm3_per_min_to_m3_per_s,
    hp_to_w,
    lb_per_h_to_kg_per_s,
    lb_per_hp_h_to_kg_per_j,
    psi_to_pa,
)
from tests.fitup.subjects import make_subject, shop_part


def finding(subject: FitSubject, code: str, power_w: float | None = None) -> Finding | None:
    found = [one for one in fit_findings(subject, (), {}, power_w) if one.code == code]
    return found[0] if found else None


def test_i1_flow_rises_with_the_root_of_pressure() -> None:
    """Row I1: 30 lb/h at 43.5 psi becomes 34.641 at 58 psi."""
    assert flow_at_pressure(30.0, 43.5, 58.0) == pytest.approx(34.641, abs=1e-3)


def test_i2_vacuum_behind_the_injector_adds_to_its_pressure() -> None:
    """Row I2: rail 58 psi, manifold 9.8 psi under atmosphere."""
    assert flow_at_pressure(30.0, 43.5, 58.0 + 9.8) == pytest.approx(37.453, abs=1e-3)


def test_i3_the_usual_rail_pressure_in_both_units() -> None:
    """Row I3: 43.5 psi = 2.99922 bar."""
    assert psi_to_pa(43.5) / 1e5 == pytest.approx(2.99922, abs=1e-4)


@pytest.mark.parametrize(
    ("power_hp", "fuel_use", "duty", "expected"),
    [
        (400.0, 0.50, 0.80, 31.25),
        (400.0, 0.50, 0.85, 29.412),
        (450.0, 0.50, 0.80, 35.156),
        (450.0, 0.45, 0.80, 31.641),
    ],
)
def test_i4_and_i5_injector_size(
    power_hp: float, fuel_use: float, duty: float, expected: float
) -> None:
    """Rows I4 and I5, eight cylinders."""
    size = injector_flow_lb_per_h(power_hp, fuel_use_lb_per_hp_h=fuel_use, count=8, duty=duty)

    assert size == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("density", "expected"), [(0.72, 10.500), (0.745, 10.147), (0.75, 10.080)])
def test_i6_pounds_an_hour_in_cubic_centimetres_a_minute(density: float, expected: float) -> None:
    """Row I6: 10.5 cm³/min a lb/h supposes a density of .72."""
    volume_flow = lb_per_h_to_kg_per_s(1.0) / (1000.0 * density)

    assert volume_flow / cm3_per_min_to_m3_per_s(1.0) == pytest.approx(expected, abs=1e-3)


def test_i7_specific_consumption_in_grams() -> None:
    """Row I7: 1 lb/(hp·h) = 608.2774 g/kWh; .50 304.14; the textbook's 341.5 g/kWh .5615."""
    assert lb_per_hp_h_to_kg_per_j(1.0) * 3.6e9 == pytest.approx(608.2774, abs=1e-3)
    assert lb_per_hp_h_to_kg_per_j(0.50) * 3.6e9 == pytest.approx(304.14, abs=5e-3)
    assert lb_per_hp_h_to_kg_per_j(0.5615) * 3.6e9 == pytest.approx(341.5, rel=1e-3)


def test_i8_duty_and_consumption_are_the_trades() -> None:
    """Row I8: common practice, no source."""
    assert (DUTY_NOTES, DUTY_WARNS) == (0.80, 0.85)
    assert FUEL_USE_LB_PER_HP_H[Fuel.GASOLINE] == 0.50


@pytest.mark.parametrize(
    ("power_hp", "severity"),
    [
        (355.0, None),
        (365.0, RuleSeverity.NOTES),
        (385.0, RuleSeverity.WARNS),
        (450.0, RuleSeverity.BLOCKS),
    ],
)
def test_injectors_speak_as_their_duty_rises(
    power_hp: float, severity: RuleSeverity | None
) -> None:
    """By hand: eight of 28 lb/h at .50 carry 448 hp held open; 80 % is 358, 85 % is 381."""
    found = finding(make_subject(), "injectors.duty", hp_to_w(power_hp))

    assert (found.severity if found else None) is severity


def test_a_higher_rail_pressure_makes_injectors_large_enough() -> None:
    """By hand: 28 lb/h · root(400/300) = 32.3 lb/h, 62 % of the time at 320 hp."""
    tune = shop_part(Slot.CALIBRATION, "LAMP", spec={"rail_pressure_kpa": 400.0})

    assert finding(make_subject(), "injectors.duty", hp_to_w(400.0)) is not None
    assert finding(make_subject(tune), "injectors.duty", hp_to_w(400.0)) is None


def test_without_an_expected_power_nothing_is_said_of_injectors() -> None:
    assert finding(make_subject(), "injectors.duty") is None


def test_a_set_of_six_on_a_v8_warns() -> None:
    six = shop_part(Slot.INJECTORS, "WREN", spec={"count": 6})

    assert finding(make_subject(six), "injectors.count") is not None


def test_another_liquid_warns_and_a_gas_blocks() -> None:
    ethanol = shop_part(Slot.CALIBRATION, "LAMP", spec={"fuel": Fuel.ETHANOL_85})
    propane = shop_part(Slot.CALIBRATION, "LAMP", spec={"fuel": Fuel.PROPANE})

    liquid, gas = (finding(make_subject(tune), "calibration.fuel") for tune in (ethanol, propane))

    assert liquid is not None
    assert gas is not None
    assert liquid.severity is RuleSeverity.WARNS
    assert gas.severity is RuleSeverity.BLOCKS


def test_fuel_of_less_octane_than_the_timing_asks_for_warns() -> None:
    tune = shop_part(Slot.CALIBRATION, "LAMP", spec={"octane_aki_min": 91.0})

    assert finding(make_subject(tune), "calibration.octane") is not None
    assert finding(make_subject(tune, octane_aki=91.0), "calibration.octane") is None


@pytest.mark.parametrize(
    ("octane", "material", "limit"),
    [
        (87.0, HeadMaterial.IRON, 9.0),
        (87.0, HeadMaterial.ALUMINIUM, 9.5),
        (91.0, HeadMaterial.ALUMINIUM, 10.5),
        (93.0, HeadMaterial.IRON, 10.0),
        (93.0, HeadMaterial.ALUMINIUM, 11.0),
    ],
)
def test_o7_pump_fuel_and_compression(octane: float, material: HeadMaterial, limit: float) -> None:
    """Row O7: common practice, no source."""
    heads = shop_part(Slot.CYLINDER_HEADS, "OWL", spec={"material": material})
    at, past = (
        make_subject(heads, octane_aki=octane, compression_ratio=ratio)
        for ratio in (limit, limit + 0.1)
    )

    assert finding(at, "fuel.octane") is None
    assert finding(past, "fuel.octane") is not None


@given(
    ratio=st.floats(5.0, 18.0),
    octane=st.none() | st.floats(60.0, 130.0),
    material=st.sampled_from(HeadMaterial),
)
def test_o4_compression_alone_never_blocks(
    ratio: float, octane: float | None, material: HeadMaterial
) -> None:
    """US DOE fact no. 940 (2016): the fleet's ratio rises at a constant octane."""
    heads = shop_part(Slot.CYLINDER_HEADS, "OWL", spec={"material": material})
    found = finding(make_subject(heads, octane_aki=octane, compression_ratio=ratio), "fuel.octane")

    assert found is None or found.severity is not RuleSeverity.BLOCKS
