"""Fitting a response surface to simulated engines, and finding out how far off it is.

A ridge regression (scikit-learn) on scaled features and on bumps over some of
the simulated points. The bumps are round in a space whose axes are learned: wherever the
response bends, distances are stretched. Errors are those on engines that the fit, learned
axes included, has not seen.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, eigh, solve_triangular
from threadpoolctl import threadpool_limits

from service.engine.design import DesignRange
from service.engine.features import airflow_features
from service.engine.inputs import FloatArray
from service.engine.model import EngineSpec
from service.engine.study import Study
from service.engine.surface import Surface, bumps_at, responses, scaled_features

ROUNDS = 3
"""Times that the axes are learned anew."""
WIDTH = 8.0
"""Of a bump, in mean distances of scaled features. [-]"""
RIDGE = 1e-2
"""Penalty on the square of the weights. [-]"""
SHARPNESS = 0.5
"""Power of the matrix of gradients that becomes the metric. [-]"""
SCOUTS, NODES = 600, 1200
"""Bumps while axes are learned, and in the end."""
FOLDS = 5
WEIGHT_DECIMALS = 7
"""Of a weight of some tens: what is cut off is a millionth of any response."""
LEAST_LENGTH = 0.02
"""Axes along which the whole design is shorter than about this are left out."""
_JITTER = 1e-8
"""Share of a bump's height that keeps the kernel's factor from failing."""


FoldRunner = Callable[[Callable[["_Fold"], FloatArray], Iterable["_Fold"]], Iterable[FloatArray]]
"""`map`, or an executor's."""


def fit_surface(
    study: Study, base: EngineSpec, box: DesignRange, generator: np.random.Generator
) -> Surface:
    """Fit all the points of a study.

    Parameters
    ----------
    study : Study
        Simulated engines.
    base : EngineSpec
        Whose fixed figures they share.
    box : DesignRange
        What they fill.
    generator : numpy.random.Generator
        Chooses the nodes among the points.

    Returns
    -------
    Surface
    """
    # On matrices of this size threads of the linear algebra wait for each other.
    with threadpool_limits(1):
        return _fitted(study, base, box, generator)


def _fitted(
    study: Study, base: EngineSpec, box: DesignRange, generator: np.random.Generator
) -> Surface:
    known = np.isfinite(study.response).all(axis=-1)
    found = airflow_features(study.rows, study.angular_speed, base)[known]
    target = study.response[known]
    centre, scale = found.mean(axis=0), found.std(axis=0)
    scale = np.where(scale > 1e-9 * np.abs(centre), scale, 0.0)
    scaled = scaled_features(found, centre, scale)
    order = generator.permutation(len(scaled))
    # Rounded before the regression, these are exact in it and short in a file.
    directions = np.round(_learned_directions(scaled, target[:, 0], order[:SCOUTS]), 5)
    nodes = np.round(scaled[order[:NODES]] @ directions, 3)
    intercept, slopes, weights = _regression(scaled, scaled @ directions, nodes, target)
    return Surface(
        base=base,
        box=box,
        centre=centre,
        scale=scale,
        directions=directions,
        nodes=nodes,
        intercept=intercept,
        slopes=slopes,
        weights=weights,
    )


def cross_validated(
    study: Study,
    base: EngineSpec,
    box: DesignRange,
    generator: np.random.Generator,
    *,
    run: FoldRunner = map,
) -> FloatArray:
    """Responses of every engine by a surface that was fitted without it.

    Parameters
    ----------
    study : Study
        Simulated engines.
    base : EngineSpec
        Whose fixed figures they share.
    box : DesignRange
        What they fill.
    generator : numpy.random.Generator
        Chooses the nodes.
    run : callable
        `map` or an executor's: folds are independent.

    Returns
    -------
    ndarray, shape (n, s, 3)
    """
    from sklearn.model_selection import GroupKFold  # noqa: PLC0415 - 50 MB that only a fit needs.

    engines = np.arange(len(study.rows))
    splits = [left_out for _, left_out in GroupKFold(FOLDS).split(study.rows, groups=engines)]
    folds = [
        _Fold(study, base, box, left_out, each)
        for left_out, each in zip(splits, generator.spawn(FOLDS), strict=True)
    ]
    found = np.empty_like(study.response)
    with threadpool_limits(1):
        for fold, read in zip(folds, run(_read, folds), strict=True):
            found[fold.left_out] = read
    return found


@dataclass(frozen=True, slots=True)
class _Fold:
    """A part of a study that is left out."""

    study: Study
    base: EngineSpec
    box: DesignRange
    left_out: NDArray[np.int64]
    generator: np.random.Generator


def _read(fold: _Fold) -> FloatArray:
    """Responses of the engines left out, by a fit of the others."""
    study = fold.study
    learned = np.ones(len(study.rows), dtype=bool)
    learned[fold.left_out] = False
    part = Study(
        rows=study.rows[learned],
        angular_speed=study.angular_speed[learned],
        response=study.response[learned],
    )
    surface = _fitted(part, fold.base, fold.box, fold.generator)
    return responses(surface, study.rows[fold.left_out], study.angular_speed[fold.left_out])


def _learned_directions(
    scaled: FloatArray, target: FloatArray, scouts: NDArray[np.int64]
) -> FloatArray:
    """Axes along which the response changes, each as long as its changes are large.

    Average outer product of gradients, fitted anew in the axes it gave [1]_.

    .. [1] A. Radhakrishnan, D. Beaglehole, P. Pandit, M. Belkin, "Mechanism for feature
       learning in neural networks and backpropagation-free machine learning models",
       *Science* 383:1461-1467, 2024.
    """
    directions = np.eye(scaled.shape[1]) / WIDTH
    for _ in range(ROUNDS):
        places = scaled @ directions
        nodes = places[scouts]
        _, slopes, weights = _regression(scaled, places, nodes, target[:, None])
        # Slope of (1 + d^2/4)^-2 towards a node: (1 + d^2/4)^-3, times the way there.
        pull = bumps_at(places, nodes) ** 1.5 * weights[:, 0]
        bend = pull @ nodes - pull.sum(axis=1)[:, None] * places
        gradients = bend @ directions.T + slopes[:, 0]
        directions = _axes(gradients.T @ gradients)
    return directions


def _axes(changes: FloatArray) -> FloatArray:
    """Square root of a matrix of changes, its largest directions, in the usual length."""
    sizes, vectors = eigh(changes)
    lengths = np.maximum(sizes, 0.0) ** (SHARPNESS / 2.0)
    usual = np.sqrt(len(sizes) / (lengths**2).sum()) / WIDTH
    kept = lengths * usual > LEAST_LENGTH
    return np.ascontiguousarray(vectors[:, kept] * lengths[kept] * usual)


def _regression(
    scaled: FloatArray, places: FloatArray, nodes: FloatArray, target: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Intercept, slopes and weights of the bumps.

    The penalty on the weights is their norm as a function, w^T K w; with K = L L^T the
    regression on bumps times L^-T has the usual one.
    """
    from sklearn.linear_model import Ridge  # noqa: PLC0415 - 50 MB that only a fit needs.

    kernel = bumps_at(nodes, nodes)
    lower = cholesky(kernel + _JITTER * np.eye(len(nodes)) * len(nodes), lower=True)
    white = solve_triangular(lower, bumps_at(places, nodes).T, lower=True).T
    shrink = 1.0 / np.sqrt(scaled.shape[1])
    ridge = Ridge(alpha=RIDGE, solver="cholesky")
    spread = target.std(axis=0)
    ridge.fit(np.column_stack([shrink * scaled, white]), target / spread)
    coefficients = np.atleast_2d(ridge.coef_).T * spread
    count = scaled.shape[1]
    weights = solve_triangular(lower.T, coefficients[count:], lower=False)
    slopes = np.ascontiguousarray(shrink * coefficients[:count])
    return (
        ridge.intercept_ * spread,
        slopes,
        np.round(np.ascontiguousarray(weights), WEIGHT_DECIMALS),
    )
