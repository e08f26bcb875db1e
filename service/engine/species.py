"""Ideal-gas species: heat capacity, enthalpy and entropy from the NASA polynomials.

Every function takes a tuple of species names and an array of temperatures and returns
one more axis, the last, along the species. Enthalpies are absolute: they contain the
enthalpy of formation from the elements at 298.15 K, so that a reaction needs no heat
of its own.

The polynomials hold from 200 to 6000 K. Below 200 K the low range is continued.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from service.engine.inputs import FloatArray

GAS_CONSTANT = 8.314462618
"""Molar gas constant, exact since the 2019 revision of the SI. [J mol⁻¹ K⁻¹]"""
STANDARD_PRESSURE = 1e5
"""Pressure of the standard state of the polynomials. [Pa]"""
STANDARD_TEMPERATURE = 298.15
"""Temperature at which enthalpies of formation are given. [K]"""
BREAK_TEMPERATURE = 1000.0
"""Where the low range of a polynomial ends and the high one begins. [K]"""

ELEMENTS = ("C", "H", "O", "N", "Ar")
ATOMIC_MASS = np.array([12.011e-3, 1.008e-3, 15.999e-3, 14.007e-3, 39.95e-3])
"""In the order of `ELEMENTS`; IUPAC abridged standard atomic weights, 2021. [kg mol⁻¹]"""

Coefficients = tuple[float, float, float, float, float, float, float]


@dataclass(frozen=True, slots=True)
class Species:
    """One chemical species with its polynomials.

    Attributes
    ----------
    name : str
        Formula; `C8H18` is 2,2,4-trimethylpentane (isooctane) as vapour.
    atoms : tuple of int
        In one molecule, in the order of `ELEMENTS`.
    origin : str
        The report's own mark for the data behind the fit.
    low, high : tuple of float
        The seven coefficients below and above `BREAK_TEMPERATURE`.
    """

    name: str
    atoms: tuple[int, int, int, int, int]
    origin: str
    low: Coefficients
    high: Coefficients

    @property
    def molar_mass(self) -> float:
        """Mass of one mole [kg mol⁻¹]."""
        return float(np.dot(self.atoms, ATOMIC_MASS))


# Coefficients: B. J. McBride, S. Gordon, M. A. Reno, "Coefficients for Calculating
# Thermodynamic and Transport Properties of Individual Species", NASA TM-4513, 1993.
# The table keeps the report's grouping, which the formatter would spread over 250 lines.
# fmt: off
_TABLE = (
    Species("C8H18", (8, 18, 0, 0, 0), "X 4/85",
            (0.815737338, 0.0732643959, 1.78300688e-05, -6.9358962e-08, 3.21629382e-11,
             -30477.2862, 24.1509994),
            (15.9899273, 0.055318479, -1.95267072e-05, 3.11779172e-09, -1.85312577e-13,
             -35875.7973, -60.1161414)),
    Species("C7H8", (7, 8, 0, 0, 0), "L 1/93",
            (1.611914, 0.0211188902, 8.53221453e-05, -1.32566876e-07, 5.59406109e-11,
             4096.51976, 20.2973614),
            (12.939475, 0.0266921558, -9.68420108e-06, 1.5739214e-09, -9.46670482e-14,
             -677.035769, -46.7255302)),
    Species("C2H5OH", (2, 6, 1, 0, 0), "L 8/88",
            (4.85868178, -0.0037400674, 6.95550267e-05, -8.86541147e-08, 3.5168443e-11,
             -29996.1309, 4.80192294),
            (6.5628977, 0.0152034264, -5.38922247e-06, 8.62150224e-10, -5.12824683e-14,
             -31525.7984, -9.47557644)),
    Species("CH3OH", (1, 4, 1, 0, 0), "L 8/88",
            (5.71539582, -0.0152309129, 6.52441155e-05, -7.10806889e-08, 2.61352698e-11,
             -25642.7656, -1.50409823),
            (3.60134486, 0.0102430954, -3.59985517e-06, 5.72505986e-10, -3.3911764e-14,
             -25997.191, 4.70512253)),
    Species("CH4", (1, 4, 0, 0, 0), "L 8/88",
            (5.14987613, -0.0136709788, 4.91800599e-05, -4.84743026e-08, 1.66693956e-11,
             -10246.6476, -4.64130376),
            (1.63552643, 0.0100842795, -3.36916254e-06, 5.34958667e-10, -3.15518833e-14,
             -10005.6455, 9.99313326)),
    Species("C3H8", (3, 8, 0, 0, 0), "L 6/90",
            (4.2110262, 0.00171599803, 7.06183472e-05, -9.19594116e-08, 3.64421372e-11,
             -14381.2106, 5.60930491),
            (6.66789363, 0.0206120214, -7.36553027e-06, 1.18440761e-09, -7.0695321e-14,
             -16274.8521, -13.1859503)),
    Species("CO2", (1, 0, 2, 0, 0), "L 7/88",
            (2.35677352, 0.00898459677, -7.12356269e-06, 2.45919022e-09, -1.43699548e-13,
             -48371.9697, 9.90105222),
            (4.63659493, 0.00274131991, -9.95828531e-07, 1.60373011e-10, -9.16103468e-15,
             -49024.9341, -1.93534855)),
    Species("CO", (1, 0, 1, 0, 0), "TPIS79",
            (3.57953347, -0.00061035368, 1.01681433e-06, 9.07005884e-10, -9.04424499e-13,
             -14344.086, 3.50840928),
            (3.04848583, 0.00135172818, -4.85794075e-07, 7.88536486e-11, -4.69807489e-15,
             -14266.1171, 6.0170979)),
    Species("H2O", (0, 2, 1, 0, 0), "L 8/89",
            (4.19864056, -0.0020364341, 6.52040211e-06, -5.48797062e-09, 1.77197817e-12,
             -30293.7267, -0.849032208),
            (2.67703787, 0.00297318329, -7.7376969e-07, 9.44336689e-11, -4.26900959e-15,
             -29885.8938, 6.88255571)),
    Species("H2", (0, 2, 0, 0, 0), "TPIS78",
            (2.34433112, 0.00798052075, -1.9478151e-05, 2.01572094e-08, -7.37611761e-12,
             -917.935173, 0.683010238),
            (2.93286579, 0.000826607967, -1.46402335e-07, 1.54100359e-11, -6.88804432e-16,
             -813.065597, -1.02432887)),
    Species("O2", (0, 0, 2, 0, 0), "TPIS89",
            (3.78245636, -0.00299673415, 9.847302e-06, -9.68129508e-09, 3.24372836e-12,
             -1063.94356, 3.65767573),
            (3.66096083, 0.000656365523, -1.41149485e-07, 2.05797658e-11, -1.29913248e-15,
             -1215.97725, 3.41536184)),
    Species("N2", (0, 0, 0, 2, 0), "TPIS78",
            (3.53100528, -0.000123660987, -5.02999437e-07, 2.43530612e-09, -1.40881235e-12,
             -1046.97628, 2.96747468),
            (2.95257626, 0.00139690057, -4.92631691e-07, 7.86010367e-11, -4.60755321e-15,
             -923.948645, 5.87189252)),
    Species("OH", (0, 1, 1, 0, 0), "TPIS78",
            (3.99201543, -0.00240131752, 4.61793841e-06, -3.88113333e-09, 1.3641147e-12,
             3615.08056, -0.103925458),
            (2.83864607, 0.00110725586, -2.93914978e-07, 4.20524247e-11, -2.42169092e-15,
             3943.95852, 5.84452662)),
    Species("O", (0, 0, 1, 0, 0), "L 1/90",
            (3.1682671, -0.00327931884, 6.64306396e-06, -6.12806624e-09, 2.11265971e-12,
             29122.2592, 2.05193346),
            (2.54363697, -2.73162486e-05, -4.1902952e-09, 4.95481845e-12, -4.79553694e-16,
             29226.012, 4.92229457)),
    Species("H", (0, 1, 0, 0, 0), "L 5/93",
            (2.5, 0.0, 0.0, 0.0, 0.0,
             25473.6599, -0.446682853),
            (2.50000286, -5.65334214e-09, 3.63251723e-12, -9.1994972e-16, 7.95260746e-20,
             25473.6589, -0.446698494)),
    Species("NO", (0, 0, 1, 1, 0), "TPIS89",
            (4.21859896, -0.00463988124, 1.10443049e-05, -9.34055507e-09, 2.80554874e-12,
             9845.09964, 2.28061001),
            (3.26071234, 0.00119101135, -4.29122646e-07, 6.94481463e-11, -4.03295681e-15,
             9921.43132, 6.36900518)),
    Species("N", (0, 0, 0, 1, 0), "L 6/88",
            (2.5, 0.0, 0.0, 0.0, 0.0,
             56104.6378, 4.19390932),
            (2.41594293, 0.0001748906, -1.19023667e-07, 3.02262387e-11, -2.0360979e-15,
             56133.7748, 4.64960986)),
    Species("Ar", (0, 0, 0, 0, 1), "L 6/88",
            (2.5, 0.0, 0.0, 0.0, 0.0,
             -745.375, 4.37967491),
            (2.5, 0.0, 0.0, 0.0, 0.0,
             -745.375, 4.37967491)),
)
# fmt: on

SPECIES: Mapping[str, Species] = {species.name: species for species in _TABLE}
"""Every species that the service knows, by its formula."""


@dataclass(frozen=True, slots=True, eq=False)
class Mixture:
    """One kilogram of an ideal-gas mixture of fixed composition.

    Attributes
    ----------
    species : tuple of str
        Names in `SPECIES`.
    amounts : ndarray, shape (n_species,)
        Of each species in one kilogram of the mixture. [mol kg⁻¹]
    """

    species: tuple[str, ...]
    amounts: FloatArray

    @property
    def gas_constant(self) -> float:
        """Specific gas constant [J kg⁻¹ K⁻¹]."""
        return float(GAS_CONSTANT * self.amounts.sum())

    @property
    def elements(self) -> FloatArray:
        """Atoms in one kilogram, in the order of `ELEMENTS` [mol kg⁻¹]."""
        elements: FloatArray = self.amounts @ atom_matrix(self.species)
        return elements

    def enthalpy(self, temperature: ArrayLike) -> FloatArray:
        """Absolute specific enthalpy at a temperature [J kg⁻¹]."""
        enthalpy: FloatArray = molar_enthalpy(self.species, temperature) @ self.amounts
        return enthalpy

    def energy(self, temperature: ArrayLike) -> FloatArray:
        """Absolute specific internal energy at a temperature [J kg⁻¹]."""
        return self.enthalpy(temperature) - self.gas_constant * np.asarray(temperature)

    def isobaric_heat_capacity(self, temperature: ArrayLike) -> FloatArray:
        """Specific heat capacity at constant pressure [J kg⁻¹ K⁻¹]."""
        capacity: FloatArray = molar_heat_capacity(self.species, temperature) @ self.amounts
        return capacity

    def heat_capacity_ratio(self, temperature: ArrayLike) -> FloatArray:
        """Ratio of the specific heat capacities [-]."""
        capacity = self.isobaric_heat_capacity(temperature)
        return capacity / (capacity - self.gas_constant)

    def entropy(self, temperature: ArrayLike, density: ArrayLike) -> FloatArray:
        """Absolute specific entropy, mixing included [J kg⁻¹ K⁻¹]."""
        return mixture_entropy(self.species, self.amounts, temperature, density)


def mixture(parts: Mapping[str, float]) -> Mixture:
    """One kilogram of a mixture given by relative amounts.

    Parameters
    ----------
    parts : mapping of str to float
        Moles of each species, to any common scale. [mol]

    Returns
    -------
    Mixture
        The same proportions in one kilogram.

    Examples
    --------
    >>> round(mixture({"O2": 1.0, "N2": 3.773}).gas_constant, 2)
    288.21
    """
    species = tuple(parts)
    moles = np.array([float(amount) for amount in parts.values()])
    masses = np.array([SPECIES[name].molar_mass for name in species])
    return Mixture(species, moles / float(moles @ masses))


def blend(parts: tuple[tuple[Mixture, float], ...]) -> Mixture:
    """Mix mixtures by mass.

    Parameters
    ----------
    parts : tuple of (Mixture, float)
        Each mixture with its mass, to any common scale. [kg]

    Returns
    -------
    Mixture
        One kilogram of the whole.

    Examples
    --------
    >>> methane, steam = mixture({"CH4": 1.0}), mixture({"H2O": 1.0})
    >>> blend(((methane, 0.25), (steam, 0.75))).amounts.round(3)
    array([15.583, 41.632])
    """
    total = sum(mass for _, mass in parts)
    amounts: dict[str, float] = {}
    for part, mass in parts:
        for name, amount in zip(part.species, part.amounts, strict=True):
            amounts[name] = amounts.get(name, 0.0) + float(amount) * mass / total
    return Mixture(tuple(amounts), np.array(list(amounts.values())))


AIR = mixture({"N2": 0.78084, "O2": 0.209476, "Ar": 0.00934, "CO2": 0.000314})
"""Dry air by its four largest constituents: U.S. Standard Atmosphere, 1976, table 3
(fractions from memory; they give the standard's 287.05 J kg⁻¹ K⁻¹)."""


@lru_cache(maxsize=64)
def atom_matrix(species: tuple[str, ...]) -> FloatArray:
    """Atoms of each element in one molecule of each species.

    Parameters
    ----------
    species : tuple of str
        Names in `SPECIES`.

    Returns
    -------
    ndarray, shape (n_species, 5)
        Columns in the order of `ELEMENTS`.

    Examples
    --------
    >>> atom_matrix(("CO2", "NO"))
    array([[1., 0., 2., 0., 0.],
           [0., 0., 1., 1., 0.]])
    """
    return np.array([SPECIES[name].atoms for name in species], dtype=np.float64)


def molar_heat_capacity(species: tuple[str, ...], temperature: ArrayLike) -> FloatArray:
    """Heat capacity at constant pressure per mole.

    Parameters
    ----------
    species : tuple of str
        Names in `SPECIES`.
    temperature : array_like
        200 to 6000 K. [K]

    Returns
    -------
    ndarray, shape (*temperature.shape, n_species)
        [J mol⁻¹ K⁻¹]

    Notes
    -----
    Fourth-degree polynomial in the temperature [1]_.

    References
    ----------
    .. [1] McBride, Gordon, Reno, NASA TM-4513, 1993, Eq. 1.

    Examples
    --------
    >>> molar_heat_capacity(("N2", "H2O"), 298.15).round(2)
    array([29.12, 33.59])
    """
    powers, coefficients = _terms(species, temperature)
    return _series(coefficients[..., :5], powers[..., :5]) * GAS_CONSTANT


def molar_enthalpy(species: tuple[str, ...], temperature: ArrayLike) -> FloatArray:
    """Absolute enthalpy per mole.

    Parameters
    ----------
    species : tuple of str
        Names in `SPECIES`.
    temperature : array_like
        200 to 6000 K. [K]

    Returns
    -------
    ndarray, shape (*temperature.shape, n_species)
        Enthalpy of formation at 298.15 K included. [J mol⁻¹]

    Notes
    -----
    Integral of the heat capacity with the report's constant [1]_.

    References
    ----------
    .. [1] McBride, Gordon, Reno, NASA TM-4513, 1993, Eq. 2.

    Examples
    --------
    >>> molar_enthalpy(("CO2", "O2"), 298.15).round(-1) + 0.0
    array([-393510.,       0.])
    """
    powers, coefficients = _terms(species, temperature)
    factors = coefficients[..., :5] / np.arange(1.0, 6.0)
    kelvin = powers[..., 1]
    series = _series(factors, powers[..., :5]) * kelvin[..., None]
    return GAS_CONSTANT * (series + coefficients[..., 5])


def molar_entropy(species: tuple[str, ...], temperature: ArrayLike) -> FloatArray:
    """Absolute entropy per mole at the standard pressure.

    Parameters
    ----------
    species : tuple of str
        Names in `SPECIES`.
    temperature : array_like
        200 to 6000 K. [K]

    Returns
    -------
    ndarray, shape (*temperature.shape, n_species)
        At `STANDARD_PRESSURE`. [J mol⁻¹ K⁻¹]

    Notes
    -----
    Integral of the heat capacity over temperature with the report's constant [1]_.

    References
    ----------
    .. [1] McBride, Gordon, Reno, NASA TM-4513, 1993, Eq. 3.

    Examples
    --------
    >>> molar_entropy(("N2", "CO2"), 298.15).round(1)
    array([191.6, 213.8])
    """
    powers, coefficients = _terms(species, temperature)
    factors = coefficients[..., 1:5] / np.arange(1.0, 5.0)
    logarithm = coefficients[..., 0] * np.log(powers[..., 1])[..., None]
    return GAS_CONSTANT * (logarithm + _series(factors, powers[..., 1:5]) + coefficients[..., 6])


def mixture_entropy(
    species: tuple[str, ...], amounts: FloatArray, temperature: ArrayLike, density: ArrayLike
) -> FloatArray:
    """Absolute entropy of one kilogram of mixture.

    Parameters
    ----------
    species : tuple of str
        Names in `SPECIES`.
    amounts : ndarray, shape (..., n_species)
        Composition. [mol kg⁻¹]
    temperature : array_like
        [K]
    density : array_like
        [kg m⁻³]

    Returns
    -------
    ndarray
        Every species at its own partial pressure. [J kg⁻¹ K⁻¹]

    Examples
    --------
    >>> nitrogen = mixture({"N2": 1.0})
    >>> float(mixture_entropy(nitrogen.species, nitrogen.amounts, 298.15, 1.1303).round(0))
    6840.0
    """
    scale = np.asarray(density) * GAS_CONSTANT * np.asarray(temperature) / STANDARD_PRESSURE
    # A species that is absent has no entropy; the floor keeps 0 log 0 at zero.
    pressures = np.maximum(amounts, np.finfo(np.float64).tiny) * scale[..., None]
    per_mole = molar_entropy(species, temperature) - GAS_CONSTANT * np.log(pressures)
    entropy: FloatArray = (amounts * per_mole).sum(axis=-1)
    return entropy


@lru_cache(maxsize=64)
def _coefficients(species: tuple[str, ...]) -> tuple[FloatArray, FloatArray]:
    low = np.array([SPECIES[name].low for name in species])
    high = np.array([SPECIES[name].high for name in species])
    return low, high


def _terms(species: tuple[str, ...], temperature: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Powers 0 to 4 of the temperature, and the coefficients that hold there."""
    kelvin = np.asarray(temperature, dtype=np.float64)
    low, high = _coefficients(species)
    coefficients = np.where((kelvin < BREAK_TEMPERATURE)[..., None, None], low, high)
    return kelvin[..., None] ** np.arange(5.0), coefficients


def _series(factors: FloatArray, powers: FloatArray) -> FloatArray:
    series: FloatArray = (factors @ powers[..., None])[..., 0]
    return series
