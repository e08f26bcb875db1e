"""Which engines to simulate, so that a family's range is covered evenly and nothing beyond it.

A range is a box in the space of `service.engine.parameters`, and in it what lies between
parts: a camshaft of long duration has much lift too, and no box knows that. Points come from a
scrambled Sobol sequence: any first 2^m of them cover every axis evenly, and pairs of axes
nearly so.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.engine.inputs import FloatArray, NonPhysicalInput
from service.engine.parameters import INDEX, NO_GALLERY_SHARE, PARAMETERS

DRY_PRESSURES = (82e3, 103e3)
"""Air that a surface is fitted for: from some 1,700 m above the sea to a high at the sea,
dry part (standard atmosphere, from memory). [Pa]"""
TEMPERATURES = (268.0, 313.0)
"""[K]"""
THROAT, GALLERY = INDEX["throat_resistance"], INDEX["gallery_share"]
LEAST_MARGIN = 0.01
"""Of a parameter beside the others of its group, where the box leaves it none. [-]"""
_ROUNDING = 1e-9
"""Share of a limit by which arithmetic may miss it. [-]"""
_IS_LOG = np.array([parameter.is_log for parameter in PARAMETERS])
_MARGINS = np.array([parameter.margin for parameter in PARAMETERS])
_IS_SWITCH = np.array([parameter.is_switch for parameter in PARAMETERS])
_IS_FREE = np.array([parameter.is_free for parameter in PARAMETERS])
_HALF = 0.5
_AIR = [INDEX["dry_pressure"], INDEX["temperature"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How figures that the same parts decide lie to each other.

    Attributes
    ----------
    columns : ndarray of int, shape (k,)
        Which parameters; those only that differ, and none that is free or a switch.
    middle, span : ndarray, shape (k,)
        Mean and width over the parts, of logarithms where the parameter asks for them.
    metric : ndarray, shape (k, k)
        Of the squared distance from the middle, in spans. [-]
    farthest : float
        Greatest squared distance that counts as inside. [-]
    """

    columns: NDArray[np.int64]
    middle: FloatArray
    span: FloatArray
    metric: FloatArray
    farthest: float

    def distance(self, rows: FloatArray) -> FloatArray:
        """Squared distance of engines, shape (n, p), from the middle; shape (n,)."""
        away = self.places(rows)
        return np.asarray(((away @ self.metric) * away).sum(axis=-1))

    def places(self, rows: FloatArray) -> FloatArray:
        """Places of engines, shape (n, p), about the middle in spans; shape (n, k)."""
        own = np.asarray(rows[..., self.columns])
        is_log = _IS_LOG[self.columns]
        own[..., is_log] = np.log(own[..., is_log])
        return np.asarray((own - self.middle) / self.span)


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignRange:
    """A box in the space of airflow, what of it lies between parts, and the speeds.

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
    spreads : tuple of Spread
        One for each group of parts.
    """

    low: FloatArray
    high: FloatArray
    least_throat: float
    share_with_throat: float
    slowest: float
    fastest: float
    spreads: tuple[Spread, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outside:
    """One parameter of an engine that lies outside a range."""

    name: str
    value: float
    low: float
    high: float


def spread_of(own: NDArray[np.bool_], rows: FloatArray) -> Spread:
    """How the figures of one group of parts lie to each other.

    Parameters
    ----------
    own : ndarray of bool, shape (p,)
        Parameters that the group decides.
    rows : ndarray, shape (n, p)
        Engines with every part of the group.

    Returns
    -------
    Spread
        Every engine lies inside.

    Notes
    -----
    Distances are Mahalanobis' [1]_, by the covariance of the engines with the square of each
    parameter's margin added. The limit is the farthest engine's and one margin more. What
    lies between two engines is inside with them: the set is an ellipsoid.

    References
    ----------
    .. [1] P. C. Mahalanobis, "On the generalised distance in statistics", *Proc. Natl. Inst.
       Sci. India* 2:49-55, 1936.

    Examples
    --------
    Where lift goes with duration, much of it on a short lobe is like no part:

    >>> rows = np.ones((3, len(PARAMETERS)))
    >>> pair = [INDEX["intake_duration"], INDEX["intake_lift_rate"]]
    >>> rows[:, pair] = [[250.0, 5e-5], [270.0, 5.5e-5], [290.0, 6e-5]]
    >>> spread = spread_of(np.isin(np.arange(len(PARAMETERS)), pair), rows)
    >>> rows[:, pair] = [[260.0, 5.25e-5], [255.0, 5.9e-5], [293.0, 6.1e-5]]
    >>> spread.distance(rows) < spread.farthest
    array([ True, False,  True])
    """
    width = np.ptp(_scaled(rows), axis=0)
    columns = np.flatnonzero(own & ~_IS_FREE & ~_IS_SWITCH & (width > 0.0))
    scaled, span = _scaled(rows)[:, columns], width[columns]
    places = (scaled - scaled.mean(axis=0)) / span
    margins = np.maximum(_MARGINS[columns], LEAST_MARGIN)
    found = Spread(
        columns=columns,
        middle=scaled.mean(axis=0),
        span=span,
        metric=np.linalg.inv(places.T @ places / len(places) + np.diag(margins**2)),
        farthest=0.0,
    )
    return replace(found, farthest=float((np.sqrt(found.distance(rows).max()) + 1.0) ** 2))


def range_of(
    rows: FloatArray, slowest: float, fastest: float, spreads: tuple[Spread, ...] = ()
) -> DesignRange:
    """Box around engines, with the margins of `PARAMETERS` and the air of this file.

    Parameters
    ----------
    rows : ndarray, shape (n, p)
        Engines of one family.
    slowest, fastest : float
        Speeds to be covered. [rad s⁻¹]
    spreads : tuple of Spread
        Of the groups of parts, where there are such.

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
        spreads=spreads,
    )


def space_filling(box: DesignRange, count: int, generator: np.random.Generator) -> FloatArray:
    """Engines that fill the box of a range evenly, whether parts are like that or not.

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
    from scipy.stats import qmc  # noqa: PLC0415 - 30 MB that only a fit needs.

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


def between(
    rows: FloatArray, others: FloatArray, share: FloatArray, even: FloatArray, box: DesignRange
) -> FloatArray:
    """Engines on the way from some to others, and up to a margin off it.

    Parameters
    ----------
    rows, others : ndarray, shape (n, p)
        Engines; two of which one alone has a throat below the plenum have no way between
        them, and a share of 0.
    share : ndarray, shape (n, p)
        Of the way to the others. [-]
    even : ndarray, shape (n, p)
        Engines that fill the box evenly: how far each goes off the way. Of free parameters
        they give the value.
    box : DesignRange
        Of the family. An engine that the margin would take out of it stays on the way.

    Returns
    -------
    ndarray, shape (n, p)
        Of a switch, the first's.
    """
    start, end, low, high = (_scaled(each) for each in (rows, others, box.low, box.high))
    about_throat = np.isin(np.arange(low.size), (THROAT, GALLERY))
    stays = _IS_SWITCH | (about_throat & (rows[:, THROAT] == 0.0)[:, None])
    on_the_way = start + np.where(stays, 0.0, share * (end - start))
    on_the_way[:, _IS_FREE] = _scaled(even)[:, _IS_FREE]
    width = high - low
    place = np.divide(_scaled(even) - low, width, out=np.zeros_like(start), where=width > 0.0)
    off = np.where(stays | _IS_FREE, 0.0, _MARGINS * width * (2.0 * place - 1.0))
    near = np.clip(_unscaled(on_the_way + off), box.low, box.high)
    near[:, THROAT] = np.where(
        near[:, THROAT] > 0.0, np.maximum(near[:, THROAT], box.least_throat), 0.0
    )
    return np.where(is_inside(box, near)[:, None], near, _unscaled(on_the_way))


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
        In the order of `PARAMETERS`. Where figures lie in the box and only do not go together
        as those of parts do, the one that is oddest beside the others of its group, with the
        limits that those leave it.

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
    found = {
        int(at): (float(box.low[at]), float(box.high[at]))
        for at in np.flatnonzero(_misses(box, row))
    }
    for spread in box.spreads:
        if spread.distance(row) > spread.farthest and found.keys().isdisjoint(spread.columns):
            at, limits = _oddest(spread, row)
            found[at] = limits
    return tuple(
        Outside(name=PARAMETERS[at].name, value=float(row[at]), low=low, high=high)
        for at, (low, high) in sorted(found.items())
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
    inside = ~_misses(box, rows).any(axis=-1)
    for spread in box.spreads:
        inside &= spread.distance(rows) <= spread.farthest
    return np.asarray(inside)


def _oddest(spread: Spread, row: FloatArray) -> tuple[int, tuple[float, float]]:
    """Return the parameter that the others foresee worst, and what they leave it.

    The squared distance is a parabola of each place while the others stay: its least value
    is where the others would have it.
    """
    away = spread.places(row)
    curvature = np.diag(spread.metric)
    missed = spread.metric @ away / curvature
    odd = int(np.argmax(missed**2 * curvature))
    others = float(spread.distance(row) - missed[odd] ** 2 * curvature[odd])
    half = math.sqrt(max(spread.farthest - others, 0.0) / curvature[odd])
    at = int(spread.columns[odd])
    ends = np.array([away[odd] - missed[odd] - half, away[odd] - missed[odd] + half])
    scaled = spread.middle[odd] + spread.span[odd] * ends
    low, high = np.exp(scaled) if _IS_LOG[at] else scaled
    return at, (float(low), float(high))


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
