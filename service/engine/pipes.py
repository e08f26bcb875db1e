"""Runner and primary as the pipes that the compiled march works on."""

import math

import numpy as np

from service.engine import kernels
from service.engine.inputs import FloatArray
from service.engine.model import Duct

LONGEST_RUNNER_CELL = 0.06
LONGEST_PRIMARY_CELL = 0.09
"""Sound runs nearly twice as fast in exhaust gas, so these cells allow strides of like length.
With them torque lies within 1 % of that on cells four times finer for every seed part at its
speeds (`tests/engine/test_cycle.py`). [m]"""
FEWEST_CELLS = 3
RUNNER_TEMPERATURES = ((280.0, 420.0), (700.0, 1300.0))
PRIMARY_TEMPERATURES = ((600.0, 1200.0), (800.0, 1500.0))
"""Between which the specific heat of fresh and of burned gas is taken as constant: what
flows in full-load engines lies there (Heywood, *Internal Combustion Engine Fundamentals*,
1988, sections 6.2 and 6.5; from memory). Energy is exact at both ends. [K]"""
# Sutherland's law for air: reference 1.716e-5 Pa s at 273 K, constant 111 K (White,
# Viscous Fluid Flow, table 1-2; from memory).
VISCOSITY_REFERENCE = 1.716e-5
VISCOSITY_TEMPERATURE = 273.0
VISCOSITY_CONSTANT = 111.0


def pipe_gas_of(
    gas: kernels.Gas, temperatures: tuple[tuple[float, float], tuple[float, float]]
) -> kernels.PipeGas:
    """Draw straight lines through the energies of fresh charge and of burned gas.

    Parameters
    ----------
    gas : kernels.Gas
        The engine's working fluid.
    temperatures : tuple
        Low and high temperature of the fresh, then of the burned gas. [K]

    Returns
    -------
    kernels.PipeGas
        With the viscosity of air at the mean of the temperatures of the gas that fills
        the pipe: fresh in a runner, burned in a primary.
    """
    frozen = gas.burned_energy.shape[0] // 2
    rows = (gas.fresh_energy[kernels.CHARGE], gas.burned_energy[frozen])
    table = gas.temperature_start + gas.temperature_step * np.arange(rows[0].size)
    (fresh_heat, fresh_formation), (burned_heat, burned_formation) = (
        _line(np.interp(ends, table, row), ends)
        for row, ends in zip(rows, temperatures, strict=True)
    )
    return kernels.PipeGas(
        fresh_constant=gas.charge_gas_constant,
        burned_constant=float(gas.burned_gas_constant[frozen, 0]),
        fresh_heat=fresh_heat,
        burned_heat=burned_heat,
        fresh_formation=fresh_formation,
        burned_formation=burned_formation,
        viscosity=air_viscosity(float(np.mean(temperatures[0]))),
    )


def _line(energies: FloatArray, temperatures: tuple[float, float]) -> tuple[float, float]:
    """Return slope and height at zero of the line through two energies."""
    low, high = temperatures
    slope = float(energies[1] - energies[0]) / (high - low)
    return slope, float(energies[0]) - slope * low


def air_viscosity(temperature: float) -> float:
    """Dynamic viscosity of air by Sutherland's law.

    Parameters
    ----------
    temperature : float
        [K]

    Returns
    -------
    float
        [Pa s]

    Examples
    --------
    >>> round(air_viscosity(300.0) * 1e6, 2)
    18.47
    """
    ratio = temperature / VISCOSITY_TEMPERATURE
    spread = VISCOSITY_TEMPERATURE + VISCOSITY_CONSTANT
    return float(VISCOSITY_REFERENCE * ratio**1.5 * spread / (temperature + VISCOSITY_CONSTANT))


def runner_of(duct: Duct, gas: kernels.Gas, *, refinement: int = 1) -> kernels.Pipe:
    """Cut a runner into cells, from its mouth to the valve.

    Parameters
    ----------
    duct : Duct
        With its port.
    gas : kernels.Gas
        The engine's working fluid.
    refinement : int, optional
        How many cells to make of one.

    Returns
    -------
    kernels.Pipe
        With a diameter that changes evenly.
    """
    areas = (duct.area_at_far_end, duct.area_at_valve)
    cells = _cell_count(duct, LONGEST_RUNNER_CELL) * refinement
    return _pipe(duct, areas, cells, pipe_gas_of(gas, RUNNER_TEMPERATURES))


def primary_of(duct: Duct, gas: kernels.Gas, *, refinement: int = 1) -> kernels.Pipe:
    """Cut a primary into cells, from the valve to its outlet; else as `runner_of`."""
    areas = (duct.area_at_valve, duct.area_at_far_end)
    cells = _cell_count(duct, LONGEST_PRIMARY_CELL) * refinement
    return _pipe(duct, areas, cells, pipe_gas_of(gas, PRIMARY_TEMPERATURES))


def _cell_count(duct: Duct, longest: float) -> int:
    return max(math.ceil(duct.length / longest), FEWEST_CELLS)


def _pipe(
    duct: Duct, areas: tuple[float, float], cells: int, pipe_gas: kernels.PipeGas
) -> kernels.Pipe:
    first, last = np.sqrt(areas)
    faces = np.linspace(first, last, cells + 1) ** 2
    # The mean of a cone's cross-sections.
    middles = (faces[1:] + faces[:-1] + np.sqrt(faces[1:] * faces[:-1])) / 3.0
    return kernels.Pipe(
        cell_length=duct.length / cells,
        face_area=faces,
        cell_area=middles,
        diameter=np.sqrt(4.0 * middles / np.pi),
        wall_temperature=duct.wall_temperature,
        gas=pipe_gas,
    )


def filled(
    pipe: kernels.Pipe, pressure: float, temperature: float, burned_fraction: float
) -> kernels.Filled:
    """Fill a pipe with gas at rest.

    Parameters
    ----------
    pipe : kernels.Pipe
        To fill.
    pressure : float
        [Pa]
    temperature : float
        [K]
    burned_fraction : float
        [-]

    Returns
    -------
    kernels.Filled
        With room for the march to work in.
    """
    gas, x, cells = pipe.gas, burned_fraction, pipe.cell_area.size
    constant, heat, formation = kernels.mixed(gas, x)
    density = pressure / (constant * temperature)
    conserved = (density, 0.0, density * (formation + heat * temperature), density * x)
    return kernels.Filled(
        state=np.tile(conserved, (cells, 1)),
        cells=np.zeros((cells + 2, 6)),
        faces=np.zeros((cells + 2, 8)),
        flux=np.zeros((cells + 1, 4)),
        ends=np.tile((density, 0.0, pressure, x), (2, 1)),
        leaving=np.zeros((2, 4)),
        left=np.zeros((2, 4)),
    )
