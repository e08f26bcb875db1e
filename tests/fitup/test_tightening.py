"""Rows of section 6. The model of elastic interaction is defined there (M8); M9 to M13 are its
arithmetic. M1 is MIL-HDBK-60, figure 4; M4 a service page of a V8."""

from itertools import pairwise
from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fitup.tightening import (
    NEIGHBOUR_SHARE,
    RETORQUE_AFTER_HOURS,
    STAGED_SHARES,
    BoltPlace,
    Round,
    by_distance,
    ring_order,
    rounds_until_still,
    tighten,
    tightening_order,
)
from tests.fitup.second_readings import in_a_row, single_pass_targets

THREE = in_a_row(3, next_share=0.2)
FIVE = in_a_row(5, next_share=0.2, second_share=0.05)
CENTRE_OUT = (2, 1, 3, 0, 4)


def row(count: int, across_mm: float = 0.0) -> list[BoltPlace]:
    return [
        BoltPlace(label=f"{rank}", along_mm=60.0 * rank, across_mm=across_mm)
        for rank in range(count)
    ]


def test_m1_pairs_round_a_flange_of_sixteen() -> None:
    """Ranks of the pairs from twelve o'clock round half the circle: 1 5 3 6 2 7 4 8."""
    flange = [
        BoltPlace(label=f"{k}", along_mm=80 * sin(k * pi / 8), across_mm=80 * cos(k * pi / 8))
        for k in range(16)
    ]
    order = tightening_order(flange)
    pairs = [{order[i], order[i + 1]} for i in range(0, 16, 2)]

    assert all(max(pair) - min(pair) == 8 for pair in pairs)
    rank = {min(pair): place for place, pair in enumerate(pairs, start=1)}
    assert [rank[place] for place in range(8)] == [1, 5, 3, 6, 2, 7, 4, 8]


def test_m4_twelve_bolts_of_a_v8_intake() -> None:
    """Front to back: 9 5 1 3 7 11 on one side, 10 6 2 4 8 12 on the other."""
    places = row(6, 120.0) + row(6, -120.0)
    order = tightening_order(places)
    number = {bolt: rank for rank, bolt in enumerate(order, start=1)}

    assert [number[bolt] for bolt in range(6)] == [9, 5, 1, 3, 7, 11]
    assert [number[bolt] for bolt in range(6, 12)] == [10, 6, 2, 4, 8, 12]


def test_m2_a_straight_row_begins_in_the_middle() -> None:
    """Army manual: centre-out; the printed row has one pair the other way round."""
    assert tightening_order(row(9)) == (4, 3, 5, 2, 6, 1, 7, 0, 8)


@given(
    places=st.lists(
        st.builds(
            BoltPlace,
            label=st.just("b"),
            along_mm=st.floats(-400, 400),
            across_mm=st.floats(-200, 200),
        ),
        max_size=24,
    )
)
def test_every_bolt_is_tightened_once_whatever_the_layout(places: list[BoltPlace]) -> None:
    assert sorted(tightening_order(places)) == list(range(len(places)))


@pytest.mark.parametrize("per_side", range(2, 12))
def test_numbers_rise_outwards_and_sides_alternate(per_side: int) -> None:
    places = row(per_side, 100.0) + row(per_side, -100.0)
    order = tightening_order(places)
    middle = 30.0 * (per_side - 1)
    outwards = [abs(places[bolt].along_mm - middle) for bolt in order]

    assert outwards == sorted(outwards)
    assert all(a // per_side != b // per_side for a, b in pairwise(order))


def test_m3_m5_m6_the_passes_rise_no_faster_than_others_print_them() -> None:
    """M3 Army manual: 70 % before the last. M5 a V6's service page: 7 of 13 N·m, 7 of 25. M6 ASME
    PCC-1, from memory: up to 20-30 %, then 50-70 %, then 100 %, then round and round."""
    snug, part, full = STAGED_SHARES

    assert snug <= min(7.0 / 13.0, 7.0 / 25.0, 0.30)
    assert 0.50 <= part <= 0.70
    assert full == 1.0
    assert RETORQUE_AFTER_HOURS >= 4.0
    places = row(6, 120.0) + row(6, -120.0)
    shares = by_distance(places, next_share=NEIGHBOUR_SHARE, reach_mm=150.0)
    rounds = rounds_until_still(tightening_order(places), ring_order(places), shares)
    assert [each.share for each in rounds[:3]] == [snug, part, full]
    assert all(each.order == ring_order(places) for each in rounds[3:])
    assert len(rounds) >= 5


def test_m7_tightening_one_bolt_takes_up_to_a_third_from_the_next() -> None:
    """An engineering page, ASME PVP2005-71: up to 35 %, more with a gasket."""
    assert NEIGHBOUR_SHARE == 0.35
    two = in_a_row(2, next_share=NEIGHBOUR_SHARE)
    found = tighten([Round(order=(0, 1), share=1.0)], two).after_round[0]

    assert found == pytest.approx((0.65, 1.0))


def test_m8_what_the_model_says() -> None:
    """A rise takes its share from a neighbour that is tight, nothing from one that is not; a
    bolt at its target is not turned."""
    rounds = [Round(order=(1, 0), share=1.0), Round(order=(0,), share=0.5)]
    found = tighten(rounds, in_a_row(2, next_share=0.2))

    assert found.after_round[0] == pytest.approx((1.0, 0.8))
    assert found.after_round[1] == found.after_round[0]
    assert found.turned == (2, 0)


def test_m9_m10_three_bolts() -> None:
    assert tighten([Round(order=(0, 1, 2), share=1.0)], THREE).after_round[0] == pytest.approx(
        (0.8, 0.8, 1.0)
    )
    assert tighten([Round(order=(1, 0, 2), share=1.0)], THREE).after_round[0] == pytest.approx(
        (1.0, 0.6, 1.0)
    )


@pytest.mark.parametrize(
    ("order", "passes", "least", "mean"),
    [
        (CENTRE_OUT, (1.0,), 0.500, 0.810),
        (CENTRE_OUT, (0.3, 0.7, 1.0), 0.7334, 0.9058),
        (CENTRE_OUT, (0.3, 0.7, 1.0, 1.0), 0.9344, 0.9710),
        (CENTRE_OUT, (0.3, 0.7, 1.0, 1.0, 1.0), 0.9829, 0.9931),
        ((0, 1, 2, 3, 4), (1.0,), 0.750, None),
        ((0, 1, 2, 3, 4), (0.3, 0.7, 1.0), 0.8562, None),
        ((0, 1, 2, 3, 4), (0.3, 0.7, 1.0, 1.0), 0.9571, None),
        ((0, 1, 2, 3, 4), (0.3, 0.7, 1.0, 1.0, 1.0), 0.9880, None),
    ],
)
def test_m11_m12_five_bolts(
    order: tuple[int, ...], passes: tuple[float, ...], least: float, mean: float | None
) -> None:
    rounds = [Round(order=order, share=share) for share in passes[:3]]
    rounds += [Round(order=(0, 1, 2, 3, 4), share=share) for share in passes[3:]]
    left = tighten(rounds, FIVE).after_round[-1]

    assert min(left) == pytest.approx(least, abs=1e-4)
    if mean is not None:
        assert float(np.mean(left)) == pytest.approx(mean, abs=1e-4)


def test_m13_what_to_set_for_one_even_pass() -> None:
    assert single_pass_targets((0, 1, 2), THREE) == pytest.approx((1.24, 1.20, 1.00), abs=1e-4)
    assert single_pass_targets(CENTRE_OUT, FIVE) == pytest.approx(
        (1.000, 1.260, 1.592, 1.200, 1.000), abs=1e-4
    )


def test_the_last_pass_is_the_one_in_which_no_bolt_turns() -> None:
    places = row(6, 120.0) + row(6, -120.0)
    shares = by_distance(places, next_share=0.3, reach_mm=150.0)
    rounds = rounds_until_still(tightening_order(places), ring_order(places), shares)
    found = tighten(rounds, shares)

    assert found.turned[-1] == 0
    assert all(found.turned[:-1])
    assert min(found.after_round[-1]) > 0.99
