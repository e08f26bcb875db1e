"""Slider-crank; K and U numbers are rows of the project's table of reference values.

Numbers of the K rows were computed apart from the code from Heywood's equations 2.4 and
2.5 (from memory); the textbook pair K8 has printed answers (also from memory).
"""

from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.geometry import (
    circle_area,
    clearance_volume,
    cylinder_volume,
    mean_piston_speed,
    peak_piston_speed,
    piston_speed,
    piston_travel,
    swept_volume,
    trapped_compression_ratio,
)
from service.engine.inputs import NonPhysicalInput
from service.units import in3_to_m3, in_to_m, rpm_to_rad_per_s


class Row(NamedTuple):
    bore: float
    stroke: float
    rod_length: float
    compression_ratio: float
    clearance: float
    volume_ratios: tuple[float, ...]
    half_way: float
    trapped: tuple[float, ...]


ROWS = {
    "K1 and K4": Row(
        in_to_m(4.25),
        in_to_m(4.00),
        in_to_m(6.135),
        9.0,
        in3_to_m3(7.093127),
        (1.69999, 2.50202, 3.49915, 5.67031, 7.49915, 8.62820),
        0.583788,
        (8.3366, 7.9599, 7.4992, 7.2382, 6.9580, 6.6595, 6.3441),
    ),
    "K2 and K5": Row(
        in_to_m(4.00),
        in_to_m(3.48),
        in_to_m(5.70),
        9.5,
        in3_to_m3(5.144820),
        (1.73252, 2.57301, 3.62032, 5.91454, 7.87032, 9.09373),
        0.578182,
        (8.7763, 8.3679, 7.8703, 7.5896, 7.2887, 6.9690, 6.6320),
    ),
    "K3 and K6": Row(
        0.1,
        0.1,
        0.16,
        10.0,
        87266.46e-9,
        (1.77975, 2.67398, 3.78737, 6.22118, 8.28737, 9.57398),
        0.580132,
        (9.2407, 8.8112, 8.2874, 7.9914, 7.6740, 7.3364, 6.9803),
    ),
}
rows = pytest.mark.parametrize("row", ROWS.values(), ids=ROWS)


@rows
def test_volumes_match_the_table(row: Row) -> None:
    """K1 to K3."""
    angles = [30.0, 45.0, 60.0, 90.0, 120.0, 150.0]

    volume = cylinder_volume(angles, row.bore, row.stroke, row.rod_length, row.compression_ratio)

    clearance = clearance_volume(swept_volume(row.bore, row.stroke), row.compression_ratio)
    assert clearance == pytest.approx(row.clearance, rel=1e-5)
    assert volume / clearance == pytest.approx(row.volume_ratios, rel=1e-5)


@rows
def test_the_piston_is_past_half_of_its_stroke_at_ninety_degrees(row: Row) -> None:
    """K1 to K3, last column."""
    travel = piston_travel(90.0, row.stroke, row.rod_length)

    assert travel / row.stroke == pytest.approx(row.half_way, rel=1e-5)


@rows
def test_the_trapped_ratio_falls_with_later_closing_as_tabulated(row: Row) -> None:
    """K4 to K6: closing 40 to 80 degrees after bottom dead centre."""
    closing = [40.0, 50.0, 60.0, 65.0, 70.0, 75.0, 80.0]

    trapped = trapped_compression_ratio(closing, row.stroke, row.rod_length, row.compression_ratio)

    assert trapped == pytest.approx(row.trapped, rel=1e-5)


@pytest.mark.parametrize(
    ("rod_ratio", "speed_ratio", "angle"), [(3.0675, 1.652915, 73.466), (3.5, 1.634012, 75.136)]
)
def test_the_fastest_moment_of_the_piston_matches_the_table(
    rod_ratio: float, speed_ratio: float, angle: float
) -> None:
    """K7: found there by numeric search."""
    peak = peak_piston_speed(rod_ratio)

    assert peak.ratio == pytest.approx(speed_ratio, rel=1e-5)
    assert peak.crank_angle == pytest.approx(angle, rel=1e-5)


@pytest.mark.parametrize(
    ("stroke_in", "speed_rpm", "metres_per_second"),
    [
        (4.0, 5000.0, 16.933),
        (4.0, 5500.0, 18.627),
        (4.0, 6000.0, 20.320),
        (4.0, 6500.0, 22.013),
        (4.25, 5647.0, 4000 * 0.3048 / 60),
    ],
)
def test_mean_piston_speed_is_two_strokes_a_turn(
    stroke_in: float, speed_rpm: float, metres_per_second: float
) -> None:
    """U11: arithmetic, printed to five digits; 4000 ft/min at 4.25 in is 5647 rev/min."""
    speed = mean_piston_speed(in_to_m(stroke_in), rpm_to_rad_per_s(speed_rpm))

    assert speed == pytest.approx(metres_per_second, rel=2.5e-5)


def test_an_eight_of_four_and_a_quarter_by_four_inches_displaces_454() -> None:
    """U10: arithmetic."""
    swept = swept_volume(in_to_m(4.25), in_to_m(4.0))

    assert swept == pytest.approx(in3_to_m3(56.74502), rel=1e-6)
    assert 8 * swept == pytest.approx(in3_to_m3(453.9601), rel=1e-6)
    assert 8 * swept == pytest.approx(7.43907e-3, rel=1e-6)


def test_a_textbook_engine_comes_out_as_printed() -> None:
    """K8: Pulkrabek, example 2-1 (from memory): 3.0 L V6, square, rod 16.6 cm, 3600 rev/min."""
    side = (3.0e-3 / 6 * 4 / np.pi) ** (1 / 3)
    speed = rpm_to_rad_per_s(3600.0)

    mean = mean_piston_speed(side, speed)
    clearance = clearance_volume(swept_volume(side, side), 9.5)
    at_20_degrees = cylinder_volume(20.0, side, side, 0.166, 9.5)

    assert side == pytest.approx(8.6025e-2, rel=1e-5)
    assert mean == pytest.approx(10.3230, rel=1e-5)
    assert clearance == pytest.approx(58.82e-6, rel=1e-4)
    assert piston_speed(20.0, side, 0.166, speed) == pytest.approx(6.9017, rel=1e-5)
    assert piston_travel(20.0, side, 0.166) == pytest.approx(0.32471e-2, rel=2e-5)
    assert at_20_degrees == pytest.approx(77.70e-6, rel=1e-4)


def test_piston_speed_is_the_slope_of_piston_travel() -> None:
    """A second route: central differences."""
    angle, step, turning = np.linspace(-180.0, 540.0, 49), 1e-3, 500.0

    ahead = piston_travel(angle + step, 0.104, 0.168)
    behind = piston_travel(angle - step, 0.104, 0.168)

    slope = (ahead - behind) / np.deg2rad(2 * step) * turning
    assert piston_speed(angle, 0.104, 0.168, turning) == pytest.approx(slope, abs=1e-5)


@given(rod_ratio=st.floats(min_value=1.2, max_value=20.0))
def test_no_crank_angle_is_faster_than_the_fastest(rod_ratio: float) -> None:
    peak = peak_piston_speed(rod_ratio)

    speeds = piston_speed(np.linspace(0.0, 180.0, 721), 2.0, rod_ratio, np.pi / 2)

    assert speeds.max() <= peak.ratio * (1 + 1e-12)
    assert speeds.max() == pytest.approx(peak.ratio, rel=1e-3)


def test_a_valve_that_closes_at_the_bottom_traps_the_whole_ratio() -> None:
    assert trapped_compression_ratio(0.0, 0.1, 0.16, 10.0) == pytest.approx(10.0)


def test_a_rod_shorter_than_the_throw_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="rod_length"):
        piston_travel(90.0, 0.1, 0.05)


def test_circle_area_grows_with_the_square() -> None:
    assert circle_area([1.0, 2.0]) == pytest.approx([np.pi / 4, np.pi])
