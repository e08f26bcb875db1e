"""What each stated uncertainty moves, and that it widens the bounds.

Directions are those of textbooks (Heywood, *Internal Combustion Engine Fundamentals*,
1988, chapters 5, 6, 9 and 13; from memory).
"""

from dataclasses import replace

import numpy as np
import pytest

from service.engine.cams import YARDSTICK_CHECKING_HEIGHT, lobe_lift_at
from service.engine.curve import brake_point, power_curve
from service.engine.uncertainty import (
    BOUND_WIDTH,
    CHECKING_HEIGHT,
    CLEARANCE_VOLUME,
    MODEL_ERROR,
    UNCERTAINTIES,
    USUAL_SEAT_HEIGHT,
    Uncertainty,
)
from tests.kits.assembled import STANDARD_AIR, point_at, stock_engine
from tests.seed import FAMILIES, QUAY_BIG

NAMED = {each.name: each for each in UNCERTAINTIES}
HIGH_RPM = 5000.0


@pytest.mark.parametrize("uncertainty", UNCERTAINTIES, ids=lambda each: each.name)
@pytest.mark.parametrize("family", FAMILIES)
def test_every_input_moves_the_engine_and_names_its_source(
    family: str, uncertainty: Uncertainty
) -> None:
    spec = stock_engine(family)

    assert uncertainty.moved(spec) != spec
    assert uncertainty.size
    assert uncertainty.source


@pytest.mark.parametrize("name", ["port_bench_flow", "intake_discharge", "exhaust_discharge"])
def test_more_area_gives_more_power_at_high_speed(name: str) -> None:
    spec = stock_engine(QUAY_BIG)

    assert point_at(NAMED[name].moved(spec), HIGH_RPM).power > point_at(spec, HIGH_RPM).power


@pytest.mark.parametrize("name", ["friction", "heat_transfer", "burn_duration"])
def test_more_loss_gives_less_power(name: str) -> None:
    spec = stock_engine(QUAY_BIG)

    assert point_at(NAMED[name].moved(spec), HIGH_RPM).power < point_at(spec, HIGH_RPM).power


def test_less_clearance_is_more_compression() -> None:
    """Ratio less one is swept over clearance volume: arithmetic."""
    spec = stock_engine(QUAY_BIG)

    moved = NAMED["compression"].moved(spec)

    expected = (spec.compression_ratio - 1.0) / (1.0 - CLEARANCE_VOLUME)
    assert moved.compression_ratio - 1.0 == pytest.approx(expected)


def test_a_lobe_checked_higher_keeps_its_short_duration_and_stays_open_longer() -> None:
    """The same angle at a greater lift; the yardstick at 1.27 mm was never in doubt."""
    spec = stock_engine(QUAY_BIG)
    angles = np.arange(0.0, 180.0, 0.001)

    before = lobe_lift_at(angles, spec.intake.lobe)
    after = lobe_lift_at(angles, NAMED["cam_checking_height"].moved(spec).intake.lobe)

    def half_duration(lift: np.ndarray[tuple[int], np.dtype[np.float64]], height: float) -> float:
        return float(angles[lift > height][-1])

    short = YARDSTICK_CHECKING_HEIGHT
    assert half_duration(after, short) == pytest.approx(half_duration(before, short), abs=0.01)
    assert half_duration(after, USUAL_SEAT_HEIGHT + CHECKING_HEIGHT) == pytest.approx(
        half_duration(before, USUAL_SEAT_HEIGHT), abs=0.01
    )


def test_friction_is_taken_off_a_known_cycle_as_off_a_new_one() -> None:
    spec = stock_engine(QUAY_BIG)
    known = point_at(spec, HIGH_RPM)
    moved = NAMED["friction"].moved(spec)

    again = brake_point(moved, STANDARD_AIR, known.angular_speed, known.cycle)

    assert again.torque == pytest.approx(point_at(moved, HIGH_RPM).torque)


def test_bounds_hold_every_input_and_the_model() -> None:
    """Independent errors add as squares (JCGM 100:2008, section 5)."""
    curve = power_curve(stock_engine(QUAY_BIG), STANDARD_AIR, np.array([200.0, 350.0, 500.0]))

    assert curve.changes.shape == (len(UNCERTAINTIES), 3)
    assert (curve.changes != 0.0).all()
    squares = sum(row**2 for row in curve.changes) + MODEL_ERROR**2
    assert curve.relative_error == pytest.approx(BOUND_WIDTH * np.sqrt(squares))


def test_a_cycle_that_came_apart_has_no_torque_and_no_converged_point() -> None:
    spec = stock_engine(QUAY_BIG)
    known = point_at(spec, HIGH_RPM)
    nothing = replace(known.cycle, indicated_work=float("nan"), converged=False)

    point = brake_point(spec, STANDARD_AIR, known.angular_speed, nothing)

    assert np.isnan(point.torque)
    assert not point.cycle.converged
