"""Fuels: composition, heating value and the enthalpy of their vapour.

A fuel is a mean molecule of carbon, hydrogen and oxygen with an absolute enthalpy.
Fuels that are one species take everything from its polynomial. Gasoline is a surrogate:
its molecule is chosen for the air it needs, its enthalpy of formation for the heat it
gives, and its vapour has the specific heat of isooctane by mass.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray
from service.engine.species import (
    AIR,
    ATOMIC_MASS,
    ELEMENTS,
    GAS_CONSTANT,
    SPECIES,
    STANDARD_TEMPERATURE,
    Mixture,
    atom_matrix,
    molar_enthalpy,
)

_CARBON, _HYDROGEN, _OXYGEN = 0, 1, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """What is burned, by its mean molecule.

    Attributes
    ----------
    name : str
        Key in `FUELS`.
    carbon, hydrogen, oxygen : float
        Atoms in the mean molecule.
    vapour_shares : tuple of (str, float)
        Species whose heat capacity the vapour has, each with its share by mass. [-]
    formation_enthalpy : float
        Of the vapour from its elements, at 298.15 K. [J kg⁻¹]
    latent_heat : float
        Of evaporation at 298.15 K; 0 for a fuel that arrives as gas. [J kg⁻¹]
    """

    name: str
    carbon: float
    hydrogen: float
    oxygen: float
    vapour_shares: tuple[tuple[str, float], ...]
    formation_enthalpy: float
    latent_heat: float

    @property
    def molar_mass(self) -> float:
        """Of the mean molecule [kg mol⁻¹]."""
        return float(np.dot(self._atoms, ATOMIC_MASS))

    @property
    def gas_constant(self) -> float:
        """Of the vapour [J kg⁻¹ K⁻¹]."""
        return GAS_CONSTANT / self.molar_mass

    @property
    def elements(self) -> FloatArray:
        """Atoms in one kilogram, in the order of `ELEMENTS` [mol kg⁻¹]."""
        elements: FloatArray = np.array(self._atoms) / self.molar_mass
        return elements

    @property
    def heating_value_vapour(self) -> float:
        """Lower heating value of the vapour at 298.15 K [J kg⁻¹]."""
        return self.formation_enthalpy + _burned_enthalpy_deficit(self._atoms) / self.molar_mass

    @property
    def heating_value(self) -> float:
        """Lower heating value as delivered: of the liquid, if there is one [J kg⁻¹]."""
        return self.heating_value_vapour - self.latent_heat

    @property
    def liquid_enthalpy(self) -> float:
        """Absolute enthalpy as delivered, at 298.15 K [J kg⁻¹]."""
        return self.formation_enthalpy - self.latent_heat

    @property
    def _atoms(self) -> tuple[float, ...]:
        return (self.carbon, self.hydrogen, self.oxygen) + (0.0,) * (len(ELEMENTS) - 3)


def vapour_enthalpy(fuel: Fuel, temperature: ArrayLike) -> FloatArray:
    """Absolute enthalpy of a fuel's vapour.

    Parameters
    ----------
    fuel : Fuel
        What evaporates.
    temperature : array_like
        200 to 6000 K; a real fuel decomposes above about 1200 K. [K]

    Returns
    -------
    ndarray, shape of temperature
        Enthalpy of formation included. [J kg⁻¹]

    Examples
    --------
    >>> float(vapour_enthalpy(ISOOCTANE, 298.15).round(-3))
    -1961000.0
    """
    names = tuple(name for name, _ in fuel.vapour_shares)
    moles = np.array([share / SPECIES[name].molar_mass for name, share in fuel.vapour_shares])
    sensible = molar_enthalpy(names, temperature) - molar_enthalpy(names, STANDARD_TEMPERATURE)
    return fuel.formation_enthalpy + np.asarray(sensible @ moles)


def stoichiometric_air_fuel_ratio(fuel: Fuel, air: Mixture = AIR) -> float:
    """Air that burns a fuel to carbon dioxide and water with nothing left over.

    Parameters
    ----------
    fuel : Fuel
        What is burned.
    air : Mixture
        Oxidiser; its carbon dioxide takes no part.

    Returns
    -------
    float
        By mass. [-]

    Notes
    -----
    Oxygen balance of complete combustion [1]_.

    References
    ----------
    .. [1] J. B. Heywood, *Internal Combustion Engine Fundamentals*, McGraw-Hill, 1988,
       Eq. 3.5-3.6.

    Examples
    --------
    >>> round(stoichiometric_air_fuel_ratio(ISOOCTANE), 2)
    15.13
    """
    # Oxygen atoms that a kilogram lacks for burning all its carbon and hydrogen.
    lack = np.array([2.0, 0.5, -1.0, 0.0, 0.0])
    return float(fuel.elements @ lack / -(air.elements @ lack))


def _burned_enthalpy_deficit(atoms: tuple[float, ...]) -> float:
    """Heat of forming gaseous CO2 and H2O from the elements in a molecule. [J mol⁻¹]."""
    carbon_dioxide, steam = molar_enthalpy(("CO2", "H2O"), STANDARD_TEMPERATURE)
    return float(-atoms[_CARBON] * carbon_dioxide - atoms[_HYDROGEN] / 2.0 * steam)


def _pure(name: str, formula: str, latent_heat: float) -> Fuel:
    """Fuel that is one species."""
    carbon, hydrogen, oxygen, *_ = atom_matrix((formula,))[0]
    enthalpy = molar_enthalpy((formula,), STANDARD_TEMPERATURE)[0] / SPECIES[formula].molar_mass
    return Fuel(
        name=name,
        carbon=float(carbon),
        hydrogen=float(hydrogen),
        oxygen=float(oxygen),
        vapour_shares=((formula, 1.0),),
        formation_enthalpy=float(enthalpy),
        latent_heat=latent_heat,
    )


def _surrogate(
    name: str, carbon: float, hydrogen: float, *, heating_value: float, latent_heat: float
) -> Fuel:
    """Hydrocarbon liquid of a stated heating value, with isooctane's specific heat."""
    atoms = (carbon, hydrogen, 0.0, 0.0, 0.0)
    molar_mass = float(np.dot(atoms, ATOMIC_MASS))
    liquid_enthalpy = heating_value - _burned_enthalpy_deficit(atoms) / molar_mass
    return Fuel(
        name=name,
        carbon=carbon,
        hydrogen=hydrogen,
        oxygen=0.0,
        vapour_shares=(("C8H18", 1.0),),
        formation_enthalpy=liquid_enthalpy + latent_heat,
        latent_heat=latent_heat,
    )


def _blend(name: str, first: Fuel, second: Fuel, first_share: float) -> Fuel:
    """Two fuels mixed, by the first one's share of the mass; no heat of mixing."""
    shares = np.array([first_share, 1.0 - first_share])
    moles = shares / np.array([first.molar_mass, second.molar_mass])
    elements = shares @ np.array([first.elements, second.elements]) / moles.sum()
    return Fuel(
        name=name,
        carbon=float(elements[_CARBON]),
        hydrogen=float(elements[_HYDROGEN]),
        oxygen=float(elements[_OXYGEN]),
        vapour_shares=tuple(
            (species, share * part)
            for fuel, part in ((first, shares[0]), (second, shares[1]))
            for species, share in fuel.vapour_shares
        ),
        formation_enthalpy=float(shares @ [first.formation_enthalpy, second.formation_enthalpy]),
        latent_heat=float(shares @ [first.latent_heat, second.latent_heat]),
    )


# Latent heats: Heywood 1988, table D.4, from memory, except isooctane and gasoline.
ISOOCTANE = _pure("isooctane", "C8H18", 307.6e3)
"""Latent heat 35.14 kJ/mol at 25 °C (from memory of the NIST WebBook)."""
TOLUENE = _pure("toluene", "C7H8", 412.0e3)
ETHANOL = _pure("ethanol", "C2H5OH", 840.0e3)
METHANOL = _pure("methanol", "CH3OH", 1103.0e3)
METHANE = _pure("methane", "CH4", 0.0)
PROPANE = _pure("propane", "C3H8", 0.0)
"""Taken as delivered in vapour form."""
HYDROGEN = _pure("hydrogen", "H2", 0.0)
GASOLINE = _surrogate("gasoline", 7.92, 14.81, heating_value=44.0e6, latent_heat=350.0e3)
"""CH1.87 of 110 g/mol burns with 14.6 parts of air; 44.0 MJ/kg, 350 kJ/kg (Heywood 1988,
table D.4, gasoline; from memory)."""

_ETHANOL_DENSITY, _GASOLINE_DENSITY = 0.789, 0.745
"""At 20 °C; ethanol from memory, gasoline the middle of common practice. [kg L⁻¹]"""
_ETHANOL_VOLUME_SHARE = 0.85
"""What the name promises; what is sold as E85 holds less in winter. [-]"""
_ETHANOL_PART = _ETHANOL_VOLUME_SHARE * _ETHANOL_DENSITY
_GASOLINE_PART = (1.0 - _ETHANOL_VOLUME_SHARE) * _GASOLINE_DENSITY
ETHANOL_85 = _blend(
    "ethanol_85", ETHANOL, GASOLINE, _ETHANOL_PART / (_ETHANOL_PART + _GASOLINE_PART)
)

FUELS: Mapping[str, Fuel] = {
    fuel.name: fuel
    for fuel in (
        GASOLINE,
        ETHANOL_85,
        PROPANE,
        METHANE,
        ISOOCTANE,
        TOLUENE,
        ETHANOL,
        METHANOL,
        HYDROGEN,
    )
}
"""Every fuel by its name; the catalogue's fuels carry the catalogue's own words."""
