"""Burned gas against a reference library.

Unless said otherwise: isooctane in O2 + 3.773 N2; expected values computed with cantera
3.2.0, species of `nasa_gas.yaml`. It takes 1 atm as the standard pressure of the same
polynomials, which the report puts at 1 bar; that moves results by less than 0.1 %.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.equilibrium import (
    LOWEST_TEMPERATURE,
    PRODUCTS,
    BurnedGas,
    burned_gas,
    burned_gas_at_pressure,
    constant_pressure_flame,
    constant_volume_flame,
    fuel_air_otto_cycle,
)
from service.engine.fuels import FUELS, stoichiometric_air_fuel_ratio
from service.engine.inputs import FloatArray, NonPhysicalInput
from service.engine.species import AIR, SPECIES, Mixture, atom_matrix, blend, mixture

ATMOSPHERE = 101_325.0
HEATING_VALUE = 44.345e6
"""Of liquid isooctane, as the reference took it. [J/kg]"""


def charge(equivalence_ratio: float) -> Mixture:
    return mixture({"C8H18": equivalence_ratio, "O2": 12.5, "N2": 12.5 * 3.773})


def fuel_share(gas: Mixture) -> float:
    return float(gas.amounts[gas.species.index("C8H18")]) * SPECIES["C8H18"].molar_mass


def products(equivalence_ratio: float, kelvin: list[float]) -> BurnedGas:
    return burned_gas_at_pressure(charge(equivalence_ratio).elements, kelvin, 10 * ATMOSPHERE)


@pytest.mark.parametrize(
    ("equivalence_ratio", "kelvin"),
    [(0.8, 2044.3), (0.9, 2181.6), (1.0, 2268.4), (1.1, 2268.2), (1.2, 2204.4)],
)
def test_a_flame_at_constant_pressure_has_the_reference_temperature(
    equivalence_ratio: float, kelvin: float
) -> None:
    unburned = charge(equivalence_ratio)

    flame = constant_pressure_flame(unburned.elements, float(unburned.enthalpy(298.15)), ATMOSPHERE)

    assert flame.temperature[0] == pytest.approx(kelvin, rel=1e-3)


def test_a_flame_in_a_closed_volume_has_the_reference_temperature_and_pressure() -> None:
    unburned = charge(1.0)
    density = ATMOSPHERE / (unburned.gas_constant * 298.15)

    flame = constant_volume_flame(unburned.elements, float(unburned.energy(298.15)), density)

    assert flame.temperature[0] == pytest.approx(2632.8, rel=1e-3)
    assert flame.pressure[0] / ATMOSPHERE == pytest.approx(9.501, rel=1e-3)


def test_the_unburned_charge_has_the_reference_heat_capacity_ratios() -> None:
    unburned = charge(1.0)

    ratios = unburned.heat_capacity_ratio([300.0, 500.0, 700.0, 900.0])

    assert ratios == pytest.approx([1.3537, 1.3206, 1.2917, 1.2697], rel=1e-4)
    assert unburned.gas_constant == pytest.approx(274.80, rel=1e-4)


def test_burned_gas_has_the_reference_frozen_ratios() -> None:
    state = products(1.0, [500.0, 1000.0, 1500.0, 2000.0, 2500.0])

    assert state.frozen_heat_capacity_ratio == pytest.approx(
        [1.3472, 1.2941, 1.2670, 1.2529, 1.2484], rel=2e-4
    )
    assert state.gas_constant[[0, -1]] == pytest.approx([290.66, 293.86], rel=2e-4)


def test_burned_gas_has_the_reference_equilibrium_isentropic_exponents() -> None:
    state = products(1.0, [500.0, 1000.0, 1500.0, 2000.0, 2500.0])

    assert state.isentropic_exponent == pytest.approx(
        [1.3472, 1.2941, 1.2658, 1.2326, 1.1806], rel=5e-4
    )


def test_rich_burned_gas_has_the_reference_frozen_ratios() -> None:
    state = products(1.2, [1000.0, 1500.0, 2000.0, 2500.0])

    assert state.frozen_heat_capacity_ratio == pytest.approx(
        [1.3002, 1.2744, 1.2597, 1.2521], rel=2e-4
    )
    assert state.gas_constant[0] == pytest.approx(302.3, rel=2e-4)


@pytest.mark.parametrize(
    ("equivalence_ratio", "compression_ratio", "efficiency", "mean_pressure"),
    [
        (1.0, 7.0, 0.4073, 14.46),
        (1.0, 8.0, 0.4293, 14.93),
        (1.0, 9.0, 0.4481, 15.34),
        (1.0, 10.0, 0.4645, 15.71),
        (1.0, 11.0, 0.4789, 16.03),
        (1.0, 12.0, 0.4917, 16.33),
        (0.6, 10.0, 0.5099, 10.41),
        (0.8, 10.0, 0.4890, 13.27),
        (0.9, 10.0, 0.4783, 14.58),
        (1.1, 10.0, 0.4253, 15.79),
        (1.2, 10.0, 0.3861, 15.62),
    ],
)
def test_the_fuel_air_otto_cycle_matches_the_reference(
    equivalence_ratio: float, compression_ratio: float, efficiency: float, mean_pressure: float
) -> None:
    """From 330 K and 1 atm without residual gas."""
    unburned = charge(equivalence_ratio)

    cycle = fuel_air_otto_cycle(unburned, compression_ratio, 330.0, ATMOSPHERE)

    heat = fuel_share(unburned) * HEATING_VALUE
    assert cycle.work / heat == pytest.approx(efficiency, rel=1e-3)
    assert cycle.mean_effective_pressure / ATMOSPHERE == pytest.approx(mean_pressure, rel=1e-3)


@pytest.mark.parametrize(
    ("equivalence_ratio", "compression_ratio", "efficiency"),
    [(1.0, 8.0, 0.4317), (1.0, 10.0, 0.4668), (1.2, 10.0, 0.3871)],
)
def test_the_fuel_air_cycle_with_residual_gas_matches_the_reference(
    equivalence_ratio: float, compression_ratio: float, efficiency: float
) -> None:
    """5 % residual by mass, from 350 K and 1 atm."""
    fresh = charge(equivalence_ratio)
    burned = burned_gas_at_pressure(fresh.elements, 350.0, ATMOSPHERE)
    diluted = blend(((fresh, 0.95), (Mixture(PRODUCTS, burned.amounts[0]), 0.05)))

    cycle = fuel_air_otto_cycle(diluted, compression_ratio, 350.0, ATMOSPHERE)

    heat = 0.95 * fuel_share(fresh) * HEATING_VALUE
    assert cycle.work / heat == pytest.approx(efficiency, rel=2e-3)


@given(
    name=st.sampled_from(sorted(FUELS)),
    equivalence_ratio=st.floats(0.1, 2.4),
    kelvin=st.floats(300.0, 3800.0),
    density=st.floats(0.02, 60.0),
)
@settings(max_examples=60)
def test_equilibrium_conserves_elements_for_every_fuel(
    name: str, equivalence_ratio: float, kelvin: float, density: float
) -> None:
    elements = premixed_elements(name, equivalence_ratio)

    state = burned_gas(elements, kelvin, density)

    assert (state.amounts @ atom_matrix(PRODUCTS))[0] == pytest.approx(elements, rel=1e-8)
    assert np.all(state.amounts >= 0.0)


@given(
    equivalence_ratio=st.floats(0.5, 1.6),
    kelvin=st.floats(1000.0, 3600.0),
    density=st.floats(0.05, 50.0),
)
@settings(max_examples=40)
def test_slopes_of_equilibrium_states_agree_with_differences(
    equivalence_ratio: float, kelvin: float, density: float
) -> None:
    """cv = du/dT at constant volume; exponent = dln p/dln density at constant entropy."""
    elements = premixed_elements("gasoline", equivalence_ratio)
    state = burned_gas(elements, kelvin, density)
    step = 1e-4
    compressed = kelvin * (1.0 + step * isentropic_temperature_slope(state))
    around = kelvin * np.array([1.0 + step, 1.0 - step])
    warmer, cooler = burned_gas(elements, around, density).energy

    next_state = burned_gas(elements, compressed, density * (1.0 + step))

    assert (warmer - cooler) / (2.0 * step * kelvin) == pytest.approx(state.heat_capacity[0], 1e-4)
    assert next_state.entropy[0] == pytest.approx(state.entropy[0], rel=1e-7)
    exponent = np.log(next_state.pressure[0] / state.pressure[0]) / np.log1p(step)
    assert exponent == pytest.approx(state.isentropic_exponent[0], rel=1e-3)


def isentropic_temperature_slope(state: BurnedGas) -> float:
    """Slope of ln T over ln density at constant entropy: (dp/dT)/(density cv)."""
    moles = state.amounts.sum()
    along_temperature = 1.0 + (state.amounts * state.temperature_response).sum() / moles
    return float(along_temperature * state.gas_constant[0] / state.heat_capacity[0])


def premixed_elements(name: str, equivalence_ratio: float) -> FloatArray:
    fuel = FUELS[name]
    air = stoichiometric_air_fuel_ratio(fuel) / equivalence_ratio
    elements: FloatArray = (fuel.elements + air * AIR.elements) / (1.0 + air)
    return elements


def test_equilibrium_becomes_complete_combustion_when_cold() -> None:
    """Stoichiometric: only CO2, H2O, N2 and argon are left, and nothing shifts."""
    cold = burned_gas(premixed_elements("isooctane", 1.0), LOWEST_TEMPERATURE / 2.0, 1.0)

    main = [PRODUCTS.index(name) for name in ("CO2", "H2O", "N2", "Ar")]
    assert cold.amounts[0, main].sum() == pytest.approx(cold.amounts.sum(), rel=1e-6)
    assert cold.isentropic_exponent == pytest.approx(cold.frozen_heat_capacity_ratio, rel=1e-12)


@pytest.mark.parametrize("name", FUELS)
def test_cold_lean_combustion_releases_the_heating_value(name: str) -> None:
    """Definition of the lower heating value: enthalpy of the charge less that of products."""
    fuel = FUELS[name]
    air = 2.0 * stoichiometric_air_fuel_ratio(fuel)
    charge_enthalpy = fuel.formation_enthalpy + air * float(AIR.enthalpy(298.15))

    burned = burned_gas(premixed_elements(name, 0.5), 298.15, 1.0)

    released = charge_enthalpy - (1.0 + air) * burned.enthalpy[0]
    assert released == pytest.approx(fuel.heating_value_vapour, rel=1e-4)


def test_many_states_at_once_equal_the_states_one_by_one() -> None:
    elements = premixed_elements("ethanol", 1.1)
    kelvin, density = np.array([900.0, 1800.0, 3000.0]), np.array([20.0, 0.3, 5.0])

    together = burned_gas(elements, kelvin, density).energy

    one_by_one = [
        burned_gas(elements, t, rho).energy[0] for t, rho in zip(kelvin, density, strict=True)
    ]
    assert together == pytest.approx(one_by_one, rel=1e-9)


def test_a_mixture_that_would_soot_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="air_fuel_ratio"):
        burned_gas(premixed_elements("gasoline", 3.2), 2000.0, 1.0)


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="temperature"):
        burned_gas(premixed_elements("gasoline", 1.0), -5.0, 1.0)
