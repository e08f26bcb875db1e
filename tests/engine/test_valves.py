"""Inlet Mach index; Z numbers are rows of the project's table of reference values."""

import numpy as np
import pytest

from service.engine.geometry import circle_area, mean_piston_speed
from service.engine.inputs import NonPhysicalInput
from service.engine.valves import (
    choked_filling_bound,
    inlet_mach_index,
    mean_inlet_flow_coefficient,
)
from service.units import in_to_m, rpm_to_rad_per_s


def mach_index_at(speed_rpm: float, valve_in: float = 2.19) -> float:
    """Bore 4.25 in, stroke 4.00 in, flow coefficient 0.35, a 343.23 m/s: the rows' engine."""
    index = inlet_mach_index(
        circle_area(in_to_m(4.25)),
        circle_area(in_to_m(valve_in)),
        mean_piston_speed(in_to_m(4.0), rpm_to_rad_per_s(speed_rpm)),
        0.35,
        343.23,
    )
    return float(index)


@pytest.mark.parametrize(
    ("speed_rpm", "expected"),
    [
        (4000.0, 0.42469),
        (5000.0, 0.53086),
        (5500.0, 0.58394),
        (6000.0, 0.63704),
        (6500.0, 0.69012),
        (7000.0, 0.74320),
    ],
)
def test_the_index_follows_from_its_definition(speed_rpm: float, expected: float) -> None:
    """Z4: arithmetic of Taylor's definition (which is from memory)."""
    assert mach_index_at(speed_rpm) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(("valve_in", "speed_rpm"), [(2.19, 5651.2), (2.06, 5000.2)])
def test_the_knee_comes_earlier_with_a_smaller_valve(valve_in: float, speed_rpm: float) -> None:
    """Z5: crank speed at Z 0.6; arithmetic."""
    assert mach_index_at(speed_rpm, valve_in) == pytest.approx(0.6, rel=1e-4)


@pytest.mark.parametrize(
    ("mach_index", "open_duration", "bound"),
    [
        (0.5787, 180.0, 1.0000),
        (0.8, 180.0, 0.7234),
        (1.0, 180.0, 0.5787),
        (1.0, 240.0, 0.7716),
        (1.2, 240.0, 0.6430),
    ],
)
def test_the_choked_bound_matches_its_closed_form(
    mach_index: float, open_duration: float, bound: float
) -> None:
    """Z3: closed form (5/6)³·Δθ/180/Z; the printed bounds have four digits."""
    value = choked_filling_bound(mach_index, open_duration)

    assert value == pytest.approx(bound, abs=5e-5)
    assert value == pytest.approx((5 / 6) ** 3 * open_duration / 180 / mach_index, rel=1e-6)


Z6_ROWS = {
    180.0: [0.9781, 0.9173, 0.8382, 0.7374, 0.6250, 0.5720, 0.4812, 0.4125],
    240.0: [0.9190, 0.9209, 0.8954, 0.8601, 0.7853, 0.7348, 0.6339, 0.5490],
    260.0: [0.8359, 0.8620, 0.8475, 0.8266, 0.7849, 0.7506, 0.6686, 0.5884],
}
"""Filling by a quasi-steady model at Z 0.1, 0.3, 0.5, 0.7, 0.9, 1.0, 1.2, 1.4; rows Z6,
integrated with scipy apart from this project's code."""


@pytest.mark.parametrize("open_duration", Z6_ROWS)
def test_no_quasi_steady_filling_exceeds_the_choked_bound(open_duration: float) -> None:
    """Z3 against Z6; both take the mean area over the whole event."""
    index = np.array([0.1, 0.3, 0.5, 0.7, 0.9, 1.0, 1.2, 1.4])

    bound = choked_filling_bound(index, open_duration)

    assert np.all(np.array(Z6_ROWS[open_duration]) <= bound)


def test_the_mean_coefficient_of_a_sine_squared_lift_is_half_its_peak() -> None:
    """The mean of sin² over half a period is one half."""
    angle = np.linspace(0.0, 240.0, 241)
    area = 1.4e-3 * np.sin(np.pi * angle / 240.0) ** 2

    assert mean_inlet_flow_coefficient(angle, area, 2e-3) == pytest.approx(0.35, rel=1e-9)


def test_the_mean_weighs_uneven_steps_by_their_width() -> None:
    """Trapezium by hand: (1·0.5 + 3·1.0)/4 of the valve's area."""
    mean = mean_inlet_flow_coefficient([0.0, 1.0, 4.0], [0.0, 1e-3, 1e-3], 1e-3)

    assert mean == pytest.approx(0.875)


def test_angles_that_do_not_rise_are_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="crank_angle"):
        mean_inlet_flow_coefficient([0.0, 2.0, 1.0], [0.0, 1e-3, 0.0], 1e-3)
