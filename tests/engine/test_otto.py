"""The air-standard cycle; O numbers are rows of the project's table of reference values."""

import numpy as np
import pytest

from service.engine.inputs import NonPhysicalInput
from service.engine.otto import otto_cycle, otto_efficiency
from service.engine.power import power_from_torque, torque_from_mean_effective_pressure
from service.units import (
    fahrenheit_to_kelvin,
    in3_to_m3,
    psi_to_pa,
    rpm_to_rad_per_s,
    w_to_hp,
)

RANKINE = 5.0 / 9.0
"""Kelvins in a degree Rankine."""
BTU_PER_POUND = 2326.0
"""International table, exact. [J kg⁻¹]"""


@pytest.mark.parametrize(
    ("gamma", "expected"),
    [
        (1.4, [0.56472, 0.58476, 0.59364, 0.60189, 0.61678, 0.62989]),
        (1.3, [0.46411, 0.48272, 0.49104, 0.49881, 0.51294, 0.52549]),
    ],
)
def test_efficiency_follows_from_the_ratio_alone(gamma: float, expected: list[float]) -> None:
    """O1: closed form."""
    efficiency = otto_efficiency([8.0, 9.0, 9.5, 10.0, 11.0, 12.0], gamma=gamma)

    assert efficiency == pytest.approx(expected, abs=1e-5)


def test_the_cold_air_version_of_a_textbook_cycle_comes_out() -> None:
    """O3: Cengel and Boles, example 9-2, with cv 0.718 and R 0.287; computed apart."""
    cycle = otto_cycle(8.0, 100e3, 290.0, 800e3, isochoric_heat_capacity=718.0, gas_constant=287.0)

    assert cycle.compressed_temperature == pytest.approx(666.245, rel=1e-4)
    assert cycle.peak_temperature == pytest.approx(1780.45, rel=1e-4)
    assert cycle.expanded_temperature == pytest.approx(774.99, rel=1e-4)
    assert cycle.net_work == pytest.approx(451.78e3, rel=1e-4)
    assert cycle.net_work / 800e3 == pytest.approx(0.56472, rel=1e-4)
    assert cycle.mean_effective_pressure == pytest.approx(620.35e3, rel=1e-4)


def test_compression_in_a_textbook_example_comes_out() -> None:
    """O5: Balmer, example 13.14 (inputs in FOSSEE Scilab TBC 3831): ratio 8, 70 °F, 14.7 psia."""
    cycle = otto_cycle(
        8.0, psi_to_pa(14.7), fahrenheit_to_kelvin(70.0), 0.0, isochoric_heat_capacity=718.0
    )

    assert cycle.compressed_temperature == pytest.approx(1216.86 * RANKINE, rel=1e-4)
    assert cycle.compressed_pressure == pytest.approx(psi_to_pa(270.17), rel=1e-4)


def test_a_whole_engine_in_a_textbook_example_comes_out() -> None:
    """O6: Balmer, example 13.15 (inputs in FOSSEE Scilab TBC 3831).

    Ratio 9, 20 000 Btu/lb of fuel, 16 parts of air, 60 °F, 8.00 psia, cv 0.172 Btu/lb°R,
    260 in³, 4000 rev/min, 85 hp measured. R 0.0685 Btu/lb°R, as the book rounds it.
    """
    heat_capacity = 0.172 * BTU_PER_POUND / RANKINE
    cycle = otto_cycle(
        9.0,
        psi_to_pa(8.0),
        fahrenheit_to_kelvin(60.0),
        20e3 / 16.0 * BTU_PER_POUND,
        isochoric_heat_capacity=heat_capacity,
        gas_constant=0.0685 * BTU_PER_POUND / RANKINE,
    )
    torque = torque_from_mean_effective_pressure(cycle.mean_effective_pressure, in3_to_m3(260.0))
    indicated = w_to_hp(float(power_from_torque(torque, rpm_to_rad_per_s(4000.0))))

    assert otto_efficiency(9.0) == pytest.approx(0.58476, rel=1e-4)
    assert cycle.peak_temperature == pytest.approx(8519.0 * RANKINE, rel=1e-4)
    assert cycle.peak_pressure == pytest.approx(psi_to_pa(1180.3), rel=1e-4)
    assert indicated == pytest.approx(242.67, rel=1e-4)
    assert 85.0 / indicated == pytest.approx(0.35027, rel=1e-4)
    assert 85.0 / indicated * otto_efficiency(9.0) == pytest.approx(0.20482, rel=1e-4)


def test_work_is_the_area_of_the_indicator_diagram() -> None:
    """A second route: ∮p dV along both adiabats, by numeric integration."""
    ratio, gamma, gas_constant = 9.5, 1.4, 287.05
    cycle = otto_cycle(
        ratio, 1e5, 320.0, 1.2e6, isochoric_heat_capacity=gas_constant / (gamma - 1.0)
    )
    largest = gas_constant * 320.0 / 1e5
    volume = np.geomspace(largest / ratio, largest, 20_001)
    smallest = volume[0]

    expansion = cycle.peak_pressure * (smallest / volume) ** gamma
    compression = cycle.compressed_pressure * (smallest / volume) ** gamma

    work = np.trapezoid(expansion - compression, volume)
    assert cycle.net_work == pytest.approx(work, rel=1e-6)
    swept = largest - smallest
    assert cycle.mean_effective_pressure == pytest.approx(work / swept, rel=1e-6)


def test_heat_that_is_taken_away_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="heat_added"):
        otto_cycle(8.0, 1e5, 300.0, -1.0, isochoric_heat_capacity=718.0)
