"""Which engines to simulate, so that a family's range is covered evenly and nothing beyond it.

A range is a box in the space of `service.engine.parameters`. Points come from a scrambled
Sobol sequence: any first 2^m of them cover every axis evenly, and pairs of axes nearly so.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from service.engine.inputs import FloatArray, NonPhysicalInput
from service.engine.parameters import INDEX, NO_GALLERY_SHARE, PARAMETERS

DRY_PRESSURES = (82e3, 103e3)
"""Air that a surface is fitted for: from some 1,700 m above the sea to a high at the sea,
dry part (standard atmosphere, from memory). [Pa]"""
TEMPERATURES = (268.0, 313.0)
"""[K]"""
THROAT, GALLERY = INDEX["throat_resistance"], INDEX["gallery_share"]
_ROUNDING = 1e-9
"""Share of a limit by which arithmetic may miss it. [-]"""
_IS_LOG = np.array([parameter.is_log for parameter in PARAMETERS])
_MARGINS = np.array([parameter.margin for parameter in PARAMETERS])
_IS_SWITCH = np.array([parameter.is_switch for parameter in PARAMETERS])
_HALF = 0.5
_AIR = [INDEX["dry_pressure"], INDEX["temperature"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignRange:
    """A box in the space of airflow, and the speeds that belong to it.

    Attributes
    ----------
    low, high : ndarray, shape (p,)
        In the order of `PARAMETERS`.
    least_throat : float
        Smallest resistance of a throat under the plenum where there is one; engines
        without one stand at 0, and nothing is simulated in between. [m⁻⁴]
    share_with_throat : float
        Of the engines of a design. [-]
    slowest, fastest : float
        Of the crank. [rad s⁻¹]
    """

    low: FloatArray
    high: FloatArray
    least_throat: float
    share_with_throat: float
    slowest: float
    fastest: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """One parameter of an engine that lies outside a range."""

    name: str
    value: float
    low: float
    high: float


def range_of(rows: FloatArray, slowest: float, fastest: float) -> DesignRange:
    """Box around engines, with the margins of `PARAMETERS` and the air of this file.

    Parameters
    ----------
    rows : ndarray, shape (n, p)
        Engines of one family.
    slowest, fastest : float
        Speeds to be covered. [rad s⁻¹]

    Returns
    -------
    DesignRange
        Every engine lies inside.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> from service.engine.parameters import parameters_of
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> box = range_of(np.array([row, 1.1 * row]), 150.0, 600.0)
    >>> bool(box.low[0] < row[0] < box.high[0])
    True
    """
    scaled = _scaled(rows)
    least, most = scaled.min(axis=0), scaled.max(axis=0)
    margin = _MARGINS * (most - least)
    low, high = _unscaled(least - margin), _unscaled(most + margin)
    low[_AIR], high[_AIR] = zip(DRY_PRESSURES, TEMPERATURES, strict=True)
    throats = rows[rows[:, THROAT] > 0.0, THROAT]
    if throats.size < len(rows):
        low[THROAT] = 0.0
    return DesignRange(
        low=low,
        high=high,
        least_throat=float(throats.min()) if throats.size else 0.0,
        share_with_throat=_HALF if 0 < throats.size < len(rows) else float(throats.size > 0),
        slowest=slowest,
        fastest=fastest,
    )


def space_filling(box: DesignRange, count: int, generator: np.random.Generator) -> FloatArray:
    """Engines that fill a range evenly.

    Parameters
    ----------
    box : DesignRange
        The range.
    count : int
        How many; a power of two keeps the balance of the sequence.
    generator : numpy.random.Generator
        Scrambles the sequence.

    Returns
    -------
    ndarray, shape (count, p)
        Rows in the order of `PARAMETERS`.

    Notes
    -----
    Scrambled Sobol points [1]_. The axis of the throat is folded: its lower part stands
    for engines without one.

    References
    ----------
    .. [1] A. B. Owen, "Scrambling Sobol' and Niederreiter-Xing points", *J. Complexity*
       14:466-489, 1998.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> from service.engine.parameters import parameters_of
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> box = range_of(np.array([row, 1.1 * row]), 150.0, 600.0)
    >>> space_filling(box, 8, np.random.default_rng(1)).shape
    (8, 35)
    """
    if count < 1:
        raise NonPhysicalInput("count", limit="must be above 0")
    doublings = math.ceil(math.log2(count))
    unit = qmc.Sobol(len(PARAMETERS), rng=generator).random_base2(doublings)[:count]
    low, high = _scaled(box.low), _scaled(box.high)
    rows = _unscaled(low + unit * (high - low))
    rows[:, THROAT] = _throats(box, unit[:, THROAT])
    rows[:, _IS_SWITCH] = np.where(
        unit[:, _IS_SWITCH] < _HALF, box.low[_IS_SWITCH], box.high[_IS_SWITCH]
    )
    rows[rows[:, THROAT] == 0.0, GALLERY] = NO_GALLERY_SHARE
    return np.clip(rows, box.low, box.high)


def outside(box: DesignRange, row: FloatArray) -> tuple[Outside, ...]:
    """Return what of an engine lies outside a range; nothing where all is inside.

    Parameters
    ----------
    box : DesignRange
        The range.
    row : ndarray, shape (p,)
        The engine.

    Returns
    -------
    tuple of Outside
        In the order of `PARAMETERS`.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> from service.engine.parameters import parameters_of
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> box = range_of(np.array([row, 1.1 * row]), 150.0, 600.0)
    >>> row[INDEX["runner_length"]] = 0.9
    >>> [each.name for each in outside(box, row)]
    ['runner_length']
    """
    missed = np.flatnonzero(_misses(box, row))
    return tuple(
        Outside(
            name=PARAMETERS[at].name,
            value=float(row[at]),
            low=float(box.low[at]),
            high=float(box.high[at]),
        )
        for at in missed
    )


def is_inside(box: DesignRange, rows: FloatArray) -> NDArray[np.bool_]:
    """Whether each engine lies inside a range.

    Parameters
    ----------
    box : DesignRange
        The range.
    rows : ndarray, shape (n, p)
        Engines.

    Returns
    -------
    ndarray of bool, shape (n,)
        False where `outside` would name a parameter.

    Examples
    --------
    >>> from service.engine.example import STANDARD_AIR, example_engine
    >>> from service.engine.parameters import parameters_of
    >>> row = parameters_of(example_engine(), STANDARD_AIR)
    >>> box = range_of(np.array([row, 1.1 * row]), 150.0, 600.0)
    >>> is_inside(box, np.array([row, 2.0 * row]))
    array([ True, False])
    """
    return np.asarray(~_misses(box, rows).any(axis=-1))


def _misses(box: DesignRange, rows: FloatArray) -> NDArray[np.bool_]:
    slack = _ROUNDING * np.abs(box.high)
    return np.asarray((rows < box.low - slack) | (rows > box.high + slack))


def _throats(box: DesignRange, unit: FloatArray) -> FloatArray:
    """Return 0 for the lower part of an axis, and resistances for the upper one."""
    if box.share_with_throat == 0.0:
        return np.zeros(unit.shape)
    place = (unit - 1.0 + box.share_with_throat) / box.share_with_throat
    resistances = box.least_throat + place * (box.high[THROAT] - box.least_throat)
    return np.where(place >= 0.0, resistances, 0.0)


def _scaled(rows: FloatArray) -> FloatArray:
    """Logarithms on the axes that ask for them."""
    return np.where(_IS_LOG, np.log(np.where(_IS_LOG, rows, 1.0)), rows)


def _unscaled(scaled: FloatArray) -> FloatArray:
    return np.where(_IS_LOG, np.exp(np.where(_IS_LOG, scaled, 0.0)), scaled)
