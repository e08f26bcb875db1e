"""The working fluid as tables that a compiled loop can read.

Air and charge are frozen mixtures, so their energy depends on temperature alone. Burned
gas is in equilibrium down to `FREEZE_TEMPERATURE` and keeps the composition of that
temperature below it; its energy depends on density too, because dissociation does.
All energies are absolute: burning is nothing but a change of table.

The polynomials behind the tables hold from 200 to 6000 K. Whoever reads a table outside
its range gets the straight continuation of its last interval.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from service.engine.equilibrium import PRODUCTS, burned_gas
from service.engine.fuels import Fuel, vapour_enthalpy
from service.engine.inputs import FloatArray, positive
from service.engine.species import AIR, GAS_CONSTANT, molar_enthalpy

TEMPERATURE_START, TEMPERATURE_STEP, TEMPERATURE_COUNT = 200.0, 25.0, 137
"""Uniform grid from 200 to 3600 K. [K]"""
DENSITY_LOW, DENSITY_HIGH, DENSITY_COUNT = 0.02, 60.0, 17
"""Grid with uniform steps of the logarithm; at this spacing linear interpolation is less
than 1 K wrong up to 3000 K above 0.3 kg m⁻³. [kg m⁻³]"""
FREEZE_TEMPERATURE = 1700.0
"""Below it reactions are too slow for an expansion stroke, and the water-gas equilibrium
keeps the composition of about this temperature (Heywood, *Internal Combustion Engine
Fundamentals*, 1988, sections 4.7 and 4.9.2, from memory; the round number for lean
mixtures too is an assumption). [K]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GasTable:
    """Air, charge and burned gas of one fuel at one air-fuel ratio.

    Attributes
    ----------
    temperature_start, temperature_step : float
        First temperature and spacing of the grid. [K]
    log_density_start, log_density_step : float
        Natural logarithm of the first density in kg/m³, and spacing. [-]
    air_energy : ndarray, shape (n_temperature,)
        Specific internal energy of air. [J kg⁻¹]
    charge_energy : ndarray, shape (n_temperature,)
        Specific internal energy of air with its fuel as vapour. [J kg⁻¹]
    burned_energy : ndarray, shape (n_density, n_temperature)
        Specific internal energy of the burned charge. [J kg⁻¹]
    burned_gas_constant : ndarray, shape (n_density, n_temperature)
        Specific gas constant of the burned charge. [J kg⁻¹ K⁻¹]
    air_gas_constant, charge_gas_constant : float
        Specific gas constants. [J kg⁻¹ K⁻¹]
    fuel_air_ratio : float
        By mass. [-]
    fuel_enthalpy_liquid : float
        Absolute enthalpy of the fuel as delivered, at 298.15 K. [J kg⁻¹]
    fuel_enthalpy_vapour : ndarray, shape (n_temperature,)
        Absolute enthalpy of the fuel's vapour. [J kg⁻¹]
    lower_heating_value : float
        Of the fuel as delivered, at 298.15 K. [J kg⁻¹]
    """

    temperature_start: float
    temperature_step: float
    log_density_start: float
    log_density_step: float
    air_energy: FloatArray
    charge_energy: FloatArray
    burned_energy: FloatArray
    burned_gas_constant: FloatArray
    air_gas_constant: float
    charge_gas_constant: float
    fuel_air_ratio: float
    fuel_enthalpy_liquid: float
    fuel_enthalpy_vapour: FloatArray
    lower_heating_value: float

    @property
    def temperatures(self) -> FloatArray:
        """Grid of temperature, shape (n_temperature,) [K]."""
        columns = np.arange(self.air_energy.size, dtype=np.float64)
        return self.temperature_start + self.temperature_step * columns

    @property
    def densities(self) -> FloatArray:
        """Grid of density, shape (n_density,) [kg m⁻³]."""
        rows = np.arange(self.burned_energy.shape[0], dtype=np.float64)
        return np.asarray(np.exp(self.log_density_start + self.log_density_step * rows))


@lru_cache(maxsize=32)
def gas_table(fuel: Fuel, air_fuel_ratio: float) -> GasTable:
    """Build the tables for one fuel at one air-fuel ratio.

    Parameters
    ----------
    fuel : Fuel
        What is burned.
    air_fuel_ratio : float
        By mass. [-]

    Returns
    -------
    GasTable
        Shared between callers: its arrays are read-only.

    Raises
    ------
    NonPhysicalInput
        If the ratio is not positive, or so low that soot would form.

    Examples
    --------
    >>> from service.engine.fuels import GASOLINE
    >>> table = gas_table(GASOLINE, 12.8)
    >>> table.burned_energy.shape
    (17, 137)
    >>> round(table.charge_gas_constant, 1)
    271.7
    """
    kelvin = TEMPERATURE_START + TEMPERATURE_STEP * np.arange(TEMPERATURE_COUNT, dtype=np.float64)
    density = np.geomspace(DENSITY_LOW, DENSITY_HIGH, DENSITY_COUNT)
    vapour = vapour_enthalpy(fuel, kelvin)
    air_energy = AIR.energy(kelvin)
    fuel_share = 1.0 / (1.0 + float(positive("air_fuel_ratio", air_fuel_ratio)))
    elements = fuel_share * fuel.elements + (1.0 - fuel_share) * AIR.elements
    burned_energy, burned_constant = _burned_tables(elements, kelvin, density)
    vapour_energy = vapour - fuel.gas_constant * kelvin
    return GasTable(
        temperature_start=TEMPERATURE_START,
        temperature_step=TEMPERATURE_STEP,
        log_density_start=math.log(DENSITY_LOW),
        log_density_step=math.log(DENSITY_HIGH / DENSITY_LOW) / (DENSITY_COUNT - 1),
        air_energy=_locked(air_energy),
        charge_energy=_locked(fuel_share * vapour_energy + (1.0 - fuel_share) * air_energy),
        burned_energy=_locked(burned_energy),
        burned_gas_constant=_locked(burned_constant),
        air_gas_constant=AIR.gas_constant,
        charge_gas_constant=fuel_share * fuel.gas_constant + (1.0 - fuel_share) * AIR.gas_constant,
        fuel_air_ratio=1.0 / air_fuel_ratio,
        fuel_enthalpy_liquid=fuel.liquid_enthalpy,
        fuel_enthalpy_vapour=_locked(vapour),
        lower_heating_value=fuel.heating_value,
    )


def burned_properties(table: GasTable, temperature: float, density: float) -> tuple[float, float]:
    """Energy and gas constant of burned gas, interpolated as the compiled loop does.

    Parameters
    ----------
    table : GasTable
        Where to look.
    temperature : float
        [K]
    density : float
        Held at the ends of the grid. [kg m⁻³]

    Returns
    -------
    tuple of float
        Specific internal energy and gas constant. [J kg⁻¹; J kg⁻¹ K⁻¹]

    Examples
    --------
    >>> from service.engine.fuels import GASOLINE
    >>> energy, constant = burned_properties(gas_table(GASOLINE, 14.6), 1000.0, 0.3)
    >>> round(constant, 1)
    286.7
    """
    rows = table.burned_energy.shape[0]
    place = (np.log(density) - table.log_density_start) / table.log_density_step
    row = int(np.clip(place, 0, rows - 2))
    weight = float(np.clip(place - row, 0.0, 1.0))
    energy, constant = (
        (1.0 - weight) * _between(table, values[row], temperature)
        + weight * _between(table, values[row + 1], temperature)
        for values in (table.burned_energy, table.burned_gas_constant)
    )
    return energy, constant


def burned_temperature(table: GasTable, energy: float, density: float) -> float:
    """Temperature of burned gas of a given energy and density.

    Parameters
    ----------
    table : GasTable
        Where to look.
    energy : float
        Absolute specific internal energy, within the table's range. [J kg⁻¹]
    density : float
        Held at the ends of the grid. [kg m⁻³]

    Returns
    -------
    float
        [K]

    Examples
    --------
    >>> from service.engine.fuels import GASOLINE
    >>> table = gas_table(GASOLINE, 14.6)
    >>> energy, _ = burned_properties(table, 2410.0, 5.0)
    >>> round(burned_temperature(table, energy, 5.0), 6)
    2410.0
    """
    column = [burned_properties(table, kelvin, density)[0] for kelvin in table.temperatures]
    return float(np.interp(energy, column, table.temperatures))


def _burned_tables(
    elements: FloatArray, temperature: FloatArray, density: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Energy and gas constant of burned gas on the grid, frozen where it is cold."""
    settled = np.maximum(temperature, FREEZE_TEMPERATURE)
    distinct, source = np.unique(settled, return_inverse=True)
    hot = burned_gas(elements, np.tile(distinct, density.size), np.repeat(density, distinct.size))
    amounts = hot.amounts.reshape(density.size, distinct.size, -1)[:, source, :]
    moles = amounts.sum(axis=2)
    enthalpy = (amounts * molar_enthalpy(PRODUCTS, temperature)).sum(axis=2)
    return enthalpy - GAS_CONSTANT * moles * temperature, GAS_CONSTANT * moles


def _between(table: GasTable, values: FloatArray, temperature: float) -> float:
    """Straight interpolation along temperature, continued past both ends."""
    position = (temperature - table.temperature_start) / table.temperature_step
    below = int(np.clip(position, 0, values.size - 2))
    return float(values[below] + (position - below) * (values[below + 1] - values[below]))


def _locked(values: FloatArray) -> FloatArray:
    """C-ordered and read-only, because the cached table is shared."""
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
