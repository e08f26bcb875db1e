"""Restriction flow against the library `fluids`, gas tables and closed forms.

F numbers are rows of the project's table of reference values.
"""

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from fluids.compressible import P_critical_flow, is_critical_flow
from fluids.flow_meter import nozzle_expansibility
from hypothesis import given
from hypothesis import strategies as st

from service.engine import flow
from service.engine.inputs import NonPhysicalInput
from service.units import celsius_to_kelvin, fahrenheit_to_kelvin, inh2o_to_pa, inhg_to_pa

RATIOS = st.floats(min_value=0.0, max_value=1.0)


@pytest.mark.parametrize(
    ("gamma", "tabulated"),
    [(1.4, 0.5282818), (1.35, 0.5368512), (1.3, 0.5457277), (1.28, 0.5493682)],
)
def test_the_critical_ratio_agrees_with_tables_and_the_reference_library(
    gamma: float, tabulated: float
) -> None:
    """F1: computed with `fluids`."""
    assert flow.critical_pressure_ratio(gamma) == pytest.approx(tabulated, rel=1e-6)
    assert flow.critical_pressure_ratio(gamma) == pytest.approx(P_critical_flow(1.0, gamma))


@pytest.mark.parametrize(
    ("gamma", "tabulated"), [(1.4, 0.6847315), (1.35, 0.6761449), (1.3, 0.6672624)]
)
def test_choked_flow_matches_the_closed_form(gamma: float, tabulated: float) -> None:
    """F2: closed form √k·(2/(k+1))^((k+1)/(2(k-1))), computed apart from the code."""
    assert flow.flow_function(0.0, gamma=gamma) == pytest.approx(tabulated, rel=1e-6)


def test_choked_flow_of_air_is_five_sixths_cubed_of_sonic_flow_at_rest_density() -> None:
    """F3: for gamma 1.4 the closed form is exactly (5/6)³."""
    assert flow.choked_flow_per_sound_speed(1.4) == pytest.approx((5 / 6) ** 3, rel=1e-7)


def test_the_flow_function_matches_its_closed_form_below_choking() -> None:
    """F4: closed form, computed apart from the code."""
    ratios = [0.99, 0.95, 0.90, 0.80, 0.70, 0.60]
    expected = [0.140662, 0.307641, 0.422581, 0.560661, 0.638317, 0.676915]

    assert flow.flow_function(ratios) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("area", "pressure", "temperature", "gamma", "gas_constant", "expected"),
    [
        (1e-4, 101_325.0, 298.15, 1.4, 287.05, 0.02371596),
        (1e-4, 5e5, 1300.0, 1.3, 287.0, 0.0546203),
    ],
)
def test_choked_mass_flow_matches_the_closed_form(
    area: float,
    pressure: float,
    temperature: float,
    gamma: float,
    gas_constant: float,
    expected: float,
) -> None:
    """F5: closed form, computed apart from the code."""
    mass_flow = flow.restriction_mass_flow(
        area,
        pressure,
        0.2 * pressure,
        temperature,
        discharge_coefficient=1.0,
        gamma=gamma,
        gas_constant=gas_constant,
    )

    assert mass_flow == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("ratio", "tabulated"),
    [
        (0.99, 0.994628),
        (0.95, 0.972847),
        (0.90, 0.944920),
        (0.80, 0.886483),
        (0.70, 0.824064),
        (0.60, 0.756814),
        (0.53, 0.706242),
    ],
)
def test_expansibility_agrees_with_the_reference_library(ratio: float, tabulated: float) -> None:
    """F6: `fluids`, a nozzle that is tiny against its pipe."""
    library = nozzle_expansibility(D=1.0, Do=1e-3, P1=101_325.0, P2=101_325.0 * ratio, k=1.4)

    assert flow.expansibility(ratio) == pytest.approx(tabulated, rel=1e-6)
    assert flow.expansibility(ratio) == pytest.approx(library, rel=1e-6)


def test_a_nozzle_on_the_bench_passes_what_the_reference_library_says() -> None:
    """F7: 50 mm, 28 inches of water; Bernoulli times the library's expansibility is the check."""
    drop = inh2o_to_pa(28.0)
    area = np.pi / 4 * 0.05**2

    mass_flow = flow.restriction_mass_flow(
        area, 101_325.0, 101_325.0 - drop, 293.15, discharge_coefficient=1.0
    )

    library = nozzle_expansibility(D=1.0, Do=1e-3, P1=101_325.0, P2=101_325.0 - drop, k=1.4)
    density = 101_325.0 / (287.05 * 293.15)
    assert mass_flow == pytest.approx(0.244907, rel=1e-4)
    assert mass_flow == pytest.approx(library * area * np.sqrt(2 * density * drop), rel=1e-6)


def test_choking_is_found_where_the_reference_library_finds_it() -> None:
    """F8: `fluids`; 53.0 kPa behind one atmosphere chokes, 54.0 kPa does not."""
    for behind in (53_000.0, 54_000.0):
        choked = bool(flow.is_choked(behind / 101_325.0))
        assert choked == is_critical_flow(101_325.0, behind, 1.4)
    assert flow.is_choked(53_000.0 / 101_325.0)
    assert not flow.is_choked(54_000.0 / 101_325.0)


def test_isentropic_relations_match_the_gas_tables() -> None:
    """F9, F10: computed with pygasflow; the same as NACA Report 1135 (from memory)."""
    mach = [0.3, 0.5, 0.8, 2.0]

    pressure = flow.isentropic_pressure_ratio(mach)
    area = flow.sonic_area_ratio(mach)

    assert pressure == pytest.approx([0.939470, 0.843019, 0.656022, 0.127805], abs=1e-6)
    assert area == pytest.approx([2.035065, 1.339844, 1.038230, 1.687500], rel=1e-6)
    assert flow.isentropic_mach(pressure) == pytest.approx(mach, rel=1e-12)


def test_a_nozzle_below_choking_matches_the_gas_tables() -> None:
    """F11: pygasflow and closed form; p0 101325 Pa, T0 300 K, 80 kPa behind."""
    state = flow.nozzle_exit(101_325.0, 80_000.0, 300.0)

    assert state.mach == pytest.approx(0.590963, rel=1e-5)
    assert state.temperature == pytest.approx(280.414, rel=1e-5)
    assert state.velocity == pytest.approx(198.382, rel=1e-5)
    assert state.mass_flux == pytest.approx(197.168, rel=1e-5)


def test_a_choked_nozzle_runs_at_the_speed_of_sound() -> None:
    """Gas tables: T*/T0 = 1/1.2 for gamma 1.4; mass flux by continuity."""
    state = flow.nozzle_exit([2e5, 4e5], 1e5, 300.0)

    density = flow.gas_density(np.array([2e5, 4e5]) * 0.5282818, 250.0)
    assert state.mach == pytest.approx(1.0)
    assert state.temperature == pytest.approx(250.0)
    assert state.mass_flux == pytest.approx(density * state.velocity, rel=1e-6)


def test_the_friction_length_matches_the_gas_tables() -> None:
    """F12: computed with pygasflow's Fanno solver."""
    lengths = flow.fanno_length([0.2, 0.3, 0.5, 0.7])

    assert lengths == pytest.approx([14.53327, 5.299253, 1.069060, 0.208139], rel=1e-5)
    assert flow.fanno_length(1.0) == 0.0


def test_the_speed_of_sound_in_air_matches_the_table() -> None:
    """F27: closed form with R 287.05 J/kgK and gamma 1.4."""
    temperatures = np.array([20.0, 25.0, 50.0, 60.0])

    speeds = flow.sound_speed(celsius_to_kelvin(temperatures))

    assert speeds == pytest.approx([343.232, 346.147, 360.367, 365.900], rel=1e-5)


def test_reference_densities_match_their_standards() -> None:
    """I8: J1349 and J607 by arithmetic; sea level by the 1976 atmosphere of `fluids`."""
    j1349 = flow.gas_density(99_000.0, 298.15)
    j607 = flow.gas_density(inhg_to_pa(29.92), fahrenheit_to_kelvin(60.0))
    sea_level = flow.gas_density(101_325.0, 288.15)

    assert j1349 == pytest.approx(1.156759, rel=1e-5)
    assert j607 == pytest.approx(1.222604, rel=1e-5)
    assert sea_level == pytest.approx(ATMOSPHERE_1976(0.0).rho, rel=2e-5)


@given(lower=RATIOS, upper=RATIOS)
def test_flow_does_not_fall_when_the_pressure_behind_falls(lower: float, upper: float) -> None:
    low, high = sorted((lower, upper))

    assert flow.flow_function(low) >= flow.flow_function(high) - 1e-15


def test_flow_does_not_change_once_choked() -> None:
    choked = flow.flow_function([0.0, 0.1, 0.5, 0.528])

    assert np.ptp(choked) == 0.0


def test_flow_against_the_pressure_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="downstream_pressure"):
        flow.restriction_mass_flow(1e-3, 1e5, 1.01e5, 300.0, discharge_coefficient=1.0)
