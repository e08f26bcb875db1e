"""Rows O1 to O3, O5, O6 and O8: *Gasoline FAQ* (1996), and the air-standard cycle in closed form.
O4 and O7 stand with the finding that they are about, in `test_fuelling.py`."""

from itertools import pairwise

import pytest

from service.engine.otto import otto_efficiency
from service.fitup.octane import (
    BRAKE_EFFICIENCY,
    FIXED_TIMING_RON,
    anti_knock_index,
    fixed_timing_octane_ron,
)


def test_o1_o2_what_engines_of_fixed_timing_asked_for() -> None:
    """The FAQ's table; from 8 on exactly 60 + 4 CR. Between its rows it only rises."""
    for ratio, ron in (
        (5, 72),
        (6, 81),
        (7, 87),
        (8, 92),
        (9, 96),
        (10, 100),
        (11, 104),
        (12, 108),
    ):
        assert FIXED_TIMING_RON[ratio] == ron
        assert fixed_timing_octane_ron(ratio) == pytest.approx(ron)
        if ratio >= 8:
            assert ron == 60 + 4 * ratio
    asked = [fixed_timing_octane_ron(4.5 + 0.25 * step) for step in range(36)]
    assert all(a < b for a, b in pairwise(asked))


def test_o3_brake_efficiency_lies_well_under_the_air_standard() -> None:
    """The FAQ's table: 25 28 30 32 33 34 35 %; it rises and stays under 60 % of the cycle's."""
    assert list(BRAKE_EFFICIENCY.values()) == [0.25, 0.28, 0.30, 0.32, 0.33, 0.34, 0.35]
    for ratio, efficiency in BRAKE_EFFICIENCY.items():
        assert efficiency < 0.60 * float(otto_efficiency(float(ratio)))


def test_o5_what_pumps_print() -> None:
    """By definition: RON 95 and MON 85 are 90 AKI."""
    assert anti_knock_index(95.0, 85.0) == 90.0


def test_o6_air_standard_efficiency() -> None:
    """One less the ratio to the power of -0.4."""
    found = otto_efficiency([8.0, 9.0, 10.0, 11.0])
    assert found == pytest.approx([0.56472, 0.58476, 0.60189, 0.61678], abs=1e-5)


def test_o8_the_scales_are_those_of_the_two_engine_tests() -> None:
    """ASTM D2699 and D2700 (scopes only): research and motor number, volume per cent of a
    reference fuel; a pump's index lies between the two."""
    assert 85.0 < anti_knock_index(95.0, 85.0) < 95.0
