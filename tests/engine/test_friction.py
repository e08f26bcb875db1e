"""Friction: arithmetic of remembered correlations, size and direction.

No check here rests on a measured engine; the correlations are from memory, so these are
sanity gates, as their names say.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.friction import Machinery, auxiliary_friction, friction, motored_friction
from service.engine.inputs import NonPhysicalInput

RPM = np.pi / 30.0
LARGE_V8 = Machinery(
    bore=0.108,
    stroke=0.104,
    cylinders=8,
    compression_ratio=9.0,
    main_bearings=5,
    valves=16,
    valve_lift=0.012,
    roller_tappets=False,
)
SPEEDS = np.arange(1000.0, 6501.0, 500.0) * RPM


def test_motored_friction_follows_the_textbook_polynomial() -> None:
    """Heywood 1988, Eq. 13.6 (from memory), evaluated by hand. [bar]"""
    speeds = np.array([1000.0, 2000, 3000, 4000, 5000, 5500, 6000, 6500, 7000]) * RPM

    assert motored_friction(speeds) / 1e5 == pytest.approx(
        [1.17, 1.47, 1.87, 2.37, 2.97, 3.3075, 3.67, 4.0575, 4.47], rel=1e-6
    )


def test_auxiliaries_follow_the_published_polynomial() -> None:
    """SAE 890836 (coefficients from memory), evaluated by hand. [kPa]"""
    speeds = np.array([1000.0, 3000.0, 5000.0, 6000.0]) * RPM

    assert auxiliary_friction(speeds) / 1e3 == pytest.approx(
        [11.271, 20.279, 27.855, 31.106], rel=1e-6
    )


def test_rubbing_and_auxiliaries_stay_below_motored_friction_with_a_margin() -> None:
    """Motored friction of small fours contains pumping; 25 % for the other engine."""
    ours = friction(LARGE_V8, SPEEDS).total

    assert np.all(ours < 1.25 * motored_friction(SPEEDS))
    assert np.all(ours > 0.3 * motored_friction(SPEEDS))


def test_mechanical_efficiency_lies_in_the_band_of_the_textbook() -> None:
    """Heywood 1988, section 2.6 (from memory): .90 below 2000 rev/min, .75 when rated.

    Brake mean pressures of the same book, section 2.14: 950 kPa, and 850 kPa when rated.
    Pumping is not in `friction`, so the rated value may be higher than the book's.
    """
    slow, rated = friction(LARGE_V8, np.array([1500.0, 5000.0]) * RPM).total

    assert 950e3 / (950e3 + slow) == pytest.approx(0.90, abs=0.04)
    assert 0.75 < 850e3 / (850e3 + rated) < 0.90


def test_friction_rises_with_speed_above_idle() -> None:
    assert np.all(np.diff(friction(LARGE_V8, SPEEDS).total) > 0.0)


@given(speed=st.floats(800.0, 6500.0))
def test_rollers_rub_less_than_flat_tappets(speed: float) -> None:
    flat = friction(LARGE_V8, speed * RPM).valvetrain

    roller = friction(replace(LARGE_V8, roller_tappets=True), speed * RPM).valvetrain

    assert 0.2 * flat < roller < flat


def test_less_pressure_in_the_manifold_unloads_the_rings_only() -> None:
    full, half = (
        friction(LARGE_V8, 2500.0 * RPM, intake_pressure_ratio=ratio) for ratio in (1.0, 0.5)
    )

    assert half.gas_loading == pytest.approx(0.5 * full.gas_loading)
    assert full.total - half.total == pytest.approx(full.gas_loading - half.gas_loading)


def test_the_terms_of_a_four_cylinder_engine_follow_the_paper_by_hand() -> None:
    """One point worked by hand from the remembered equations, in mm, rev/min, m/s and kPa.

    Bore 86, stroke 86, four cylinders, 3000 rev/min, mains 55.9 x 21.5, pins 45.58 x 18.92.
    """
    four = replace(LARGE_V8, bore=0.086, stroke=0.086, cylinders=4, valves=8, valve_lift=0.009)
    shaft = 86.0**2 * 86.0 * 4
    mains = 3.03e-4 * 3000 * 55.9**3 * 21.5 * 5 / shaft
    pins = 3.03e-4 * 3000 * 45.58**3 * 18.92 * 4 / shaft

    parts = friction(four, 3000.0 * RPM)

    assert parts.crankshaft / 1e3 == pytest.approx(
        1.22e5 * 55.9 / shaft + mains + 1.35e-10 * 55.9**2 * 3000**2 * 5 / 4
    )
    assert parts.piston / 1e3 == pytest.approx(
        pins + 294 * 8.6 / 86 + 4.06e4 * (1 + 500 / 3000) / 86**2
    )
    assert parts.gas_loading / 1e3 == pytest.approx(
        6.89 * (0.088 * 9 + 0.182 * 9 ** (1.33 - 0.0238 * 8.6))
    )
    assert parts.valvetrain / 1e3 == pytest.approx(
        244 * 3000 * 5 / shaft
        + 400 * (1 + 500 / 3000) * 8 / (86 * 4)
        + 0.5 * 9**1.5 * 3000**0.5 * 8 / (86 * 86 * 4)
        + 32.1 * (1 + 500 / 3000) * 9 * 8 / (86 * 4)
    )


def test_an_engine_that_stands_still_has_no_friction_mean_pressure() -> None:
    with pytest.raises(NonPhysicalInput, match="angular_speed"):
        friction(LARGE_V8, 0.0)
