"""A fitted response surface: torque and filling of any engine of a family, at once.

The fit is made in `service.engine.surface_fit`; here its plain numbers are put to work.
Nothing is extrapolated: an engine outside the range that the surface was fitted over is
refused, by the name of what lies outside.
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from service.engine.design import DesignRange, is_inside, outside
from service.engine.features import REFERENCE_TEMPERATURE, airflow_features
from service.engine.geometry import swept_volume
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.parameters import INDEX
from service.engine.power import torque_from_mean_effective_pressure
from service.errors import FieldProblem, InvalidInput

REFERENCE_PRESSURE = 99e3
"""Dry pressure of SAE J1349. [Pa]"""
WORK_UNIT, FRICTION_UNIT = 1e6, 1e5
"""What the mean effective pressures of the responses are counted in. [Pa]"""
CHUNK = 1 << 11
"""Points that are worked on at once, so that their arrays stay in the cache."""
Real = TypeVar("Real", np.float32, np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """Everything that a prediction needs, as plain numbers.

    Attributes
    ----------
    base : EngineSpec
        The engine whose fixed figures all others share.
    box : DesignRange
        Where it holds.
    centre, scale : ndarray, shape (f,)
        Of the features; a feature that never changed has scale 0.
    directions : ndarray, shape (f, r)
        From scaled features to the few directions in which the response bends.
    nodes : ndarray, shape (m, r)
        Points of the design in those directions.
    intercept : ndarray, shape (q,)
        Of the responses: gross work, filling, friction.
    slopes : ndarray, shape (f, q)
        Linear part.
    weights : ndarray, shape (m, q)
        Of the bumps over the nodes.
    """

    base: EngineSpec
    box: DesignRange
    centre: FloatArray
    scale: FloatArray
    directions: FloatArray
    nodes: FloatArray
    intercept: FloatArray
    slopes: FloatArray
    weights: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCurves:
    """Full-load curves read off a surface."""

    torque: FloatArray
    """At the flywheel, shape (n, s). [N m]"""
    volumetric_efficiency: FloatArray
    """Air over what the swept volume holds at ambient density, shape (n, s). [-]"""


class OutsideFittedRange(InvalidInput):
    """An engine was asked for where nothing was simulated."""

    def __init__(self, *names: str) -> None:
        super().__init__(
            *(
                FieldProblem(
                    pointer=name,
                    code="outside_fitted_range",
                    detail=f"`{name}` lies outside the range that the surface was fitted over",
                )
                for name in names
            )
        )


def surface_curves(surface: Surface, rows: FloatArray, angular_speed: FloatArray) -> SurfaceCurves:
    r"""Torque and filling of many engines at many speeds.

    Parameters
    ----------
    surface : Surface
        Of their family.
    rows : ndarray, shape (n, p)
        Engines, in the order of `parameters.PARAMETERS`.
    angular_speed : ndarray, shape (s,) or (n, s)
        Of the crank. [rad s⁻¹]

    Returns
    -------
    SurfaceCurves
        Arrays of shape (n, s).

    Raises
    ------
    OutsideFittedRange
        If an engine or a speed lies outside.

    Notes
    -----
    Each response is

    .. math:: y = c + g\cdot z + \sum_j w_j \, (1 + \tfrac14 |D^T z - n_j|^2)^{-2}

    with the scaled features z. Gross work is the indicated mean effective pressure at
    the reference's air, friction that of these engines.
    """
    _check(surface, rows, angular_speed)
    speed = np.broadcast_to(angular_speed, (rows.shape[0], angular_speed.shape[-1]))
    response = np.empty((*speed.shape, surface.intercept.size))
    step = max(1, CHUNK // speed.shape[1])
    for start in range(0, rows.shape[0], step):
        part = slice(start, start + step)
        response[part] = responses(surface, rows[part], speed[part])
    torque = torque_from_mean_effective_pressure(
        brake_pressure(response, rows), displacement_of(surface.base)
    )
    return SurfaceCurves(torque=torque, volumetric_efficiency=response[..., 1])


def displacement_of(spec: EngineSpec) -> float:
    """Swept volume of a whole engine.

    Parameters
    ----------
    spec : EngineSpec
        The engine.

    Returns
    -------
    float
        [m³]

    Examples
    --------
    >>> from service.engine.example import example_engine
    >>> f"{1e3 * displacement_of(example_engine()):.2f}"
    '5.03'
    """
    return float(swept_volume(spec.bore, spec.stroke)) * spec.cylinders


def air_share(rows: FloatArray) -> FloatArray:
    """Density of the air of engines over that of the reference's air.

    Parameters
    ----------
    rows : ndarray, shape (n, p)
        Engines with their air.

    Returns
    -------
    ndarray, shape (n, 1)
        What gross work goes with, at one speed over the speed of sound. [-]
    """
    pressure = rows[:, INDEX["dry_pressure"]] / REFERENCE_PRESSURE
    return (pressure * REFERENCE_TEMPERATURE / rows[:, INDEX["temperature"]])[:, None]


def brake_pressure(response: FloatArray, rows: FloatArray) -> FloatArray:
    """Brake mean effective pressure from responses.

    Parameters
    ----------
    response : ndarray, shape (n, s, 3)
        Gross work, filling, friction.
    rows : ndarray, shape (n, p)
        Engines with their air.

    Returns
    -------
    ndarray, shape (n, s)
        [Pa]
    """
    work = response[..., 0] * air_share(rows) * WORK_UNIT
    return np.asarray(work - response[..., 2] * FRICTION_UNIT)


def responses(surface: Surface, rows: FloatArray, angular_speed: FloatArray) -> FloatArray:
    """Responses of a surface, wherever they are asked for.

    Parameters
    ----------
    surface : Surface
        The surface.
    rows : ndarray, shape (n, p)
        Engines.
    angular_speed : ndarray, shape (n, s)
        Of each. [rad s⁻¹]

    Returns
    -------
    ndarray, shape (n, s, 3)
        Gross work, filling, friction.

    Notes
    -----
    The bumps are added up in single precision, which is twice as fast and leaves up to
    2e-4 of a response: a fiftieth of what a surface is off by.
    """
    found = airflow_features(rows, angular_speed, surface.base)
    scaled = scaled_features(found, surface.centre, surface.scale)
    flat = scaled.reshape(-1, scaled.shape[-1])
    places, nodes, weights = (
        array.astype(np.float32)
        for array in (flat @ surface.directions, surface.nodes, surface.weights)
    )
    response = surface.intercept + flat @ surface.slopes + bumps_at(places, nodes) @ weights
    return response.reshape(*scaled.shape[:-1], -1)


def scaled_features(found: FloatArray, centre: FloatArray, scale: FloatArray) -> FloatArray:
    """Features over their spread; 0 for one that never changed.

    Parameters
    ----------
    found : ndarray, shape (..., f)
        As `features.airflow_features` gives them.
    centre, scale : ndarray, shape (f,)
        Mean and standard deviation over a design.

    Returns
    -------
    ndarray, shape (..., f)

    Examples
    --------
    >>> scaled_features(np.array([[3.0, 7.0]]), np.array([1.0, 7.0]), np.array([2.0, 0.0]))
    array([[1., 0.]])
    """
    inverse = np.divide(1.0, scale, out=np.zeros_like(scale), where=scale > 0.0)
    return (found - centre) * inverse


def bumps_at(places: NDArray[Real], nodes: NDArray[Real]) -> NDArray[Real]:
    """Rational quadratic bumps over nodes.

    Parameters
    ----------
    places : ndarray, shape (n, r)
        Where they are asked for.
    nodes : ndarray, shape (m, r)
        Where each has its top.

    Returns
    -------
    ndarray, shape (n, m)
        (1 + d²/4)⁻² of the distance d: 1 at the node.

    Notes
    -----
    The kernel of exponent 2 [1]_: Gaussian bumps of many widths in one. A response bends
    sharply where waves meet and hardly elsewhere, and bumps of one width fit neither.

    References
    ----------
    .. [1] C. E. Rasmussen, C. K. I. Williams, *Gaussian Processes for Machine Learning*, MIT
       Press, 2006, equation 4.19.

    Examples
    --------
    >>> bumps_at(np.array([[0.0], [2.0]]), np.array([[0.0]])).round(4)
    array([[1.  ],
           [0.25]])
    """
    quarter = 0.25 * (nodes**2).sum(axis=1) - 0.5 * places @ nodes.T
    quarter += 0.25 * (places**2).sum(axis=1)[:, None] + 1.0
    inverse = np.divide(1.0, np.maximum(quarter, 1.0, out=quarter), out=quarter)
    return np.asarray(np.square(inverse, out=inverse))


def _check(surface: Surface, rows: FloatArray, angular_speed: FloatArray) -> None:
    if not np.all(is_inside(surface.box, rows)):
        names = {each.name for row in rows for each in outside(surface.box, row)}
        raise OutsideFittedRange(*sorted(names))
    slack = 1e-9 * surface.box.fastest
    low, high = surface.box.slowest - slack, surface.box.fastest + slack
    if np.any(angular_speed < low) or np.any(angular_speed > high):
        raise OutsideFittedRange("angular_speed")
