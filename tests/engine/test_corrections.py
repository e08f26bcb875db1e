"""Weather corrections; C numbers are rows of the project's table of reference values.

The worked factors were computed there apart from the code, with CoolProp's saturation
pressure. The formulas of ISO 1585, DIN 70020 and ISO 3046 are from memory on both sides;
J1349 and J607 were read in secondary sources.
"""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.corrections import (
    CorrectionStandard,
    correction_factor,
    dry_air_pressure,
    iso_3046_power_adjustment,
    saturation_pressure,
    vapour_pressure,
)
from service.engine.inputs import NonPhysicalInput
from service.units import celsius_to_kelvin

J1349 = CorrectionStandard.SAE_J1349
J607 = CorrectionStandard.SAE_J607
J607_FRICTION = CorrectionStandard.SAE_J607_WITH_FRICTION
ISO = CorrectionStandard.ISO_1585
DIN = CorrectionStandard.DIN_70020


class Row(NamedTuple):
    total_kpa: float
    celsius: float
    humidity: float
    vapour_kpa: float
    j1349: float
    constant_friction: float
    j607: float
    j607_friction: float
    iso: float
    din: float


ROWS = {
    "C1": Row(99.000, 25.0, 0.00, 0.0, 1.00000, 1.00000, 1.04005, 1.04726, 1.00030, 1.03218),
    "C2": Row(101.325, 15.0, 0.00, 0.0, 0.95342, 0.95356, 0.99900, 0.99881, 0.95311, 0.99144),
    "C3": Row(101.321, 15.556, 0.00, 0.0, 0.95456, 0.95470, 1.00000, 1.00000, 0.95426, 0.99243),
    "C4": Row(97.697, 29.444, 0.85, 3.4964, 1.06932, 1.06912, 1.10115, 1.11936, 1.07123, 1.05371),
    "C5": Row(101.930, 12.778, 0.35, 0.5168, 0.94806, 0.94821, 0.99427, 0.99324, 0.94770, 0.98174),
    "C6": Row(84.000, 20.0, 0.30, 0.7018, 1.21062, 1.20999, 1.22569, 1.26631, 1.21821, 1.20625),
    "C7": Row(100.000, 30.0, 0.50, 2.1235, 1.02351, 1.02344, 1.06077, 1.07171, 1.02427, 1.03039),
    "C8": Row(98.000, 35.0, 0.60, 3.3774, 1.07512, 1.07490, 1.10626, 1.12539, 1.07720, 1.06005),
    "C9": Row(102.000, 10.0, 0.80, 0.9826, 0.94697, 0.94713, 0.99331, 0.99210, 0.94660, 0.97629),
}
rows = pytest.mark.parametrize("row", ROWS.values(), ids=ROWS)


def factor_in(row: Row, standard: CorrectionStandard) -> float:
    temperature = celsius_to_kelvin(row.celsius)
    result = correction_factor(
        standard,
        pressure=row.total_kpa * 1e3,
        temperature=temperature,
        vapour_pressure=vapour_pressure(temperature, row.humidity),
    )
    return float(result.value)


def factor(
    standard: CorrectionStandard,
    *,
    pressure: float = 99e3,
    celsius: float = 25.0,
    vapour: float = 0.0,
) -> float:
    result = correction_factor(
        standard,
        pressure=pressure,
        temperature=celsius_to_kelvin(celsius),
        vapour_pressure=vapour,
    )
    return float(result.value)


@rows
def test_every_standard_gives_the_worked_factor(row: Row) -> None:
    """C1 to C9, at the tolerance for the same source of vapour pressure."""
    assert factor_in(row, J1349) == pytest.approx(row.j1349, abs=1e-4)
    assert factor_in(row, J607) == pytest.approx(row.j607, abs=1e-4)
    assert factor_in(row, J607_FRICTION) == pytest.approx(row.j607_friction, abs=1e-4)
    assert factor_in(row, ISO) == pytest.approx(row.iso, abs=1e-4)
    assert factor_in(row, DIN) == pytest.approx(row.din, abs=1e-4)


@rows
def test_the_vapour_of_the_worked_rows_is_found(row: Row) -> None:
    """C1 to C9: relative humidity times CoolProp's saturation pressure."""
    vapour = vapour_pressure(celsius_to_kelvin(row.celsius), row.humidity)

    assert vapour == pytest.approx(row.vapour_kpa * 1e3, rel=2e-4)
    dry = dry_air_pressure(row.total_kpa * 1e3, vapour)
    assert dry == pytest.approx((row.total_kpa - row.vapour_kpa) * 1e3, rel=1e-5)


@rows
def test_j1349_is_constant_friction_at_85_per_cent_rounded(row: Row) -> None:
    """Origin of 1.18 and 0.18: (C - 0.15)/0.85, algebra; rounding costs under 1e-3."""
    assert factor_in(row, J1349) == pytest.approx(row.constant_friction, abs=1e-3)


def test_a_published_example_of_two_days_comes_out_alike() -> None:
    """C10: J607 of 1.1005 and 0.994 printed in a forum article for the weather of C4 and C5."""
    assert factor_in(ROWS["C4"], J607) == pytest.approx(1.1005, abs=1e-3)
    assert factor_in(ROWS["C5"], J607) == pytest.approx(0.994, abs=1e-3)


def test_saturation_pressure_agrees_with_the_property_library() -> None:
    """C11: CoolProp; PsychroLib agrees with it to 3e-4."""
    temperatures = celsius_to_kelvin(np.array([0.01, 10.0, 20.0, 25.0, 30.0, 35.0, 40.0]))

    pressures = saturation_pressure(temperatures)

    kilopascals = [0.61165, 1.2282, 2.33932, 3.16993, 4.24697, 5.62902, 7.38494]
    assert pressures == pytest.approx(np.array(kilopascals) * 1e3, rel=2e-3)


def test_water_boils_at_a_hundred_degrees() -> None:
    """One atmosphere at 99.97 °C (steam tables, from memory: 101.42 kPa at 100 °C)."""
    assert saturation_pressure(373.15) == pytest.approx(101.42e3, rel=1e-3)


def test_a_kilopascal_of_vapour_costs_one_point_two_per_cent() -> None:
    """C12: 1 kPa of vapour in 99 kPa at 25 °C; arithmetic."""
    assert factor(J1349, vapour=1e3) == pytest.approx(1.01204, abs=1e-5)


def test_the_old_standard_quotes_four_per_cent_more() -> None:
    """C13: without friction terms the ratio is 1.04005: densities times root of temperature."""
    assert factor(J607) / factor(J1349) == pytest.approx(1.04005, abs=1e-4)


def test_the_forum_version_of_j1349_is_not_used() -> None:
    """A post divides by 505 °R and equates 990 mbar with 29.92 inHg; its reference is not ours."""
    wrong = 1.18 * (29.92 / 29.2346) * (536.67 / 505.0) ** 0.5 - 0.18
    assert wrong > 1.05

    assert factor(J1349) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("k", [0.85, 0.90, 0.95, 1.05])
def test_the_iso_3046_adjustment_matches_its_formula(k: float) -> None:
    """C14: arithmetic for a mechanical efficiency of 0.80, on a formula from memory."""
    expected = {0.85: 0.82375, 0.90: 0.88250, 0.95: 0.94125, 1.05: 1.05875}[k]

    assert iso_3046_power_adjustment(k, 0.80) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("standard", [J1349, ISO])
def test_a_factor_outside_the_standard_s_limits_is_flagged(standard: CorrectionStandard) -> None:
    """C1, C6, C8: limits 0.93 to 1.07 (from memory)."""
    total = np.array([ROWS[key].total_kpa for key in ("C1", "C6", "C8")]) * 1e3
    celsius = np.array([ROWS[key].celsius for key in ("C1", "C6", "C8")])
    vapour = np.array([ROWS[key].vapour_kpa for key in ("C1", "C6", "C8")]) * 1e3

    result = correction_factor(
        standard,
        pressure=total,
        temperature=celsius_to_kelvin(celsius),
        vapour_pressure=vapour,
    )

    assert result.within_validity is not None
    assert result.within_validity.tolist() == [True, False, False]


@pytest.mark.parametrize("standard", [J607, J607_FRICTION, DIN])
def test_a_standard_without_known_limits_says_nothing_about_them(
    standard: CorrectionStandard,
) -> None:
    result = correction_factor(standard, pressure=84e3, temperature=293.15, vapour_pressure=702.0)

    assert result.within_validity is None


CELLS = {
    "pressure": st.floats(min_value=80e3, max_value=103e3),
    "celsius": st.floats(min_value=-5.0, max_value=40.0),
    "vapour": st.floats(min_value=0.0, max_value=4e3),
}


@pytest.mark.parametrize("standard", CorrectionStandard)
@given(**CELLS)
def test_thin_and_warm_air_is_corrected_upwards(
    standard: CorrectionStandard, pressure: float, celsius: float, vapour: float
) -> None:
    """C15: direction that every standard shares."""
    here = factor(standard, pressure=pressure, celsius=celsius, vapour=vapour)

    assert factor(standard, pressure=pressure - 500, celsius=celsius, vapour=vapour) > here
    assert factor(standard, pressure=pressure, celsius=celsius + 1, vapour=vapour) > here


@pytest.mark.parametrize("standard", [J1349, J607, J607_FRICTION, ISO])
@given(**CELLS)
def test_damp_air_is_corrected_upwards_where_the_standard_counts_dry_air(
    standard: CorrectionStandard, pressure: float, celsius: float, vapour: float
) -> None:
    """C15."""
    here = factor(standard, pressure=pressure, celsius=celsius, vapour=vapour)

    assert factor(standard, pressure=pressure, celsius=celsius, vapour=vapour + 100) > here


def test_the_old_german_standard_does_not_count_humidity() -> None:
    assert factor(DIN, vapour=2e3) == factor(DIN)


@pytest.mark.parametrize(
    ("standard", "pressure", "celsius"),
    [
        (J1349, 99e3, 25.0),
        (J607, 101_320.75, 15.5556),
        (J607_FRICTION, 101_320.75, 15.5556),
        (ISO, 99e3, 24.85),
        (DIN, 101_325.0, 20.0),
    ],
)
def test_in_its_reference_weather_a_standard_changes_nothing(
    standard: CorrectionStandard, pressure: float, celsius: float
) -> None:
    """C15: reference states as the standards give them."""
    assert factor(standard, pressure=pressure, celsius=celsius) == pytest.approx(1.0, abs=1e-6)


@given(
    low=st.floats(min_value=80e3, max_value=92e3), high=st.floats(min_value=95e3, max_value=103e3)
)
def test_j1349_grows_by_1_18_of_the_thinness_of_the_air(low: float, high: float) -> None:
    """C15: slope against (99 kPa/p) at 25 °C."""
    rise = factor(J1349, pressure=low) - factor(J1349, pressure=high)

    assert rise / (99e3 / low - 99e3 / high) == pytest.approx(1.18, rel=1e-9)


def test_vapour_that_fills_the_air_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="vapour_pressure"):
        factor(J1349, pressure=3e3, vapour=3e3)


def test_a_temperature_that_is_no_weather_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="temperature"):
        saturation_pressure(25.0)
