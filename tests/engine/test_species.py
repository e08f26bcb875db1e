"""Species data against published tables and textbook cycles of air."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from service.engine.equilibrium import isentropic_temperature
from service.engine.species import (
    AIR,
    BREAK_TEMPERATURE,
    SPECIES,
    Mixture,
    blend,
    mixture,
    molar_enthalpy,
    molar_entropy,
    molar_heat_capacity,
)

TEXTBOOK_AIR = mixture({"O2": 0.21, "N2": 0.78, "Ar": 0.01})
EVERY_SPECIES = tuple(SPECIES)


def otto_states(
    start: float, compression_ratio: float, *, heat: float | None = None, peak: float = np.nan
) -> tuple[float, float, float]:
    """Temperatures 2, 3 and 4 of an air-standard cycle with variable heat capacities."""
    compressed = isentropic_temperature(TEXTBOOK_AIR, start, compression_ratio)
    if heat is not None:
        target = float(TEXTBOOK_AIR.energy(compressed)) + heat
        peak = brentq(lambda kelvin: float(TEXTBOOK_AIR.energy(kelvin)) - target, 300.0, 5000.0)
    expanded = isentropic_temperature(TEXTBOOK_AIR, peak, 1.0 / compression_ratio)
    return compressed, peak, expanded


def net_work(start: float, compressed: float, peak: float, expanded: float) -> float:
    energies = TEXTBOOK_AIR.energy([start, compressed, peak, expanded])
    return float(energies[2] - energies[1] - energies[3] + energies[0])


def test_an_otto_cycle_with_variable_heat_capacities_matches_the_textbook() -> None:
    """Cengel & Boles, Thermodynamics, Ex. 9-2, printed results (from memory), 0.3 %."""
    start, pressure, ratio, heat = 290.15, 100e3, 8.0, 800e3

    compressed, peak, expanded = otto_states(start, ratio, heat=heat)

    work = net_work(start, compressed, peak, expanded)
    volume = TEXTBOOK_AIR.gas_constant * start / pressure
    assert peak == pytest.approx(1575.1, rel=3e-3)
    assert pressure * ratio * peak / start == pytest.approx(4.345e6, rel=3e-3)
    assert work == pytest.approx(418.17e3, rel=3e-3)
    assert work / heat == pytest.approx(0.523, rel=3e-3)
    assert work / (volume * (1.0 - 1.0 / ratio)) == pytest.approx(574e3, rel=3e-3)


def test_an_otto_cycle_of_given_peak_temperature_matches_a_second_route() -> None:
    """Moran & Shapiro Ex. 9.1 inputs; results computed with cantera 3.2 `air.yaml`, 0.5 %."""
    start, ratio, peak = 300.0, 8.0, 2000.0

    compressed, _, expanded = otto_states(start, ratio, peak=peak)

    work = net_work(start, compressed, peak, expanded)
    heat = float(TEXTBOOK_AIR.energy(peak) - TEXTBOOK_AIR.energy(compressed))
    swept = TEXTBOOK_AIR.gas_constant * start * (1.0 - 1.0 / ratio)
    assert compressed * 1.8 == pytest.approx(1210.7, rel=5e-3)
    assert expanded * 1.8 == pytest.approx(1875.3, rel=5e-3)
    assert ratio * compressed / start == pytest.approx(17.936, rel=5e-3)
    assert ratio * peak / start == pytest.approx(53.333, rel=1e-5)
    assert expanded / start == pytest.approx(3.4728, rel=5e-3)
    assert work / heat == pytest.approx(0.51024, rel=5e-3)
    assert work / swept == pytest.approx(8.0321, rel=5e-3)


def test_air_has_the_heat_capacity_ratios_of_the_reference_library() -> None:
    """Values by cantera 3.2, `air.yaml`."""
    ratios = AIR.heat_capacity_ratio([300.0, 500.0, 700.0, 900.0])

    assert ratios == pytest.approx([1.4000, 1.3866, 1.3649, 1.3441], rel=1e-3)
    assert AIR.gas_constant == pytest.approx(287.05, rel=1e-4)


def test_formation_enthalpies_are_those_of_the_key_values_tables() -> None:
    """CODATA Key Values for Thermodynamics, 1989 (from memory). [kJ/mol]"""
    enthalpies = molar_enthalpy(("CO2", "CO", "H2O", "H", "O", "N"), 298.15) / 1e3

    assert enthalpies == pytest.approx([-393.51, -110.53, -241.826, 217.998, 249.18, 472.68], 1e-3)


@pytest.mark.parametrize("name", EVERY_SPECIES)
def test_both_ranges_of_a_polynomial_meet_at_the_break(name: str) -> None:
    """The report constrains its fits to be continuous there."""
    below, above = np.nextafter(BREAK_TEMPERATURE, 0.0), BREAK_TEMPERATURE

    for quantity in (molar_heat_capacity, molar_enthalpy, molar_entropy):
        assert quantity((name,), below) == pytest.approx(quantity((name,), above), rel=2e-4)


@given(kelvin=st.floats(210.0, 3590.0), name=st.sampled_from(EVERY_SPECIES))
def test_heat_capacity_is_the_slope_of_enthalpy_and_of_entropy(kelvin: float, name: str) -> None:
    """Definitions: cp = dh/dT = T ds/dT."""
    if abs(kelvin - BREAK_TEMPERATURE) < 1.0:
        kelvin += 2.0
    around = np.array([kelvin - 0.05, kelvin + 0.05])

    capacity = molar_heat_capacity((name,), kelvin)[0]

    assert np.diff(molar_enthalpy((name,), around)[:, 0])[0] / 0.1 == pytest.approx(capacity, 1e-4)
    slope = np.diff(molar_entropy((name,), around)[:, 0])[0] / 0.1
    assert slope * kelvin == pytest.approx(capacity, rel=1e-4)


@given(share=st.floats(0.0, 1.0))
def test_blending_conserves_mass_and_elements(share: float) -> None:
    steam, air = mixture({"H2O": 1.0}), AIR

    blended = blend(((steam, share), (air, 1.0 - share)))

    assert blended.elements == pytest.approx(
        share * steam.elements + (1.0 - share) * air.elements, rel=1e-12, abs=1e-12
    )
    masses = np.array([SPECIES[name].molar_mass for name in blended.species])
    assert blended.amounts @ masses == pytest.approx(1.0, rel=1e-12)


def test_a_species_that_is_absent_adds_no_entropy() -> None:
    pure = mixture({"N2": 1.0})
    with_nothing = Mixture(("N2", "CO"), np.array([pure.amounts[0], 0.0]))

    assert with_nothing.entropy(500.0, 1.0) == pytest.approx(float(pure.entropy(500.0, 1.0)))
