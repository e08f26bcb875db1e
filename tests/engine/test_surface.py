"""A fitted surface against scikit-learn, against a known formula, and against its own claims."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from sklearn.gaussian_process.kernels import RationalQuadratic
from sklearn.kernel_ridge import KernelRidge

from service.engine.design import space_filling
from service.engine.features import airflow_features
from service.engine.inputs import FloatArray
from service.engine.parameters import INDEX
from service.engine.study import SPEED_KNOTS, Study, errors_of, simulated, study_speeds
from service.engine.surface import (
    OutsideFittedRange,
    Surface,
    air_share,
    brake_pressure,
    displacement_of,
    responses,
    scaled_features,
    surface_curves,
)
from service.engine.surface_fit import FOLDS, RIDGE, cross_validated, fit_surface
from tests.engine.made_studies import (
    BASE,
    FASTEST,
    SLOWEST,
    example_box,
    example_row,
    formula,
    made_study,
)
from tests.kits.assembled import STANDARD_AIR, point_at


@cache
def surface() -> Surface:
    return fit_surface(made_study(), BASE, example_box(), np.random.default_rng(0))


@cache
def unseen() -> FloatArray:
    return cross_validated(made_study(), BASE, example_box(), np.random.default_rng(0))


def scaled(rows: FloatArray, speeds: FloatArray) -> FloatArray:
    found = scaled_features(airflow_features(rows, speeds, BASE), surface().centre, surface().scale)
    return found.reshape(-1, found.shape[-1])


def test_predictions_are_those_of_kernel_ridge_regression_in_the_learned_axes() -> None:
    """With every point a node, the fit is scikit-learn's, but for the free intercept."""
    study = made_study()
    one, target = scaled(study.rows, study.angular_speed), study.response.reshape(-1, 3)
    rows = space_filling(example_box(), 32, np.random.default_rng(8))
    speeds = study_speeds(example_box(), 32, 4, np.random.default_rng(8))
    other = scaled(rows, speeds)

    def kernel(left: FloatArray, right: FloatArray) -> FloatArray:
        bumps = RationalQuadratic(alpha=2.0)
        places = left @ surface().directions, right @ surface().directions
        return np.asarray(left @ right.T / left.shape[1] + bumps(*places))

    regression = KernelRidge(alpha=RIDGE, kernel="precomputed")
    regression.fit(kernel(one, one), target - surface().intercept)
    expected = regression.predict(kernel(other, one)) + surface().intercept

    found = responses(surface(), rows, speeds).reshape(-1, 3)
    assert len(surface().nodes) == len(one)
    assert found == pytest.approx(expected, abs=2e-4)


def test_a_known_formula_is_found_on_engines_that_the_fit_has_not_seen() -> None:
    errors = errors_of(made_study(), unseen(), example_box())

    assert errors.torque_median < 0.01
    assert errors.peak_power_rank > 0.98


def test_torque_is_brake_pressure_over_the_displacement() -> None:
    """T = pV/4 pi for a four-stroke engine (Heywood 1988, equation 2.20; from memory)."""
    study = made_study()
    rows, speeds = study.rows[:5], study.angular_speed[:5]

    curves = surface_curves(surface(), rows, speeds)

    pressure = brake_pressure(responses(surface(), rows, speeds), rows)
    assert curves.torque == pytest.approx(pressure * displacement_of(BASE) / (4.0 * np.pi))
    assert curves.volumetric_efficiency == pytest.approx(responses(surface(), rows, speeds)[..., 1])


def test_many_engines_at_once_are_each_as_one_alone() -> None:
    rows = space_filling(example_box(), 2048, np.random.default_rng(6))
    speeds = np.linspace(SLOWEST, FASTEST, 12)

    together = surface_curves(surface(), rows, speeds).torque

    for place in (0, 1365, 2047):
        alone = surface_curves(surface(), rows[place : place + 1], speeds).torque[0]
        assert together[place] == pytest.approx(alone, rel=1e-5)


@pytest.mark.parametrize("name", ["runner_length", "temperature", "intake_duration"])
def test_nothing_is_extrapolated(name: str) -> None:
    row = example_row()
    row[INDEX[name]] *= 1.5

    with pytest.raises(OutsideFittedRange, match=f"`{name}` lies outside"):
        surface_curves(surface(), row[None, :], np.array([300.0]))


@pytest.mark.parametrize("speed", [0.9 * SLOWEST, 1.1 * FASTEST])
def test_a_speed_outside_is_refused(speed: float) -> None:
    with pytest.raises(OutsideFittedRange, match="angular_speed"):
        surface_curves(surface(), example_row()[None, :], np.array([speed]))


def test_an_engine_is_judged_by_a_fit_that_has_never_seen_it() -> None:
    """However wrong an engine's own numbers are, they do not reach its own prediction."""
    study = made_study()
    spoilt = study.response.copy()
    spoilt[7] *= 3.0

    other = cross_validated(
        Study(rows=study.rows, angular_speed=study.angular_speed, response=spoilt),
        BASE,
        example_box(),
        np.random.default_rng(0),
    )

    assert other[7] == pytest.approx(unseen()[7], rel=1e-6)
    reached = ~np.isclose(other, unseen(), rtol=1e-6).all(axis=(1, 2))
    assert reached.sum() >= len(study.rows) * (FOLDS - 1) // FOLDS - 1


def test_a_point_that_did_not_converge_is_left_out_and_counted() -> None:
    study = made_study()
    response = study.response.copy()
    response[3, 2] = np.nan
    holed = Study(rows=study.rows, angular_speed=study.angular_speed, response=response)

    found = fit_surface(holed, BASE, example_box(), np.random.default_rng(0))
    errors = errors_of(holed, unseen(), example_box())

    assert np.isfinite(responses(found, study.rows, study.angular_speed)).all()
    assert (errors.not_converged, errors.engines) == (1, len(study.rows) - 1)


def test_errors_are_those_of_the_readings() -> None:
    """Two per cent too much gross work, friction left out: two per cent too much torque."""
    study = made_study()
    without_friction = study.response * np.array([1.0, 1.0, 0.0])
    plain = replace(study, response=without_friction)

    errors = errors_of(plain, without_friction * 1.02, example_box())

    assert errors.torque_median == pytest.approx(0.02)
    assert errors.torque_rms == pytest.approx((0.02,) * SPEED_KNOTS)
    assert errors.peak_power_p95 == pytest.approx(0.02)
    assert errors.peak_power_rank == pytest.approx(1.0)


def test_speeds_of_a_design_leave_no_gap() -> None:
    """Each engine's close up towards the fast end, and are shifted against the others'."""
    speeds = study_speeds(example_box(), 64, 5, np.random.default_rng(0))
    step = (FASTEST - SLOWEST) / 5

    assert (np.diff(speeds, axis=1) > 0.0).all()
    assert (np.diff(speeds, n=2, axis=1) < 0.0).all()
    assert np.diff(np.sort(speeds.ravel())).max() < 0.2 * step
    assert speeds.min() >= SLOWEST
    assert speeds.max() <= FASTEST


def test_responses_of_a_simulated_engine_give_its_torque_back() -> None:
    row, speed = example_row(), np.array([[400.0]])
    point = point_at(BASE, 400.0 * 30.0 / np.pi)

    found = simulated(BASE, row[None, :], speed, run=map)

    torque = brake_pressure(found, row[None, :]) * displacement_of(BASE) / (4.0 * np.pi)
    assert torque[0, 0] == pytest.approx(point.torque, rel=0.01)
    assert found[0, 0, 1] == pytest.approx(point.cycle.volumetric_efficiency, rel=0.01)


def test_denser_air_counts_by_its_density() -> None:
    """An ideal gas: pressure over temperature."""
    row = example_row()
    thin = row.copy()
    thin[INDEX["dry_pressure"]] *= 0.9
    thin[INDEX["temperature"]] *= 1.05

    share = air_share(np.array([row, thin]))[:, 0]

    assert share == pytest.approx([1.0, 0.9 / 1.05])
    assert STANDARD_AIR.dry_pressure == row[INDEX["dry_pressure"]]


def test_the_formula_of_these_tests_depends_on_the_parameters_it_names() -> None:
    row = example_row()[None, :]
    longer = row.copy()
    longer[:, INDEX["runner_length"]] *= 1.1

    one, other = (formula(rows, np.array([[400.0]])) for rows in (row, longer))

    assert not np.allclose(one, other)
