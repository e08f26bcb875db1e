"""Butterfly open area against numeric integration of its outline.

T numbers are rows of the project's reference values, integrated there with 400 000 points.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.inputs import NonPhysicalInput
from service.engine.throttle import butterfly_open_area

BORE = 0.08
BORE_AREA = np.pi / 4 * BORE**2
T_ROWS = [
    (0.0, 10.0, 0.01519, 0.01519, 0.01514),
    (0.0, 30.0, 0.13397, 0.13390, 0.13340),
    (0.0, 45.0, 0.29289, 0.29268, 0.29116),
    (0.0, 60.0, 0.50000, 0.49936, 0.49474),
    (0.0, 75.0, 0.74118, 0.73815, 0.71457),
    (0.0, 90.0, 1.00000, 0.87289, 0.74706),
    (10.0, 20.0, 0.04581, 0.04579, 0.04564),
    (10.0, 45.0, 0.28198, 0.28178, 0.28036),
    (10.0, 60.0, 0.49229, 0.49167, 0.48725),
    (10.0, 75.0, 0.73719, 0.73426, 0.71155),
]


@pytest.mark.parametrize(("closed", "blade", "thin", "middle", "thick"), T_ROWS)
def test_the_open_area_matches_the_integrated_outline(
    closed: float, blade: float, thin: float, middle: float, thick: float
) -> None:
    """T1 to T10: shafts of 0, 0.1 and 0.2 bores."""
    shafts = np.array([0.0, 0.1, 0.2]) * BORE

    share = butterfly_open_area(BORE, shafts, closed, blade) / BORE_AREA

    assert share == pytest.approx([thin, middle, thick], abs=1e-4)


def test_the_open_area_matches_an_integration_done_here() -> None:
    """A second route: a strip at height y is open beyond the ellipse or the shaft."""
    shaft, closed, blade = 0.15, 8.0, 68.0
    height = (np.arange(400_000) + 0.5) / 400_000
    bore_edge = np.sqrt(1.0 - height**2)
    # The blade turns about the axis along which `bore_edge` is measured.
    cover = np.cos(np.deg2rad(blade)) / np.cos(np.deg2rad(closed))
    blade_edge = np.sqrt(np.maximum(1.0 - (height / cover) ** 2, 0.0))
    covered = np.where(height < shaft, bore_edge, np.minimum(blade_edge, bore_edge))
    expected = 4.0 * np.mean(bore_edge - covered) / np.pi

    share = butterfly_open_area(BORE, shaft * BORE, closed, blade) / BORE_AREA

    assert share == pytest.approx(expected, abs=1e-5)


def test_the_remembered_signs_of_the_textbook_form_are_not_used() -> None:
    """75 degrees, shaft 0.2 bores: that form gives 0.6799, integration 0.7146."""
    share = butterfly_open_area(BORE, 0.2 * BORE, 0.0, 75.0) / BORE_AREA

    assert share == pytest.approx(0.7146, abs=1e-4)


@pytest.mark.parametrize(
    ("shaft", "rough", "exact"),
    [(0.10, 0.87268, 0.87289), (0.15, 0.80901, 0.80973), (0.20, 0.74535, 0.74706)],
)
def test_wide_open_the_bore_less_its_shaft_remains(
    shaft: float, rough: float, exact: float
) -> None:
    """The rough figure takes the shaft as a rectangle: 1 - 4a/π."""
    share = butterfly_open_area(BORE, shaft * BORE, 0.0, 90.0) / BORE_AREA

    assert share == pytest.approx(exact, abs=1e-5)
    assert rough == pytest.approx(1.0 - 4.0 * shaft / np.pi, abs=1e-5)
    assert rough < share < rough + 0.002


@given(
    shaft=st.floats(min_value=0.0, max_value=0.6),
    closed=st.floats(min_value=0.0, max_value=30.0),
)
def test_the_open_area_starts_at_nothing_never_falls_and_ends_in_a_plateau(
    shaft: float, closed: float
) -> None:
    angles = np.linspace(closed, 90.0, 300)

    share = butterfly_open_area(1.0, shaft, closed, angles)

    assert share[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(share) >= -1e-12)
    hidden = np.cos(np.deg2rad(angles)) <= shaft * np.cos(np.deg2rad(closed))
    assert np.all(np.abs(share[hidden] - share[-1]) < 1e-12)


def test_the_open_area_has_no_step_where_the_blade_goes_behind_its_shaft() -> None:
    """The form with the other signs jumps here."""
    edge = np.rad2deg(np.arccos(0.2))

    before, after = butterfly_open_area(1.0, 0.2, 0.0, [edge - 1e-4, edge + 1e-4])

    assert after - before == pytest.approx(0.0, abs=1e-6)


def test_a_blade_behind_its_stop_or_a_shaft_that_fills_the_bore_is_refused() -> None:
    with pytest.raises(NonPhysicalInput, match="blade_angle"):
        butterfly_open_area(0.08, 0.01, 10.0, 5.0)
    with pytest.raises(NonPhysicalInput, match="shaft"):
        butterfly_open_area(0.08, 0.08, 0.0, 45.0)
