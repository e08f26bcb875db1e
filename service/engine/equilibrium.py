r"""Chemical equilibrium of burned gas, and the ideal cycles that rest on it.

Burned gas is a mixture of the twelve `PRODUCTS`. At a given temperature and density
the amounts follow from one potential per element (the Lagrange multipliers of the
element balances [1]_),

.. math:: \ln \frac{p_j}{p^\circ} = \sum_i a_{ij} \lambda_i - \frac{g_j^\circ}{R T}

so four unknowns (C, H, O, N) settle all species; argon is inert. Carbon must not
exceed oxygen, because soot is not among the products.

References
----------
.. [1] S. Gordon, B. J. McBride, *Computer Program for Calculation of Complex Chemical
   Equilibrium Compositions and Applications*, NASA RP-1311, 1994, sections 2.1-2.3.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray, NonPhysicalInput, positive
from service.engine.species import (
    GAS_CONSTANT,
    STANDARD_PRESSURE,
    Mixture,
    atom_matrix,
    mixture_entropy,
    molar_enthalpy,
    molar_entropy,
    molar_heat_capacity,
)

PRODUCTS = ("CO2", "CO", "H2O", "H2", "O2", "N2", "OH", "O", "H", "NO", "N", "Ar")
LOWEST_TEMPERATURE = 800.0
"""Below it the composition of this temperature is used: what still dissociates is under
one part in 10⁸, and the balance of such traces drowns in rounding. [K]"""

_BASIS = ("CO2", "H2O", "O2", "N2")
_BASIS_RICH = ("CO2", "H2O", "CO", "N2")
_CARBON_LIMIT = 0.98
"""Largest carbon to oxygen ratio: at 1 soot would form."""
_TRACE = 1e-4
"""Share of the oxygen taken as free in a first guess without excess. [-]"""
_WATER_GAS_CONSTANT = 3.5
"""[CO][H2O]/[CO2][H2] near 1740 K, for a first guess only (Heywood 1988, Eq. 4.6,
from memory)."""
_TOLERANCE = 1e-10
_STEP_LIMIT = 3.0
"""Largest change of a potential in one step; keeps exponentials in bounds."""
_ITERATIONS = 300


class EquilibriumNotFound(ArithmeticError):
    """The element balances could not be closed."""


class CarbonExceedsOxygen(NonPhysicalInput):
    """So rich that soot would form, which is not among the products."""

    def __init__(self) -> None:
        super().__init__("air_fuel_ratio", limit="must be higher, or soot would form")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BurnedGas:
    """Burned gas in equilibrium, at one or more states.

    Attributes
    ----------
    temperature : ndarray, shape (n,)
        [K]
    density : ndarray, shape (n,)
        [kg m⁻³]
    amounts : ndarray, shape (n, 12)
        Of each of the `PRODUCTS`. [mol kg⁻¹]
    temperature_response : ndarray, shape (n, 12)
        Change of the logarithm of each amount with the logarithm of temperature, at
        constant density. [-]
    density_response : ndarray, shape (n, 12)
        The same with the logarithm of density, at constant temperature. [-]
    """

    temperature: FloatArray
    density: FloatArray
    amounts: FloatArray
    temperature_response: FloatArray
    density_response: FloatArray

    @property
    def gas_constant(self) -> FloatArray:
        """Specific gas constant, shape (n,) [J kg⁻¹ K⁻¹]."""
        return GAS_CONSTANT * np.asarray(self.amounts.sum(axis=1))

    @property
    def pressure(self) -> FloatArray:
        """Pressure, shape (n,) [Pa]."""
        return self.density * self.gas_constant * self.temperature

    @property
    def energy(self) -> FloatArray:
        """Absolute specific internal energy, shape (n,) [J kg⁻¹]."""
        return np.asarray((self.amounts * self._molar_energy).sum(axis=1))

    @property
    def enthalpy(self) -> FloatArray:
        """Absolute specific enthalpy, shape (n,) [J kg⁻¹]."""
        return self.energy + self.gas_constant * self.temperature

    @property
    def entropy(self) -> FloatArray:
        """Absolute specific entropy, shape (n,) [J kg⁻¹ K⁻¹]."""
        return mixture_entropy(PRODUCTS, self.amounts, self.temperature, self.density)

    @property
    def frozen_heat_capacity(self) -> FloatArray:
        """At constant volume and composition, shape (n,) [J kg⁻¹ K⁻¹]."""
        per_mole = molar_heat_capacity(PRODUCTS, self.temperature) - GAS_CONSTANT
        return np.asarray((self.amounts * per_mole).sum(axis=1))

    @property
    def frozen_heat_capacity_ratio(self) -> FloatArray:
        """Of the heat capacities at constant composition, shape (n,) [-]."""
        return 1.0 + self.gas_constant / self.frozen_heat_capacity

    @property
    def heat_capacity(self) -> FloatArray:
        """At constant volume while the composition shifts, shape (n,) [J kg⁻¹ K⁻¹]."""
        shift = (self.amounts * self.temperature_response * self._molar_energy).sum(axis=1)
        return np.asarray(self.frozen_heat_capacity + shift / self.temperature)

    @property
    def isentropic_exponent(self) -> FloatArray:
        """Slope of ln p over ln density at constant entropy, shape (n,) [-].

        Pressure's slopes along temperature and density, joined as for any equation of
        state: Gordon & McBride, NASA RP-1311, 1994, section 2.6.
        """
        moles = self.amounts.sum(axis=1)
        along_temperature = 1.0 + (self.amounts * self.temperature_response).sum(axis=1) / moles
        along_density = 1.0 + (self.amounts * self.density_response).sum(axis=1) / moles
        capacity_ratio = self.gas_constant / self.heat_capacity
        return np.asarray(along_density + along_temperature**2 * capacity_ratio)

    @property
    def _molar_energy(self) -> FloatArray:
        enthalpy = molar_enthalpy(PRODUCTS, self.temperature)
        return np.asarray(enthalpy - GAS_CONSTANT * self.temperature[:, None])


def burned_gas(elements: FloatArray, temperature: ArrayLike, density: ArrayLike) -> BurnedGas:
    """Equilibrium of burned gas at given temperature and density.

    Parameters
    ----------
    elements : ndarray, shape (5,)
        Atoms in one kilogram, in the order of `species.ELEMENTS`. [mol kg⁻¹]
    temperature : array_like, shape (n,) or scalar
        Up to 6000 K; below `LOWEST_TEMPERATURE` the composition no longer changes. [K]
    density : array_like, shape (n,) or scalar
        [kg m⁻³]

    Returns
    -------
    BurnedGas
        One state for each pair.

    Raises
    ------
    NonPhysicalInput
        If soot would form, or an argument is not positive.
    EquilibriumNotFound
        If the element balances do not close.

    Examples
    --------
    >>> steam = np.array([0.0, 2.0, 1.0, 0.0, 0.0]) / 18.015e-3
    >>> state = burned_gas(steam, 3000.0, 0.0731)
    >>> shares = (state.amounts / state.amounts.sum())[0]
    >>> [float(shares[PRODUCTS.index(name)].round(3)) for name in ("H2O", "H2", "O2")]
    [0.662, 0.13, 0.045]
    """
    kelvin, rho = np.broadcast_arrays(
        np.atleast_1d(positive("temperature", temperature)),
        np.atleast_1d(positive("density", density)),
    )
    settled = np.maximum(kelvin, LOWEST_TEMPERATURE)
    amounts = _amounts(elements, settled, rho)
    with_temperature, with_density = _responses(amounts, settled)
    moving = (kelvin >= LOWEST_TEMPERATURE)[:, None]
    return BurnedGas(
        temperature=kelvin,
        density=rho,
        amounts=amounts,
        temperature_response=np.where(moving, with_temperature, 0.0),
        density_response=np.where(moving, with_density, 0.0),
    )


def burned_gas_at_pressure(
    elements: FloatArray, temperature: ArrayLike, pressure: ArrayLike
) -> BurnedGas:
    """Equilibrium of burned gas at given temperature and pressure.

    Parameters
    ----------
    elements : ndarray, shape (5,)
        Atoms in one kilogram, in the order of `species.ELEMENTS`. [mol kg⁻¹]
    temperature : array_like, shape (n,) or scalar
        [K]
    pressure : array_like, shape (n,) or scalar
        [Pa]

    Returns
    -------
    BurnedGas
        One state for each pair.

    Raises
    ------
    NonPhysicalInput
        If soot would form, or an argument is not positive.
    EquilibriumNotFound
        If the element balances do not close.

    Examples
    --------
    >>> steam = np.array([0.0, 2.0, 1.0, 0.0, 0.0]) / 18.015e-3
    >>> float(burned_gas_at_pressure(steam, 3000.0, 101_325.0).pressure.round(0)[0])
    101325.0
    """
    kelvin, pascal = np.broadcast_arrays(
        np.atleast_1d(positive("temperature", temperature)),
        np.atleast_1d(positive("pressure", pressure)),
    )
    # The mean molar mass hardly depends on density, so the density closes by repetition.
    density = pascal * 28e-3 / (GAS_CONSTANT * kelvin)
    for _ in range(_ITERATIONS):
        state = burned_gas(elements, kelvin, density)
        ratio = pascal / state.pressure
        if np.all(np.abs(ratio - 1.0) < _TOLERANCE):
            return state
        density = density * ratio
    raise EquilibriumNotFound


def constant_volume_flame(elements: FloatArray, energy: float, density: float) -> BurnedGas:
    """Burned gas of a given energy in a closed volume.

    Parameters
    ----------
    elements : ndarray, shape (5,)
        Atoms in one kilogram, in the order of `species.ELEMENTS`. [mol kg⁻¹]
    energy : float
        Absolute specific internal energy, before as after. [J kg⁻¹]
    density : float
        [kg m⁻³]

    Returns
    -------
    BurnedGas
        Its temperature is the adiabatic flame temperature at constant volume.

    Raises
    ------
    EquilibriumNotFound
        If no temperature has this energy.

    Examples
    --------
    >>> steam = np.array([0.0, 2.0, 1.0, 0.0, 0.0]) / 18.015e-3
    >>> hot = burned_gas(steam, 2500.0, 1.0)
    >>> float(constant_volume_flame(steam, hot.energy[0], 1.0).temperature.round(3)[0])
    2500.0
    """
    return _state_at(
        lambda kelvin: burned_gas(elements, kelvin, density),
        lambda state: (energy - state.energy) / state.heat_capacity,
    )


def constant_pressure_flame(elements: FloatArray, enthalpy: float, pressure: float) -> BurnedGas:
    """Burned gas of a given enthalpy at constant pressure.

    Parameters
    ----------
    elements : ndarray, shape (5,)
        Atoms in one kilogram, in the order of `species.ELEMENTS`. [mol kg⁻¹]
    enthalpy : float
        Absolute specific enthalpy, before as after. [J kg⁻¹]
    pressure : float
        [Pa]

    Returns
    -------
    BurnedGas
        Its temperature is the adiabatic flame temperature at constant pressure.

    Raises
    ------
    EquilibriumNotFound
        If no temperature has this enthalpy.

    Examples
    --------
    >>> steam = np.array([0.0, 2.0, 1.0, 0.0, 0.0]) / 18.015e-3
    >>> hot = burned_gas_at_pressure(steam, 2500.0, 1e5)
    >>> float(constant_pressure_flame(steam, hot.enthalpy[0], 1e5).temperature.round(3)[0])
    2500.0
    """
    return _state_at(
        lambda kelvin: burned_gas_at_pressure(elements, kelvin, pressure),
        # The slope of energy stands in for that of enthalpy, which is larger by a fifth.
        lambda state: (enthalpy - state.enthalpy) / (state.heat_capacity + state.gas_constant),
    )


def isentropic_gas(elements: FloatArray, entropy: float, density: float) -> BurnedGas:
    """Burned gas of a given entropy and density, its composition shifting.

    Parameters
    ----------
    elements : ndarray, shape (5,)
        Atoms in one kilogram, in the order of `species.ELEMENTS`. [mol kg⁻¹]
    entropy : float
        Absolute specific entropy. [J kg⁻¹ K⁻¹]
    density : float
        [kg m⁻³]

    Returns
    -------
    BurnedGas
        The state on this isentrope.

    Raises
    ------
    EquilibriumNotFound
        If no temperature has this entropy.

    Examples
    --------
    >>> steam = np.array([0.0, 2.0, 1.0, 0.0, 0.0]) / 18.015e-3
    >>> hot = burned_gas(steam, 2500.0, 1.0)
    >>> float(isentropic_gas(steam, hot.entropy[0], 0.5).temperature.round(0)[0])
    2267.0
    """
    return _state_at(
        lambda kelvin: burned_gas(elements, kelvin, density),
        lambda state: (entropy - state.entropy) * state.temperature / state.heat_capacity,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OttoCycle:
    """Results of one fuel-air Otto cycle, for one kilogram of mixture.

    Attributes
    ----------
    work : float
        Net work of compression and expansion. [J kg⁻¹]
    mean_effective_pressure : float
        Work over swept volume. [Pa]
    peak_pressure : float
        After combustion. [Pa]
    peak_temperature : float
        After combustion. [K]
    """

    work: float
    mean_effective_pressure: float
    peak_pressure: float
    peak_temperature: float


def fuel_air_otto_cycle(
    charge: Mixture, compression_ratio: float, temperature: float, pressure: float
) -> OttoCycle:
    """Best that a premixed charge can do: the ceiling of any real engine.

    Parameters
    ----------
    charge : Mixture
        What is compressed: air, fuel vapour and residual gas.
    compression_ratio : float
        Volume before over volume after compression. [-]
    temperature : float
        Before compression. [K]
    pressure : float
        Before compression. [Pa]

    Returns
    -------
    OttoCycle
        Its work over the heating value of the fuel in the charge is the efficiency.

    Raises
    ------
    EquilibriumNotFound
        If a state of the cycle cannot be found.

    Notes
    -----
    Isentropic compression at fixed composition, adiabatic combustion to equilibrium at
    constant volume, isentropic expansion in equilibrium, nothing lost to walls [1]_.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       section 5.5.3.

    Examples
    --------
    >>> from service.engine.species import mixture
    >>> charge = mixture({"C8H18": 1.0, "O2": 12.5, "N2": 12.5 * 3.773})
    >>> round(fuel_air_otto_cycle(charge, 8.0, 330.0, 101_325.0).peak_temperature)
    2871
    """
    density = pressure / (charge.gas_constant * temperature)
    compressed = isentropic_temperature(charge, temperature, compression_ratio)
    energy = float(charge.energy(compressed))
    burned = constant_volume_flame(charge.elements, energy, density * compression_ratio)
    expanded = isentropic_gas(charge.elements, float(burned.entropy[0]), density)
    work = float(charge.energy(temperature)) - float(expanded.energy[0])
    return OttoCycle(
        work=work,
        mean_effective_pressure=work * density / (1.0 - 1.0 / compression_ratio),
        peak_pressure=float(burned.pressure[0]),
        peak_temperature=float(burned.temperature[0]),
    )


def isentropic_temperature(gas: Mixture, temperature: float, density_ratio: float) -> float:
    """Temperature after isentropic compression or expansion at fixed composition.

    Parameters
    ----------
    gas : Mixture
        Working fluid.
    temperature : float
        Before. [K]
    density_ratio : float
        Density after over density before. [-]

    Returns
    -------
    float
        Temperature after. [K]

    Raises
    ------
    EquilibriumNotFound
        If no temperature has the entropy.

    Notes
    -----
    A constant ratio of specific heats would give the textbook power law; here entropy
    is kept with heat capacities that vary.

    Examples
    --------
    >>> from service.engine.species import mixture
    >>> round(isentropic_temperature(mixture({"Ar": 1.0}), 300.0, 8.0), 3)
    1200.0
    """
    start = float(gas.entropy(temperature, 1.0))
    kelvin = temperature * density_ratio ** (float(gas.heat_capacity_ratio(temperature)) - 1.0)
    for _ in range(_ITERATIONS):
        missing = start - float(gas.entropy(kelvin, density_ratio))
        capacity = float(gas.isobaric_heat_capacity(kelvin)) - gas.gas_constant
        step = missing * kelvin / capacity
        kelvin += step
        if abs(step) < _TOLERANCE * kelvin:
            return float(kelvin)
    raise EquilibriumNotFound


def _state_at(
    state_of: Callable[[float], BurnedGas], step_from: Callable[[BurnedGas], FloatArray]
) -> BurnedGas:
    """Newton's way to the temperature at which the step vanishes."""
    kelvin = 2000.0
    for _ in range(_ITERATIONS):
        state = state_of(kelvin)
        step = float(step_from(state)[0])
        if abs(step) < _TOLERANCE * kelvin:
            return state
        # Halving is the largest cut, so the search cannot leave the range of the data.
        kelvin = max(kelvin + step, kelvin / 2.0)
    raise EquilibriumNotFound


def _amounts(elements: FloatArray, temperature: FloatArray, density: FloatArray) -> FloatArray:
    """Amounts of the `PRODUCTS` that close the element balances. [mol kg⁻¹]."""
    carbon, _, oxygen, _, argon = elements
    if carbon > _CARBON_LIMIT * oxygen:
        raise CarbonExceedsOxygen
    active = elements[:4] > 0.0
    atoms = atom_matrix(PRODUCTS)[:, :4]
    absent = atoms[:, ~active].any(axis=1) | (np.array(PRODUCTS) == "Ar")
    # ln n_j = a_ij λ_i + offset_j, from the equation in the module's docstring.
    offset = _standard_potential(PRODUCTS, temperature)
    offset -= np.log(density * GAS_CONSTANT * temperature / STANDARD_PRESSURE)[:, None]
    offset[:, absent] = -np.inf
    potentials = _first_potentials(elements, temperature, density)[:, active]
    amounts = _closed(atoms[:, active], offset, potentials, elements[:4][active])
    amounts[:, PRODUCTS.index("Ar")] = argon
    return amounts


def _closed(
    atoms: FloatArray, offset: FloatArray, potentials: FloatArray, target: FloatArray
) -> FloatArray:
    """Damped Newton on the logarithms of the element balances, all states at once."""
    for _ in range(_ITERATIONS):
        amounts = np.exp(potentials @ atoms.T + offset)
        totals = amounts @ atoms
        residual = np.log(totals / target)
        if np.all(np.abs(residual) < _TOLERANCE):
            return np.asarray(amounts)
        jacobian = np.einsum("nj,ja,jb->nab", amounts, atoms, atoms) / totals[:, :, None]
        step = np.linalg.solve(jacobian, -residual[:, :, None])[:, :, 0]
        longest = np.abs(step).max(axis=1, keepdims=True)
        potentials = potentials + step * np.minimum(1.0, _STEP_LIMIT / np.maximum(longest, 1e-300))
    raise EquilibriumNotFound


def _first_potentials(
    elements: FloatArray, temperature: FloatArray, density: FloatArray
) -> FloatArray:
    """Potentials that four main products would have if all else were absent."""
    carbon, hydrogen, oxygen, nitrogen, _ = np.maximum(elements, np.finfo(np.float64).tiny)
    excess = oxygen - 2.0 * carbon - hydrogen / 2.0
    basis, guess = _BASIS, [carbon, hydrogen / 2.0, max(excess / 2.0, _TRACE * oxygen)]
    if excess < -_TRACE * oxygen:
        monoxide = _monoxide(carbon, hydrogen, oxygen)
        basis, guess = _BASIS_RICH, [carbon - monoxide, oxygen + monoxide - 2 * carbon, monoxide]
    amounts = np.maximum([*guess, nitrogen / 2.0], np.finfo(np.float64).tiny)
    pressures = density * GAS_CONSTANT * temperature / STANDARD_PRESSURE
    known = np.log(amounts) + np.log(pressures)[:, None] - _standard_potential(basis, temperature)
    return np.asarray(np.linalg.solve(atom_matrix(basis)[:, :4], known.T).T)


def _monoxide(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Carbon monoxide of rich products by the water-gas reaction. [mol kg⁻¹]."""
    # [H2O] = water + [CO] and [H2] = rest - [CO] by the oxygen and hydrogen balances, so
    # [CO][H2O] = K [CO2][H2] is a quadratic equation; K > 1 makes the sum below positive.
    water = oxygen - 2.0 * carbon
    rest = hydrogen / 2.0 - water
    half = (water + _WATER_GAS_CONSTANT * (carbon + rest)) / 2.0
    product = (_WATER_GAS_CONSTANT - 1.0) * _WATER_GAS_CONSTANT * carbon * rest
    return (half - math.sqrt(half**2 - product)) / (_WATER_GAS_CONSTANT - 1.0)


def _standard_potential(species: tuple[str, ...], temperature: FloatArray) -> FloatArray:
    """Minus the standard Gibbs function over RT, shape (n, n_species) [-]."""
    enthalpy = molar_enthalpy(species, temperature) / temperature[:, None]
    return np.asarray((molar_entropy(species, temperature) - enthalpy) / GAS_CONSTANT)


def _responses(amounts: FloatArray, temperature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Logarithmic slopes of the amounts along temperature and along density."""
    present = amounts.sum(axis=0) > 0.0
    atoms = atom_matrix(PRODUCTS)
    # Argon balances itself: its potential moves just as far as its pressure.
    atoms = atoms[:, (amounts @ atoms > 0.0).all(axis=0)]
    energy = molar_enthalpy(PRODUCTS, temperature) / (GAS_CONSTANT * temperature[:, None]) - 1.0
    pull = np.stack([energy, np.full_like(energy, -1.0)], axis=2)
    matrix = np.einsum("nj,ja,jb->nab", amounts, atoms, atoms)
    sides = -np.einsum("nj,ja,njk->nak", amounts, atoms, pull)
    moves = np.linalg.solve(matrix, sides)
    slopes = (np.einsum("ja,nak->njk", atoms, moves) + pull) * present[None, :, None]
    return slopes[:, :, 0], slopes[:, :, 1]
