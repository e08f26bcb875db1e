"""The tables of the working fluid against the equations they stand for."""

import time

import numpy as np
import pytest

from service.engine.equilibrium import burned_gas, constant_volume_flame
from service.engine.fuels import (
    FUELS,
    GASOLINE,
    Fuel,
    stoichiometric_air_fuel_ratio,
    vapour_enthalpy,
)
from service.engine.gas import (
    FREEZE_TEMPERATURE,
    GasTable,
    burned_properties,
    burned_temperature,
    gas_table,
)
from service.engine.inputs import FloatArray, NonPhysicalInput
from service.engine.species import AIR


def mixed_elements(fuel: Fuel, air_fuel_ratio: float) -> FloatArray:
    elements: FloatArray = (fuel.elements + air_fuel_ratio * AIR.elements) / (1.0 + air_fuel_ratio)
    return elements


@pytest.fixture(params=list(FUELS.values()), ids=list(FUELS))
def rich_table(request: pytest.FixtureRequest) -> GasTable:
    """Every fuel at full-load richness."""
    return gas_table(request.param, stoichiometric_air_fuel_ratio(request.param) / 1.15)


def test_every_energy_rises_with_temperature(rich_table: GasTable) -> None:
    """Heat capacities at constant volume are positive; 500 J/kgK is below any gas here."""
    for energy in (rich_table.air_energy, rich_table.charge_energy, *rich_table.burned_energy):
        assert np.all(np.diff(energy) > 500.0 * rich_table.temperature_step)


def test_the_grid_covers_200_to_3600_kelvin_and_the_densities_of_a_cycle() -> None:
    table = gas_table(GASOLINE, 14.6)

    assert table.temperatures[[0, -1]] == pytest.approx([200.0, 3600.0])
    assert table.densities[[0, -1]] == pytest.approx([0.02, 60.0])
    assert table.burned_energy.shape == (table.densities.size, table.temperatures.size)
    assert table.burned_gas_constant.shape == table.burned_energy.shape


@pytest.mark.parametrize("air_fuel_ratio", [12.0, 13.2, 14.6, 18.0])
def test_interpolated_burned_gas_is_within_a_kelvin_of_equilibrium(air_fuel_ratio: float) -> None:
    table = gas_table(GASOLINE, air_fuel_ratio)
    elements = mixed_elements(GASOLINE, air_fuel_ratio)

    for kelvin in (1710.0, 2230.0, 2610.0, 2990.0):
        for density in (0.35, 1.7, 8.0, 33.0):
            exact = burned_gas(elements, kelvin, density)
            energy, constant = burned_properties(table, kelvin, density)
            assert abs(energy - exact.energy[0]) / exact.heat_capacity[0] < 1.0
            assert constant == pytest.approx(exact.gas_constant[0], rel=5e-4)


def test_burning_the_charge_in_a_closed_volume_gives_the_flame_temperature() -> None:
    """Energy in the charge table, read back in the burned table: no heat of reaction needed."""
    table, elements = gas_table(GASOLINE, 13.0), mixed_elements(GASOLINE, 13.0)
    energy = float(np.interp(700.0, table.temperatures, table.charge_energy))

    burned = burned_temperature(table, energy, 7.0)

    flame = constant_volume_flame(elements, energy, 7.0)
    assert burned == pytest.approx(flame.temperature[0], abs=1.0)


def test_burning_releases_the_heating_value_less_what_freezes_unburned() -> None:
    """Lean and cold, per kilogram of fuel: under half a per cent stays in frozen NO and CO.

    The change of the amount of gas makes the energy released differ from the heating value,
    which is an enthalpy, by the change of the gas constant times temperature.
    """
    air_fuel_ratio = 20.0
    table = gas_table(GASOLINE, air_fuel_ratio)
    charge = float(np.interp(298.15, table.temperatures, table.charge_energy))

    burned, constant = burned_properties(table, 298.15, 20.0)

    released = charge - burned - (constant - table.charge_gas_constant) * 298.15
    share = released * (1.0 + air_fuel_ratio) / GASOLINE.heating_value_vapour
    assert 0.995 < share < 1.0


def test_the_composition_is_frozen_below_the_freezing_temperature(rich_table: GasTable) -> None:
    cold = rich_table.temperatures <= FREEZE_TEMPERATURE
    constants = rich_table.burned_gas_constant[:, cold]

    assert constants == pytest.approx(np.tile(constants[:, -1:], cold.sum()), rel=1e-12)


def test_energy_is_continuous_where_the_composition_freezes() -> None:
    """A jump would show as a step many times the ordinary one."""
    table = gas_table(GASOLINE, 13.0)
    at = int(np.searchsorted(table.temperatures, FREEZE_TEMPERATURE))

    steps = np.diff(table.burned_energy, axis=1)

    assert np.all(steps[:, at] < 1.5 * steps[:, at - 1])
    assert np.all(steps[:, at] > 0.9 * steps[:, at - 1])


def test_dissociation_matters_at_low_density_only() -> None:
    """Le Chatelier: thin hot gas dissociates more and holds more energy."""
    table = gas_table(GASOLINE, 14.6)
    hot = int(np.searchsorted(table.temperatures, 2800.0))

    assert np.all(np.diff(table.burned_energy[:, hot]) < 0.0)
    assert np.all(np.diff(table.burned_gas_constant[:, hot]) < 0.0)


def test_charge_is_air_and_vapour_by_mass() -> None:
    fuel, air_fuel_ratio = FUELS["ethanol_85"], 8.5
    table = gas_table(fuel, air_fuel_ratio)

    vapour = vapour_enthalpy(fuel, table.temperatures) - fuel.gas_constant * table.temperatures
    mixed = (vapour + air_fuel_ratio * table.air_energy) / (1.0 + air_fuel_ratio)

    assert table.charge_energy == pytest.approx(mixed, rel=1e-12)
    assert table.fuel_air_ratio * air_fuel_ratio == pytest.approx(1.0)
    assert table.lower_heating_value == fuel.heating_value
    assert table.fuel_enthalpy_liquid == fuel.liquid_enthalpy


def test_a_table_is_built_in_half_a_second() -> None:
    """An assessment builds one for each air-fuel ratio; a ratio not used elsewhere here."""
    started = time.perf_counter()

    gas_table(GASOLINE, 13.3571)

    assert time.perf_counter() - started < 0.5


def test_a_table_is_shared_and_cannot_be_changed() -> None:
    table = gas_table(GASOLINE, 14.6)

    with pytest.raises(ValueError, match="read-only"):
        table.burned_energy[0, 0] = 0.0

    assert gas_table(GASOLINE, 14.6) is table


def test_a_mixture_that_would_soot_is_refused_by_its_ratio() -> None:
    with pytest.raises(NonPhysicalInput, match="air_fuel_ratio"):
        gas_table(GASOLINE, 4.0)
