"""Rows L1 to L7: arithmetic on the rules of NASA-STD-5020B and FED-STD-H28/2B."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fitup.bolts import (
    LEAD_PITCHES,
    STANDARD_LENGTHS_MM,
    Hole,
    LengthFault,
    bolt_fit,
    lengths_that_fit,
)
from service.fitup.spans import Span
from service.fitup.threads import (
    ALUMINIUM_319,
    ALUMINIUM_356,
    CLASS_8_8,
    M6,
    M8,
    UNC_1_4,
    UNC_3_8,
    UNC_5_16,
    bolt_breaks_first_mm,
)

L1 = Hole(
    thread=M6, full_thread_mm=Span.exactly(15.0), drilled_mm=Span.exactly(19.0), countersink_mm=1.0
)
L2 = replace(L1, damaged_pitches=Span.exactly(2.0))
L4 = Hole(
    thread=M8, full_thread_mm=Span.exactly(18.0), drilled_mm=Span.exactly(23.0), countersink_mm=1.2
)
GRIP_6, GRIP_8 = Span.exactly(10.0), Span.exactly(14.2)


@pytest.mark.parametrize(
    ("hole", "grip", "rows"),
    [
        (L1, GRIP_6, ((16, 6, 3.5, 13), (20, 10, 7.5, 9), (25, 15, 12.5, 4), (30, 20, 14.5, -1))),
        (L2, GRIP_6, ((16, 6, 2.0, 13), (20, 10, 6.0, 9), (25, 15, 11.0, 4), (30, 20, 13.0, -1))),
        (
            L4,
            GRIP_8,
            (
                (25, 10.8, 7.7, 12.2),
                (30, 15.8, 12.7, 7.2),
                (35, 20.8, 17.4, 2.2),
                (40, 25.8, 17.4, -2.8),
            ),
        ),
    ],
    ids=["L1", "L2", "L4"],
)
def test_l1_l2_l4_reach_engagement_and_margin(
    hole: Hole, grip: Span, rows: tuple[tuple[float, float, float, float], ...]
) -> None:
    for length, reach, engaged, margin in rows:
        fit = bolt_fit(Span.exactly(length), grip, hole, 0.0)
        assert fit.penetration_mm.low == pytest.approx(reach, abs=1e-3)
        assert fit.engaged_mm.low == pytest.approx(engaged, abs=1e-3)
        assert fit.margin_mm.low == pytest.approx(margin, abs=1e-3)


def test_l3_damage_asks_for_the_next_length() -> None:
    needed = bolt_breaks_first_mm(M6, CLASS_8_8, ALUMINIUM_356)

    assert lengths_that_fit(GRIP_6, L1, needed)[0].length_mm == 20.0
    assert lengths_that_fit(GRIP_6, L2, needed)[0].length_mm == 25.0


@pytest.mark.parametrize("casting", [ALUMINIUM_356, ALUMINIUM_319])
def test_l5_longer_is_not_better(casting: object) -> None:
    """25 holds too little, 35 runs into incomplete threads, 40 bottoms; only 30 will do."""
    assert casting in (ALUMINIUM_356, ALUMINIUM_319)
    needed = 9.72 if casting is ALUMINIUM_356 else 11.45
    faults = {
        length: bolt_fit(Span.exactly(length), GRIP_8, L4, needed).faults
        for length in (25.0, 30.0, 35.0, 40.0)
    }

    assert faults[25.0] == (LengthFault.TOO_SHORT,)
    assert faults[30.0] == ()
    assert faults[35.0] == (LengthFault.RUNS_OUT,)
    assert LengthFault.BOTTOMS in faults[40.0]
    assert [fit.length_mm for fit in lengths_that_fit(GRIP_8, L4, needed)] == [30.0]


def test_l6_lengths_in_which_bolts_are_sold() -> None:
    """Mechanical engineer's data handbook, p. 299: 16 20 25 30 35 40 45 50 mm."""
    assert {16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0} <= set(STANDARD_LENGTHS_MM)


def test_x23_half_a_countersink_is_lost() -> None:
    """FED-STD-H28/2B, 70.7.2."""
    plain = bolt_fit(Span.exactly(20.0), GRIP_6, replace(L1, countersink_mm=0.0), 0.0)
    sunk = bolt_fit(Span.exactly(20.0), GRIP_6, replace(L1, countersink_mm=2.0), 0.0)

    assert plain.engaged_mm.low - sunk.engaged_mm.low == pytest.approx(1.0, rel=1e-9)


def test_l7_two_pitches_past_a_nut() -> None:
    """MSFC-STD-486B, table XII: .100, .111, .125 in for 20, 18 and 16 to the inch."""
    for thread, past in ((UNC_1_4, 0.100), (UNC_5_16, 0.111), (UNC_3_8, 0.125)):
        assert LEAD_PITCHES * thread.pitch_mm / 25.4 == pytest.approx(past, abs=5e-4)


def test_a_shank_must_not_reach_the_hole() -> None:
    """MSFC-STD-486B, 4.3: the hole's thread does not ride on the run-out at the shank."""
    short = bolt_fit(Span.exactly(30.0), GRIP_8, L4, 9.72, threaded_mm=16.0)
    enough = bolt_fit(Span.exactly(30.0), GRIP_8, L4, 9.72, threaded_mm=22.0)

    assert short.faults == (LengthFault.RIDES_ON_SHANK,)
    assert enough.faults == ()


@given(
    grip=st.floats(4.0, 40.0),
    depth=st.floats(8.0, 40.0),
    over=st.floats(1.0, 8.0),
    needed=st.floats(4.0, 16.0),
    tolerance=st.floats(0.0, 1.0),
    measured=st.floats(0.0, 1.0),
    lost=st.integers(0, 4),
    share=st.tuples(*[st.floats(-1.0, 1.0)] * 3),
)
def test_no_length_that_is_chosen_ever_bottoms_or_holds_too_little(
    grip: float,
    depth: float,
    over: float,
    needed: float,
    tolerance: float,
    measured: float,
    lost: int,
    share: tuple[float, float, float],
) -> None:
    hole = Hole(
        thread=M6,
        full_thread_mm=Span.around(depth, measured),
        drilled_mm=Span.around(depth + over, measured),
        damaged_pitches=Span(0.0, float(lost)),
    )
    chosen = lengths_that_fit(Span.around(grip, measured), hole, needed, tolerance_mm=tolerance)
    for fit in chosen:
        # One engine out of all that the tolerances allow.
        reach = fit.length_mm + share[0] * tolerance - (grip + share[1] * measured)
        threads = depth + share[2] * measured
        assert threads + over - reach >= 1.0 - 1e-9
        assert reach <= threads + 2.0 * M6.pitch_mm + 1e-9
        assert min(reach - 2.0 * M6.pitch_mm, threads) - lost * M6.pitch_mm >= needed - 1e-9


@given(measured=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0), lost=st.integers(0, 4))
def test_what_is_less_well_known_never_lets_another_length_in(
    measured: float, more: float, lost: int
) -> None:
    known = lengths_that_fit(Span.around(10.0, measured), L1, 7.37)
    vague = lengths_that_fit(
        Span.around(10.0, measured + more), replace(L1, damaged_pitches=Span(0.0, lost)), 7.37
    )

    assert {fit.length_mm for fit in vague} <= {fit.length_mm for fit in known}
