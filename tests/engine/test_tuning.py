"""Tuned speeds; R numbers are rows of the project's table of reference values."""

import numpy as np
import pytest

from service.engine import tuning
from service.engine.flow import sound_speed
from service.units import (
    in2_to_m2,
    in3_to_m3,
    in_to_m,
    rad_per_s_to_rpm,
    rpm_to_rad_per_s,
)

EXACT_OVER_PRINTED = 162.057 / 162.0
"""The rule prints 162 where its own derivation gives 162.057."""


def feet_to_m(feet: float) -> float:
    return in_to_m(12.0 * feet)


def tuned_rpm(
    feet_per_second: float, area_in2: float, length_in: float, volume_in3: float, ratio: float
) -> float:
    """Tuned speed with the rule's own constant of 2.1."""
    speed = tuning.helmholtz_tuned_speed(
        feet_to_m(feet_per_second),
        in2_to_m2(area_in2),
        in_to_m(length_in),
        in3_to_m3(volume_in3),
        ratio,
        speed_ratio=2.1,
    )
    return rad_per_s_to_rpm(float(speed))


def test_the_constant_of_the_rule_in_inches_is_162() -> None:
    """R1: 60·12/(2π)·√2 = 162.057; the 162 was read in a student's published script."""
    constant = tuned_rpm(1.0, 1.0, 1.0, 1.0, 3.0) * 2.1 / np.sqrt(0.5)

    assert constant == pytest.approx(162.057, rel=1e-5)


@pytest.mark.parametrize(
    ("runner", "printed_rpm"),
    [
        ((1100.0, 2.5, 12.0, 43.75, 10.0), 5296.7),
        ((1130.0, 3.0, 14.0, 56.75, 10.0), 4845.2),
        ((1130.0, 3.0, 8.0, 56.75, 10.0), 6409.6),
        ((1130.0, 3.5, 10.0, 62.5, 10.0), 5900.6),
    ],
)
def test_runners_tune_where_the_worked_rows_say(
    runner: tuple[float, float, float, float, float], printed_rpm: float
) -> None:
    """R2 to R4, worked with the rounded constant."""
    assert tuned_rpm(*runner) == pytest.approx(printed_rpm * EXACT_OVER_PRINTED, rel=1e-4)


def test_the_frequency_of_a_worked_row_is_found() -> None:
    """R3: 169.64 Hz for 4845.2 rev/min, 2.1 times the crank's frequency, as above."""
    volume = tuning.mid_stroke_volume(in3_to_m3(56.75), 10.0)

    frequency = tuning.helmholtz_frequency(feet_to_m(1130.0), in2_to_m2(3.0), in_to_m(14.0), volume)

    assert frequency == pytest.approx(169.64, rel=1e-4)


def plenum_case(plenum_in3: float) -> tuple[float, float, float, float, float]:
    """R5's runner (3 in², 12 in), inlet duct (8 in², 4 in) and cylinder."""
    return (
        feet_to_m(1150.0),
        in_to_m(12.0) / in2_to_m2(3.0),
        in_to_m(4.0) / in2_to_m2(8.0),
        float(tuning.mid_stroke_volume(in3_to_m3(56.75), 10.0)),
        in3_to_m3(plenum_in3),
    )


def test_a_plenum_adds_a_second_resonance_where_the_worked_row_says() -> None:
    """R5: 4816.0 and 8016.3 rev/min with the exact constant, K 2.1 (row: 4814.3, 8013.5)."""
    frequencies = np.array(tuning.plenum_resonances(*plenum_case(150.0)))

    speeds = frequencies * 60.0 / 2.1
    assert speeds == pytest.approx([4816.0, 8016.3], rel=1e-4)
    assert speeds == pytest.approx([4814.3, 8013.5], rel=5e-4)


def test_the_two_resonances_are_the_natural_frequencies_of_two_masses_on_two_springs() -> None:
    """A second route: eigenvalues of the equations of motion, by numpy."""
    speed, runner, inlet, cylinder, plenum = plenum_case(150.0)
    stiffness = np.array([[1 / cylinder + 1 / plenum, -1 / plenum], [-1 / plenum, 1 / plenum]])
    squares = np.linalg.eigvals(speed**2 * stiffness / np.array([[runner], [inlet]]))

    frequencies = tuning.plenum_resonances(speed, runner, inlet, cylinder, plenum)

    expected = np.sort(np.sqrt(squares.real)) / (2 * np.pi)
    assert np.array(frequencies) == pytest.approx(expected, rel=1e-12)


def test_a_vast_plenum_leaves_the_runner_alone() -> None:
    """Limit: the higher resonance becomes the Helmholtz frequency, the lower one vanishes."""
    speed, runner, inlet, cylinder, _ = plenum_case(150.0)

    low, high = tuning.plenum_resonances(speed, runner, inlet, cylinder, 1e3)

    assert high == pytest.approx(tuning.helmholtz_frequency(speed, 1.0, runner, cylinder), rel=1e-4)
    assert low < 1e-2 * high


@pytest.mark.parametrize(
    ("rpm", "metres"),
    [
        (2000.0, 1.16875),
        (3000.0, 0.77917),
        (4000.0, 0.58438),
        (6000.0, 0.38958),
        (8000.0, 0.29219),
    ],
)
def test_a_pipe_for_a_returning_wave_has_the_worked_length(rpm: float, metres: float) -> None:
    """R6: a published homework problem (85 degrees, 330 m/s); numbers computed apart."""
    speed = rpm_to_rad_per_s(rpm)

    length = tuning.wave_return_length(85.0, 330.0, speed)

    assert length == pytest.approx(metres, rel=1e-5)
    assert tuning.wave_tuned_speed(85.0, 330.0, length) == pytest.approx(speed, rel=1e-12)


@pytest.mark.parametrize(
    ("length", "speed", "hertz"),
    [(0.3048, 346.1, 283.875), (0.4, 346.1, 216.313), (0.5, 343.2, 171.600)],
)
def test_a_pipe_closed_at_one_end_sounds_at_a_quarter_wave(
    length: float, speed: float, hertz: float
) -> None:
    """R8: a/4L; printed to six digits."""
    assert tuning.quarter_wave_frequency(speed, length) == pytest.approx(hertz, rel=1e-5)


@pytest.mark.parametrize(("order", "rpm"), [(3.0, 8652.5), (4.0, 6489.4), (5.0, 5191.5)])
def test_orders_of_a_quarter_wave_fall_where_the_worked_row_says(order: float, rpm: float) -> None:
    """R8: 120 f/q for 0.4 m."""
    frequency = tuning.quarter_wave_frequency(346.1, 0.4)

    assert rad_per_s_to_rpm(float(tuning.order_speed(frequency, order))) == pytest.approx(
        rpm, rel=1e-5
    )


@pytest.mark.parametrize(("flanged", "hertz"), [(False, 208.118), (True, 206.036)])
def test_an_open_end_lengthens_its_pipe(flanged: bool, hertz: float) -> None:  # noqa: FBT001 - a row of the table
    """R9: radius 20 mm, 0.4 m, a 343.2 m/s; coefficients from memory."""
    length = 0.4 + tuning.end_correction(0.020, flanged=flanged)

    assert tuning.quarter_wave_frequency(343.2, length) == pytest.approx(hertz, rel=1e-4)
    assert tuning.end_correction(0.020, flanged=flanged) > 0.0


def test_longer_or_narrower_runners_tune_lower_by_the_root() -> None:
    """R10: Helmholtz's law; direction from Taylor, Livengood and Tsai, 1955 (abstract)."""
    base = tuned_rpm(1130.0, 3.0, 14.0, 56.75, 10.0)

    assert tuned_rpm(1130.0, 3.0, 28.0, 56.75, 10.0) == pytest.approx(base / np.sqrt(2.0))
    assert tuned_rpm(1130.0, 1.5, 14.0, 56.75, 10.0) == pytest.approx(base / np.sqrt(2.0))


def test_longer_pipes_return_their_wave_at_lower_speed_in_proportion() -> None:
    """R10."""
    short, long = tuning.wave_tuned_speed(85.0, 330.0, [0.4, 0.8])

    assert short == pytest.approx(2.0 * long)


def test_a_plenum_adds_a_resonance_below_that_of_the_runner_alone() -> None:
    """R10."""
    speed, runner, inlet, cylinder, plenum = plenum_case(150.0)
    alone = tuning.helmholtz_frequency(speed, 1.0, runner, cylinder)

    low, high = tuning.plenum_resonances(speed, runner, inlet, cylinder, plenum)

    assert low < alone < high


def test_a_hotter_charge_tunes_higher_with_the_root_of_temperature() -> None:
    """R10."""
    cold, hot = tuning.wave_tuned_speed(85.0, sound_speed([300.0, 330.0]), 0.5)

    assert hot / cold == pytest.approx(np.sqrt(1.1))
