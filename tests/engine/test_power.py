"""Identities of torque, power, mean pressure, fuel and air.

U, O and I numbers are rows of the project's table of reference values; all of them
arithmetic done apart from the code, unless a test says otherwise.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine import power
from service.engine.flow import gas_density
from service.engine.geometry import swept_volume
from service.engine.inputs import NonPhysicalInput
from service.units import (
    celsius_to_kelvin,
    cfm_to_m3_per_s,
    hp_to_w,
    in3_to_m3,
    kg_per_s_to_lb_per_h,
    lb_per_h_to_kg_per_s,
    lb_per_hp_h_to_kg_per_j,
    lbft_to_nm,
    m3_per_s_to_cfm,
    psi_to_pa,
    rpm_to_rad_per_s,
    w_to_hp,
)

BIG = in3_to_m3(454.0)
"""The rows' round displacement of 454 in³. [m³]"""
GASOLINE = 44.0e6
"""Lower heating value of gasoline, Heywood's table D.4 (from memory). [J kg⁻¹]"""


def test_horsepower_is_torque_times_speed_over_5252() -> None:
    """U1: 33000/2π = 5252.113."""
    shaft_power = power.power_from_torque(lbft_to_nm(1.0), rpm_to_rad_per_s(5252.113))

    assert shaft_power == pytest.approx(hp_to_w(1.0), rel=1e-6)


def test_mean_pressure_in_psi_is_150_8_times_torque_over_cubic_inches() -> None:
    """U2, U5: 48π = 150.7964; 500 lbf·ft on 454 in³ give 166.0754 psi, 11.4505 bar."""
    one = power.mean_effective_pressure(lbft_to_nm(1.0), in3_to_m3(1.0))
    example = power.mean_effective_pressure(lbft_to_nm(500.0), BIG)

    assert one == pytest.approx(psi_to_pa(150.7964), rel=1e-6)
    assert example == pytest.approx(psi_to_pa(166.0754), rel=1e-6)
    assert example == pytest.approx(11.4505e5, rel=1e-5)


@pytest.mark.parametrize(
    ("hp", "rpm", "psi", "bar", "hp_per_litre"),
    [(425.0, 5500.0, 134.80, 9.2943, 57.13), (300.0, 4400.0, 118.94, 8.2008, 40.32)],
)
def test_mean_pressure_follows_from_power_and_speed(
    hp: float, rpm: float, psi: float, bar: float, hp_per_litre: float
) -> None:
    """U3, U4, U6, U7: bmep[psi] = hp·792000/(in³·rpm); printed to five digits."""
    speed = rpm_to_rad_per_s(rpm)

    pressure = power.mean_effective_pressure(power.torque_from_power(hp_to_w(hp), speed), BIG)

    assert pressure == pytest.approx(psi_to_pa(hp * 792_000.0 / (454.0 * rpm)), rel=1e-6)
    assert pressure == pytest.approx(2.0 * hp_to_w(hp) / (rpm / 60.0 * BIG), rel=1e-6)
    assert pressure == pytest.approx(psi_to_pa(psi), rel=5e-5)
    assert pressure == pytest.approx(bar * 1e5, rel=1e-5)
    assert hp / (BIG * 1e3) == pytest.approx(hp_per_litre, abs=0.005)


@pytest.mark.parametrize(
    ("cubic_inches", "rpm", "filling", "cfm"),
    [
        (454.0, 5500.0, 0.85, 614.135),
        (502.0, 5000.0, 0.90, 653.646),
        (350.0, 6000.0, 1.00, 607.639),
        (440.0, 6000.0, 0.90, 687.5),
    ],
)
def test_air_drawn_and_filling_are_each_other_s_inverse(
    cubic_inches: float, rpm: float, filling: float, cfm: float
) -> None:
    """U8: in³·rpm·VE/3456; the last is printed on a hobby engine page."""
    engine = in3_to_m3(cubic_inches), rpm_to_rad_per_s(rpm)

    drawn = power.induced_volume_flow(*engine, filling)

    assert m3_per_s_to_cfm(float(drawn)) == pytest.approx(cfm, rel=1e-6)
    assert power.volumetric_efficiency(cfm_to_m3_per_s(cfm), *engine) == pytest.approx(
        filling, rel=1e-6
    )


def test_fuel_consumption_converts_to_metric_and_to_efficiency() -> None:
    """U9: 0.45 lb/hp·h is 273.725 g/kWh, or 0.2989 at 44.0 MJ/kg."""
    consumption = lb_per_hp_h_to_kg_per_j(0.45)

    assert consumption * 3.6e9 == pytest.approx(273.725, rel=1e-6)
    assert power.brake_efficiency(consumption, GASOLINE) == pytest.approx(0.2989, rel=1e-4)


@pytest.mark.parametrize(
    ("hp", "consumption", "duty", "lb_per_h"),
    [(400.0, 0.50, 0.80, 31.250), (500.0, 0.50, 0.85, 36.765), (450.0, 0.48, 0.80, 33.750)],
)
def test_injectors_are_sized_to_carry_the_fuel(
    hp: float, consumption: float, duty: float, lb_per_h: float
) -> None:
    """I1: eight injectors; the rule is the trade's, the number arithmetic, to five digits."""
    needed = power.injector_flow_needed(hp_to_w(hp), lb_per_hp_h_to_kg_per_j(consumption), 8, duty)

    assert kg_per_s_to_lb_per_h(float(needed)) == pytest.approx(lb_per_h, rel=1e-5)
    exact = hp * consumption / (8 * duty)
    assert kg_per_s_to_lb_per_h(float(needed)) == pytest.approx(exact, rel=1e-6)


def test_injector_flow_goes_with_the_root_of_pressure() -> None:
    """I2: 30 lb/h at 43.5 psi give 34.641 at 58 psi, 30·√(4/3)."""
    flow = power.injector_flow_at_pressure(
        lb_per_h_to_kg_per_s(30.0), psi_to_pa(43.5), psi_to_pa(58.0)
    )

    assert kg_per_s_to_lb_per_h(float(flow)) == pytest.approx(30 * (4 / 3) ** 0.5, rel=1e-6)


@pytest.mark.parametrize(("consumption", "hp"), [(0.50, 425.5), (0.45, 472.8)])
def test_air_and_consumption_give_the_power_of_the_worked_row(
    consumption: float, hp: float
) -> None:
    """I7: 614.135 ft³/min at 25 °C, 101.325 kPa; air-fuel ratio 12.8."""
    density = gas_density(101_325.0, celsius_to_kelvin(25.0))
    air = density * cfm_to_m3_per_s(614.135)
    efficiency = power.brake_efficiency(lb_per_hp_h_to_kg_per_j(consumption), GASOLINE)

    delivered = air * power.power_per_air_flow(efficiency, GASOLINE, 12.8)

    assert density == pytest.approx(1.1839, rel=1e-4)
    assert air == pytest.approx(0.343141, rel=1e-4)
    assert kg_per_s_to_lb_per_h(float(air)) == pytest.approx(2723.4, rel=1e-4)
    assert w_to_hp(float(delivered)) == pytest.approx(hp, rel=2e-4)


def test_the_charge_of_a_cycle_follows_from_displacement_and_density() -> None:
    """I9: 7.43907 L (U10, printed as 7.439) at J1349's density: 8.60521 g, 0.394406 kg/s."""
    density = gas_density(99_000.0, 298.15)
    speed = rpm_to_rad_per_s(5500.0)

    flow = density * power.induced_volume_flow(7.43907e-3, speed, 1.0)

    assert density * 7.43907e-3 == pytest.approx(8.60521e-3, rel=1e-5)
    assert flow == pytest.approx(0.394406, rel=1e-5)


@pytest.mark.parametrize(
    ("efficiency", "kilowatts", "hp_per_lb_per_min"), [(0.27, 928.1, 9.41), (0.30, 1031.3, 10.45)]
)
def test_power_of_each_kilogram_of_air_matches_the_worked_row(
    efficiency: float, kilowatts: float, hp_per_lb_per_min: float
) -> None:
    """I10: air-fuel ratio 12.8; the trade's 9 to 10.5 hp for each lb/min lies here."""
    per_flow = power.power_per_air_flow(efficiency, GASOLINE, 12.8)

    assert per_flow == pytest.approx(kilowatts * 1e3, rel=1e-4)
    per_lb = w_to_hp(float(per_flow) * lb_per_h_to_kg_per_s(60.0))
    assert per_lb == pytest.approx(hp_per_lb_per_min, rel=1e-3)


def test_power_from_filling_matches_the_textbook_identity() -> None:
    """O8: Heywood 2.38 and 2.41 (from memory): 282.034 kW, 378.2 hp, bmep 9.0982 bar."""
    speed = rpm_to_rad_per_s(5000.0)

    delivered = power.power_from_filling(
        BIG,
        speed,
        0.85,
        1.1839,
        fuel_conversion_efficiency=0.30,
        heating_value=GASOLINE,
        air_fuel_ratio=14.6,
    )

    pressure = power.mean_effective_pressure(power.torque_from_power(delivered, speed), BIG)
    assert delivered == pytest.approx(282.034e3, rel=1e-4)
    assert w_to_hp(float(delivered)) == pytest.approx(378.2, rel=1e-4)
    assert pressure == pytest.approx(9.0982e5, rel=1e-4)


def test_a_test_bed_example_comes_out_as_worked() -> None:
    """O7: example 17.14 of a thermal-engineering text (inputs in FOSSEE Scilab TBC 443).

    1200 rev/min, 120 N·m, 5 kg/h of 42 MJ/kg, four of 100 x 120 mm; air through a 50 mm
    orifice, coefficient 0.6, under 46 mm of water at 1 bar and 290 K (R 287 J/kgK).
    """
    speed = rpm_to_rad_per_s(1200.0)
    displacement = 4 * swept_volume(0.100, 0.120)
    air_density = gas_density(1e5, 290.0, gas_constant=287.0)
    head = 46e-3 * 1000.0 * 9.81
    air = 0.6 * np.pi / 4 * 0.05**2 * np.sqrt(2.0 * head / air_density)

    brake = power.power_from_torque(120.0, speed)
    efficiency = power.brake_efficiency(5.0 / 3600.0 / brake, 42e6)
    pressure = power.mean_effective_pressure(120.0, displacement)
    swept = power.induced_volume_flow(displacement, speed, 1.0)
    filling = power.volumetric_efficiency(air, displacement, speed)

    assert brake == pytest.approx(15.0796e3, rel=1e-4)
    assert efficiency == pytest.approx(0.25851, rel=1e-4)
    assert pressure == pytest.approx(4.0000e5, rel=1e-4)
    assert air * 60 == pytest.approx(1.93732, rel=1e-4)
    assert swept * 60 == pytest.approx(2.26195, rel=1e-4)
    assert filling == pytest.approx(0.85648, rel=1e-4)


def test_a_textbook_engine_delivers_what_is_printed() -> None:
    """K8: Pulkrabek, example 2-2 (from memory): 3.0 L, 3600 rev/min, 205 N·m, 85 %."""
    torque, displacement, mechanical = 205.0, 3.0e-3, 0.85

    brake = power.power_from_torque(torque, rpm_to_rad_per_s(3600.0))
    brake_pressure = power.mean_effective_pressure(torque, displacement)
    friction_pressure = brake_pressure / mechanical - brake_pressure

    assert brake == pytest.approx(77.283e3, rel=1e-4)
    assert brake / mechanical == pytest.approx(90.92e3, rel=1e-4)
    assert brake_pressure == pytest.approx(858.7e3, rel=1e-4)
    assert brake_pressure / mechanical == pytest.approx(1010.2e3, rel=1e-4)
    assert friction_pressure == pytest.approx(151.5e3, rel=3e-4)
    assert brake / displacement == pytest.approx(25.76e6, rel=1e-4)


@given(
    torque=st.floats(min_value=-500.0, max_value=2000.0),
    displacement=st.floats(min_value=1e-4, max_value=2e-2),
)
def test_torque_and_mean_pressure_are_each_other_s_inverse(
    torque: float, displacement: float
) -> None:
    pressure = power.mean_effective_pressure(torque, displacement)

    back = power.torque_from_mean_effective_pressure(pressure, displacement)

    assert back == pytest.approx(torque, rel=1e-12, abs=1e-12)


def test_an_injector_cannot_be_open_for_longer_than_always() -> None:
    with pytest.raises(NonPhysicalInput, match="duty"):
        power.injector_flow_needed(3e5, 8e-8, 8, 1.05)
