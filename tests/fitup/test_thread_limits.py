"""Rows T3 to T6, T9, T10 and the limits of U2 to U5. FED-STD-H28/21B, 5.1.3, examples 1 to 3; the
rest of the tables of ISO 965 and the formulas of ASME B1.1 from memory."""

import pytest

from service.fitup.thread_limits import (
    ThreadLimits,
    metric_limits,
    pitch_tolerance_um,
    unified_limits,
)

COARSE = tuple(metric_limits(size, pitch) for size, pitch in ((6.0, 1.0), (8.0, 1.25), (10.0, 1.5)))
FIELDS = {
    "T3 major max": ("major_max_mm", (5.974, 7.972, 9.968)),
    "T3 major min": ("major_min_mm", (5.794, 7.760, 9.732)),
    "T4 pitch max": ("pitch_max_mm", (5.324, 7.160, 8.994)),
    "T4 pitch min": ("pitch_min_mm", (5.212, 7.042, 8.862)),
    "T5 pitch min": ("hole_pitch_min_mm", (5.350, 7.188, 9.026)),
    "T5 pitch max": ("hole_pitch_max_mm", (5.500, 7.348, 9.206)),
    "T6 minor min": ("hole_minor_min_mm", (4.917, 6.647, 8.376)),
    "T6 minor max": ("hole_minor_max_mm", (5.153, 6.912, 8.676)),
}


@pytest.mark.parametrize("row", FIELDS)
def test_t3_to_t6_limits_6g_and_6h(row: str) -> None:
    name, sizes = FIELDS[row]
    for limits, size in zip(COARSE, sizes, strict=True):
        assert getattr(limits, name) == pytest.approx(size, abs=1e-3)


def test_m12_limits_6g_and_6h() -> None:
    """M12 x 1.75 in the tables of ISO 965-2 (from memory), of which the reference has no row."""
    found = metric_limits(12.0, 1.75)
    assert [round(getattr(found, name), 3) for name in ThreadLimits.__slots__] == [
        *(11.966, 11.701, 10.829, 10.679),
        *(10.863, 11.063, 10.106, 10.441),
    ]


def test_t9_the_standards_own_example() -> None:
    """H28/21B, examples 1 and 2: M27 x 1.5-4e6g in 6H."""
    found = metric_limits(27.0, 1.5, pitch_grade=4, position="e")

    expected = ThreadLimits(
        major_max_mm=26.968,
        major_min_mm=26.732,
        pitch_max_mm=25.959,
        pitch_min_mm=25.864,
        hole_pitch_min_mm=26.026,
        hole_pitch_max_mm=26.226,
        hole_minor_min_mm=25.376,
        hole_minor_max_mm=25.676,
    )
    for name in ThreadLimits.__slots__:
        assert getattr(found, name) == pytest.approx(getattr(expected, name), abs=1e-3), name


def test_t10_pitch_tolerance_of_grade_4() -> None:
    """H28/21B, example 3: .63 · .09 · 1.25^.4 · 29^.1 = .08681 mm."""
    assert pitch_tolerance_um(29.0, 1.25, grade=4) == pytest.approx(86.81, abs=0.01)


def test_u2_to_u5_limits_2a_and_2b() -> None:
    """In inches; U3 and U4 to 1e-4, minor diameters to 5e-4, as the tables round."""
    rows = (
        (0.2489, 0.2408, 0.2164, 0.2127, 0.2175, 0.2224, 0.196, 0.207),
        (0.3113, 0.3026, 0.2752, 0.2712, 0.2764, 0.2817, 0.252, 0.265),
        (0.3737, 0.3643, 0.3331, 0.3287, 0.3344, 0.3401, 0.307, 0.321),
    )
    for (size, per_inch), row in zip(((0.25, 20), (0.3125, 18), (0.375, 16)), rows, strict=True):
        limits = unified_limits(size, per_inch)
        for name, inches in zip(ThreadLimits.__slots__, row, strict=True):
            within = 6e-4 if "minor" in name else 1.1e-4
            assert getattr(limits, name) / 25.4 == pytest.approx(inches, abs=within), name


def test_a_finer_thread_than_one_millimetre_has_its_own_rule() -> None:
    """ISO 965-1, M5 x 0.8-6H, minor diameter: 4.334 mm at most (from memory)."""
    assert metric_limits(5.0, 0.8).hole_minor_max_mm == pytest.approx(4.334, abs=1e-3)
