"""Wiebe and Woschni; B numbers are rows of the project's table of reference values.

The forms and coefficients are Heywood's, from memory, except where a test says more;
the numbers were computed from them apart from the code.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.heat import (
    ChargePeriod,
    burn_progress_at,
    burn_rate,
    burned_fraction,
    peak_burn_rate,
    wiebe_efficiency_for,
    woschni_coefficient,
    woschni_gas_velocity,
)
from service.engine.inputs import NonPhysicalInput


def test_the_burned_fraction_matches_the_table() -> None:
    """B1: a 5, m 2."""
    fractions = burned_fraction([0.1, 0.25, 0.5, 0.75, 0.9, 1.0])

    expected = [0.004988, 0.075151, 0.464739, 0.878686, 0.973879, 0.993262]
    assert fractions == pytest.approx(expected, abs=1e-6)


def test_the_progress_at_a_fraction_matches_the_table() -> None:
    """B2; the burn from 10 to 90 % takes 0.496025 of its length."""
    progress = burn_progress_at([0.01, 0.10, 0.50, 0.90, 0.99])

    assert progress == pytest.approx([0.126203, 0.276208, 0.517549, 0.772233, 0.972953], abs=1e-6)
    assert progress[3] - progress[1] == pytest.approx(0.496025, abs=1e-6)


def test_the_fastest_moment_of_the_burn_matches_the_table() -> None:
    """B3."""
    peak = peak_burn_rate()

    assert peak.burn_progress == pytest.approx(0.510873, abs=1e-6)
    assert peak.rate == pytest.approx(2.009960, rel=1e-6)
    assert burned_fraction(peak.burn_progress) == pytest.approx(0.486583, abs=1e-6)


def test_the_coefficient_for_a_complete_burn_matches_the_table() -> None:
    """B3: -ln 0.001 = 6.907755."""
    coefficient = wiebe_efficiency_for(0.999)

    assert coefficient == pytest.approx(6.907755, rel=1e-6)
    assert burned_fraction(1.0, wiebe_efficiency=coefficient) == pytest.approx(0.999, rel=1e-12)


@given(
    y=st.floats(min_value=0.01, max_value=0.99),
    a=st.floats(min_value=1.0, max_value=7.0),
    m=st.floats(min_value=0.5, max_value=4.0),
)
def test_rate_is_slope_and_progress_is_inverse(y: float, a: float, m: float) -> None:
    """Second routes: central differences, and going back."""
    shape = {"wiebe_efficiency": a, "wiebe_form": m}
    ahead, behind = burned_fraction([y + 1e-5, y - 1e-5], **shape)

    assert burn_rate(y, **shape) == pytest.approx((ahead - behind) / 2e-5, rel=1e-5, abs=1e-7)
    assert burn_progress_at(burned_fraction(y, **shape), **shape) == pytest.approx(y, rel=1e-9)


@pytest.mark.parametrize(
    ("bore", "pressure", "temperature", "velocity", "expected"),
    [
        (0.100, 3000e3, 2200.0, 27.36, 640.14),
        (0.108, 1500e3, 650.0, 34.2, 846.30),
        (0.108, 5000e3, 2300.0, 64.818, 1845.50),
    ],
)
def test_the_heat_transfer_coefficient_matches_the_table(
    bore: float, pressure: float, temperature: float, velocity: float, expected: float
) -> None:
    """B4: Heywood 12.19; printed to five or six digits."""
    coefficient = woschni_coefficient(bore, pressure, temperature, velocity)

    assert coefficient == pytest.approx(expected, rel=1e-5)


def gas_velocity(period: ChargePeriod, pressure_rise: float) -> float:
    """B5's cylinder: 15 m/s, 0.93 L, 350 K, 100 kPa, volume at bottom dead centre for 10 to 1."""
    velocity = woschni_gas_velocity(
        period, 15.0, 9.3e-4, 350.0, 100e3, 9.3e-4 * 10 / 9, pressure_rise
    )
    return float(velocity)


def test_the_gas_velocity_while_burning_matches_the_table() -> None:
    """B5: C1 read in a course page that quotes SAE 670931; C2 from memory."""
    velocity = gas_velocity(ChargePeriod.COMBUSTION_AND_EXPANSION, 3000e3)

    assert velocity == pytest.approx(64.818, rel=1e-5)


def test_before_burning_only_the_piston_stirs() -> None:
    """B5: 2.28 and 6.18 mean piston speeds, whatever the pressure."""
    assert gas_velocity(ChargePeriod.COMPRESSION, 3000e3) == pytest.approx(2.28 * 15)
    assert gas_velocity(ChargePeriod.GAS_EXCHANGE, 3000e3) == pytest.approx(6.18 * 15)


def test_all_of_it_never_burns() -> None:
    with pytest.raises(NonPhysicalInput, match="burned_fraction"):
        burn_progress_at(1.0)
    with pytest.raises(NonPhysicalInput, match="final_fraction"):
        wiebe_efficiency_for(1.0)


def test_a_burn_that_has_not_begun_has_burned_nothing() -> None:
    assert burned_fraction(0.0) == 0.0
    assert burn_progress_at(0.0) == 0.0
    assert np.all(burned_fraction([0.2, 0.8]) > 0.0)
