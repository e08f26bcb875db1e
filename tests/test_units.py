"""Factors against NIST SP 811, appendix B.8, as printed there to seven digits (from memory)."""

import numpy as np
import pytest

from service import units


@pytest.mark.parametrize(
    ("converted", "printed"),
    [
        (units.inhg_to_pa(1.0), 3386.389),
        (units.inh2o_to_pa(1.0), 249.0889),
        (units.psi_to_pa(1.0), 6894.757),
        (units.hp_to_w(1.0), 745.6999),
        (units.lbft_to_nm(1.0), 1.355818),
        (units.cfm_to_m3_per_s(1.0), 4.719474e-4),
        (units.in3_to_m3(1.0), 1.638706e-5),
        (units.in2_to_m2(1.0), 6.4516e-4),
        (units.in_to_m(1.0), 0.0254),
        (units.lb_per_h_to_kg_per_s(1.0), 1.259979e-4),
        (units.lb_per_hp_h_to_kg_per_j(1.0), 1.689659e-7),
        (units.rpm_to_rad_per_s(1.0), 0.1047198),
        (units.celsius_to_kelvin(25.0), 298.15),
        (units.fahrenheit_to_kelvin(32.0), 273.15),
        (units.fahrenheit_to_kelvin(60.0), 288.7056),
    ],
)
def test_a_conversion_agrees_with_the_printed_factor(converted: float, printed: float) -> None:
    """Printed factors are rounded at the seventh digit."""
    assert converted == pytest.approx(printed, rel=5e-7)


def test_going_there_and_back_gives_what_one_started_with() -> None:
    """Common sense; arrays as well as scalars."""
    values = np.array([0.1, 1.0, 850.0])

    assert units.m3_per_s_to_cfm(units.cfm_to_m3_per_s(values)) == pytest.approx(values)
    assert units.w_to_hp(units.hp_to_w(values)) == pytest.approx(values)
    assert units.nm_to_lbft(units.lbft_to_nm(values)) == pytest.approx(values)
    assert units.rad_per_s_to_rpm(units.rpm_to_rad_per_s(values)) == pytest.approx(values)
    assert units.kg_per_s_to_lb_per_h(units.lb_per_h_to_kg_per_s(values)) == pytest.approx(values)


def test_metric_multiples_are_powers_of_ten() -> None:
    """SI prefixes."""
    assert units.mm_to_m(108.0) == pytest.approx(0.108, rel=1e-15)
    assert units.mm2_to_m2(2500.0) == pytest.approx(2.5e-3, rel=1e-15)
    assert units.cm3_to_m3(750.0) == pytest.approx(7.5e-4, rel=1e-15)


@pytest.mark.parametrize(
    ("fuel_density_kg_per_m3", "cm3_per_min_per_lb_per_h"), [(720.0, 10.49981), (684.0, 11.05)]
)
def test_injector_ratings_in_volume_and_mass_agree_once_the_density_is_stated(
    fuel_density_kg_per_m3: float, cm3_per_min_per_lb_per_h: float
) -> None:
    """Row I3: the trade's 10.5 cm³/min to the lb/h holds for 0.720 kg/L only (arithmetic).

    The second figure is printed with four digits.
    """
    volume_flow = units.cm3_per_min_to_m3_per_s(cm3_per_min_per_lb_per_h)

    mass_flow = volume_flow * fuel_density_kg_per_m3

    assert units.kg_per_s_to_lb_per_h(mass_flow) == pytest.approx(1.0, rel=5e-4)
