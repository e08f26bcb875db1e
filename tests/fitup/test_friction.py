"""Rows of section 3 on friction. NASA-TM-106943 (Chambers 1995), NASA-STD-5020B (2021), appendix
A.2, MIL-HDBK-60; an aviation maintenance page; a supplier's list."""

import pytest

from service.fitup.friction import settled_preload_n
from service.fitup.threads import M6, M8, M10, UNC_1_4
from service.fitup.torque import NUT_FACTORS, FrictionState
from tests.fitup.second_readings import (
    FRICTION_COEFFICIENTS,
    FRICTION_SPREAD,
    LUBRICATED_BAND,
    NUT_FACTOR_BANDS,
    nut_factor,
    nut_factor_apart,
    preload_trials,
)

# NASA-STD-5020B, table 6: thirty bolts at 450 lbf·in, diameter .375 in [lbf].
TABLE = """
7760 4010 3587 4635 4920 3797 4462 4940 6220 4780
7229 4310 3900 4322 4475 3812 4132 4219 6100 4685
6080 4291 3054 4804 3910 3303 4090 4550 6062 5180
"""
TRIALS = tuple(float(each) for each in TABLE.split())


def test_q8_friction_in_thread_and_under_head_apart() -> None:
    """NASA-TM-106943, equation 2, with both at .15."""
    for thread, factor in ((M6, 0.1986), (M8, 0.1974), (M10, 0.1967), (UNC_1_4, 0.2023)):
        assert nut_factor_apart(thread, 0.15, 0.15) == pytest.approx(factor, abs=1e-4)


def test_q9_coefficients_and_their_spread() -> None:
    """MIL-HDBK-60, table II; the short form turns machine oil into no less than our oiled K."""
    oil = FRICTION_COEFFICIENTS["machine oil"]
    least = nut_factor(M6, oil * (1.0 - FRICTION_SPREAD))
    assert least >= NUT_FACTORS[FrictionState.OIL]


def test_q10_q11_the_factors_that_are_used_lie_in_the_bands_that_are_printed() -> None:
    """NASA-TM-106943, p. 4: lubricated .11 to .15, dry about .20; supplier: dry .18 to .27,
    machine oil .10 to .26, zinc .17 to .35, phosphated and oiled .15 to .22."""
    dry, oil = NUT_FACTORS[FrictionState.DRY], NUT_FACTORS[FrictionState.OIL]
    assert NUT_FACTOR_BANDS["dry"].low <= dry <= NUT_FACTOR_BANDS["dry"].high
    assert NUT_FACTOR_BANDS["machine oil"].low <= oil <= NUT_FACTOR_BANDS["machine oil"].high
    assert LUBRICATED_BAND.low <= oil <= LUBRICATED_BAND.high
    assert LUBRICATED_BAND.low <= NUT_FACTORS[FrictionState.ANTI_SEIZE] <= LUBRICATED_BAND.high


def test_q13_thirty_trials() -> None:
    """NASA-STD-5020B, table 6 and A.2: mean printed as 4721, K .2542, scatter .4984."""
    found = preload_trials(TRIALS, 450.0, 0.375)

    assert found.mean == pytest.approx(4720.6, abs=0.1)
    assert found.nut_factor == pytest.approx(0.2542, abs=1e-3)
    assert found.deviation == pytest.approx(1096.96, rel=1e-3)
    assert found.above == pytest.approx(0.6438, abs=1e-3)
    assert found.below == pytest.approx(0.3531, abs=1e-3)
    assert found.scatter == pytest.approx(0.4984, abs=1e-3)


@pytest.mark.parametrize(
    ("area_in2", "nominal", "least", "most"),
    [(0.0364, 2011, 1436, 2514), (0.0580, 3205, 2289, 4006), (0.0878, 4851, 3465, 6064)],
)
def test_q14_preload_table(area_in2: float, nominal: float, least: float, most: float) -> None:
    """NASA-TM-106943: .65 of a yield of 85 ksi, least .75/1.05, most 1.25 [lbf]."""
    mean = 0.65 * 85_000.0 * area_in2
    found = settled_preload_n(mean, 0.25)

    assert mean == pytest.approx(nominal, abs=1.5)
    assert found.low == pytest.approx(least, abs=1.5)
    assert found.high == pytest.approx(most, abs=1.5)


def test_q15_least_preload_with_relaxation() -> None:
    """The same, equations 15 and 16: T/(K D) · .75/1.05."""
    assert settled_preload_n(1.0, 0.25).low == pytest.approx(0.75 / 1.05, rel=1e-9)


def test_q29_anti_seize_against_a_dry_plated_bolt() -> None:
    """An aviation maintenance page, 3/8-24 to 5788 lbf: 28.9 against 19.9 lbf·ft."""
    dry, slippery = (torque * 12.0 / (5788.0 * 0.375) for torque in (28.9, 19.9))

    assert dry == pytest.approx(0.1598, abs=2e-4)
    assert slippery == pytest.approx(0.1100, abs=2e-4)
    assert slippery / dry == pytest.approx(0.689, abs=2e-3)
    used = NUT_FACTORS[FrictionState.ANTI_SEIZE] / NUT_FACTORS[FrictionState.DRY]
    assert used <= slippery / dry
