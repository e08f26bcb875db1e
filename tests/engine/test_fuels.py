"""Fuels against a reference library's numbers and a textbook's table."""

import numpy as np
import pytest

from service.engine.fuels import (
    ETHANOL,
    ETHANOL_85,
    FUELS,
    GASOLINE,
    ISOOCTANE,
    METHANOL,
    Fuel,
    stoichiometric_air_fuel_ratio,
    vapour_enthalpy,
)
from service.engine.species import ATOMIC_MASS

COMPUTED_WITH_CANTERA = {
    # Stoichiometric air-fuel ratio (air O2 + 3.773 N2 of 28.16 g/mol); lower heating value
    # of the vapour and of a stoichiometric mixture, MJ/kg: cantera 3.2, `nasa_gas.yaml`.
    "isooctane": (15.128, 44.650, 2.769),
    "toluene": (13.503, 40.938, 2.823),
    "ethanol": (9.003, 27.731, 2.772),
    "methanol": (6.472, 21.104, 2.825),
    "methane": (17.234, 50.025, 2.744),
    "propane": (15.675, 46.333, 2.779),
    "hydrogen": (34.287, 119.953, 3.399),
}


@pytest.mark.parametrize("name", COMPUTED_WITH_CANTERA)
def test_a_pure_fuel_needs_the_air_and_gives_the_heat_of_the_reference(name: str) -> None:
    air, heat, heat_of_mixture = COMPUTED_WITH_CANTERA[name]

    ratio = stoichiometric_air_fuel_ratio(FUELS[name])
    heating_value = FUELS[name].heating_value_vapour / 1e6

    assert ratio == pytest.approx(air, rel=1e-3)
    assert heating_value == pytest.approx(heat, rel=2e-3)
    assert heating_value / (1.0 + ratio) == pytest.approx(heat_of_mixture, rel=2e-3)


def test_gasoline_has_the_ratio_and_heating_value_of_the_textbook() -> None:
    """Heywood 1988, table D.4 (from memory): 14.6 and 44.0 MJ/kg."""
    assert stoichiometric_air_fuel_ratio(GASOLINE) == pytest.approx(14.6, rel=1e-3)
    assert GASOLINE.heating_value == pytest.approx(44.0e6, rel=1e-12)
    assert GASOLINE.molar_mass == pytest.approx(0.110, rel=1e-3)


@pytest.mark.parametrize(
    ("fuel", "megajoules"), [(ISOOCTANE, 44.3), (ETHANOL, 26.9), (METHANOL, 20.0)]
)
def test_a_liquid_gives_less_heat_by_what_it_takes_to_evaporate(
    fuel: Fuel, megajoules: float
) -> None:
    """Heywood 1988, table D.4, liquid fuel (from memory)."""
    assert fuel.heating_value / 1e6 == pytest.approx(megajoules, rel=2e-3)
    assert vapour_enthalpy(fuel, 298.15) - fuel.liquid_enthalpy == pytest.approx(fuel.latent_heat)


def test_e85_lies_between_its_parts_and_conserves_atoms() -> None:
    """Common practice, no source: E85 asks for 9.7 to 9.9 parts of air."""
    share = (ETHANOL_85.elements[2]) / ETHANOL.elements[2]

    mixed = share * ETHANOL.elements + (1.0 - share) * GASOLINE.elements

    assert ETHANOL_85.elements == pytest.approx(mixed, rel=1e-12)
    assert 9.7 < stoichiometric_air_fuel_ratio(ETHANOL_85) < 9.9
    assert ETHANOL_85.heating_value == pytest.approx(
        share * ETHANOL.heating_value + (1.0 - share) * GASOLINE.heating_value, rel=1e-9
    )


@pytest.mark.parametrize("fuel", FUELS.values(), ids=FUELS)
def test_a_kilogram_of_fuel_is_a_kilogram_of_atoms(fuel: Fuel) -> None:
    assert fuel.elements @ ATOMIC_MASS == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("fuel", FUELS.values(), ids=FUELS)
def test_the_enthalpy_of_every_vapour_rises_with_temperature(fuel: Fuel) -> None:
    enthalpy = vapour_enthalpy(fuel, np.arange(200.0, 3601.0, 25.0))

    assert np.all(np.diff(enthalpy) > 0.0)


def test_every_fuel_of_the_catalogue_is_known_by_its_word() -> None:
    assert {"gasoline", "ethanol_85", "propane", "methane"} <= set(FUELS)
