"""Rows of section 1: rigid bodies in the plane, derived and confirmed by a contact solve.

Factors and cases G1, G2, G5 to G14 are that derivation's numbers; G12 with holes of ISO 273;
G3 is an older list of the trade, from memory; G17 a trade magazine's formula (Dec 2003).
"""

from dataclasses import replace
from math import cos, radians, sin, sqrt, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fitup.gaskets import PORT_MATCH_MM
from service.fitup.spans import Span
from service.fitup.vee import (
    BankCuts,
    FitVerdict,
    OffsetLadder,
    Seat,
    Vee,
    angle_mill_cut_mm,
    bolt_starts,
    end_rail_gap_mm,
    vee_of,
)

INCH = 25.4
FACTORS = (
    (90, 0, 0.7071, 0.7071, 1.0000, 1.4142, 0.0000, 1.0000),
    (90, 5, 0.7071, 0.7071, 1.1001, 1.5498, 0.1138, 0.9231),
    (90, 8, 0.7071, 0.7071, 1.1750, 1.6455, 0.1743, 0.8854),
    (90, 10, 0.7071, 0.7071, 1.2328, 1.7170, 0.2120, 0.8632),
    (90, 12, 0.7071, 0.7071, 1.2983, 1.7960, 0.2479, 0.8431),
    (90, 15, 0.7071, 0.7071, 1.4142, 1.9319, 0.2989, 0.8165),
    (90, 20, 0.7071, 0.7071, 1.6732, 2.2235, 0.3774, 0.7802),
    (90, 25, 0.7071, 0.7071, 2.0674, 2.6499, 0.4497, 0.7525),
    (90, 30, 0.7071, 0.7071, 2.7321, 3.3461, 0.5176, 0.7321),
    (90, 40, 0.7071, 0.7071, 8.1131, 8.7894, 0.6452, 0.7098),
    (60, 0, 0.8660, 0.5000, 0.5774, 1.1547, 0.0000, 1.0000),
    (60, 5, 0.8660, 0.5000, 0.6104, 1.2161, 0.1520, 0.8717),
    (60, 10, 0.8660, 0.5000, 0.6527, 1.2856, 0.2701, 0.7779),
    (60, 15, 0.8660, 0.5000, 0.7071, 1.3660, 0.3660, 0.7071),
    (60, 20, 0.8660, 0.5000, 0.7779, 1.4619, 0.4465, 0.6527),
    (60, 30, 0.8660, 0.5000, 1.0000, 1.7321, 0.5774, 0.5774),
    (60, 40, 0.8660, 0.5000, 1.4619, 2.2398, 0.6840, 0.5321),
)
V90_10 = Vee(bank_angle_deg=90.0, face_angle_deg=10.0)
ONE = Span.exactly(1.0)
bank_angles = st.floats(30.0, 120.0)
face_angles = st.floats(0.0, 25.0)
moves = st.floats(-2.0, 2.0)
widths = st.floats(0.0, 0.5)


def cuts(move: float = 0.0, face: float = 0.0, gasket: float = 0.0) -> BankCuts:
    return BankCuts(
        head_mill_mm=Span.exactly(move),
        face_cut_mm=Span.exactly(face),
        intake_gasket_growth_mm=Span.exactly(gasket),
    )


def seat(vee: Vee, right: BankCuts, left: BankCuts | None = None) -> Seat:
    found = vee.seat(right, left or right)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("bank", "face", "drop", "inboard", "side", "bottom", "sinks", "off"), FACTORS
)
def test_every_row_of_the_factor_table(
    bank: float,
    face: float,
    drop: float,
    inboard: float,
    side: float,
    bottom: float,
    sinks: float,
    off: float,
) -> None:
    vee = Vee(bank_angle_deg=bank, face_angle_deg=face)
    uncorrected = seat(vee, cuts(1.0))

    assert vee.vertical_drop_mm(ONE).low == pytest.approx(drop, abs=1e-4)
    assert vee.inboard_move_mm(ONE).low == pytest.approx(inboard, abs=1e-4)
    assert vee.side_factor() == pytest.approx(side, abs=1e-4)
    assert vee.bottom_factor() == pytest.approx(bottom, abs=1e-4)
    assert uncorrected.drop_mm.low == pytest.approx(sinks, abs=1e-4)
    assert uncorrected.offset_right_mm.low == pytest.approx(-off, abs=1e-4)


def test_g1_g2_ten_thousandths_at_ninety_and_ten_degrees() -> None:
    """In inches: .012328 off each side, .017170 off the bottom; the trade's 1.73 is not exact."""
    assert 0.010 * (V90_10.side_factor() or 0.0) == pytest.approx(0.012328, abs=5e-7)
    assert 0.010 * (V90_10.bottom_factor() or 0.0) == pytest.approx(0.017170, abs=5e-7)


def test_g3_an_older_list_of_multipliers_for_ninety_degrees() -> None:
    listed = {5: 1.1, 10: 1.2, 15: 1.4, 20: 1.7, 25: 2.0, 30: 3.0, 35: 4.0, 40: 8.0}
    for face, factor in listed.items():
        vee = Vee(bank_angle_deg=90.0, face_angle_deg=face)
        assert vee.side_factor() == pytest.approx(factor, abs=0.3 if face == 30 else 0.12)


@given(face=st.floats(0.0, 40.0))
def test_closed_form_for_ninety_degrees(face: float) -> None:
    vee, beta = Vee(bank_angle_deg=90.0, face_angle_deg=face), radians(face)

    assert vee.side_factor() == pytest.approx(1.0 / (cos(beta) - sin(beta)), rel=1e-9)
    assert vee.bottom_factor() == pytest.approx(sqrt(2.0) / (1.0 - tan(beta)), rel=1e-9)


@pytest.mark.parametrize(
    ("move", "face", "gasket", "drop", "offset"),
    [
        (0.043, 0.0, 0.0, 0.00912, -0.03712),
        (0.043, 0.020, 0.0, 0.03353, -0.02311),
        (0.043, 0.020, -0.010, 0.04574, -0.01611),
        (0.030, 0.0, 0.015, -0.01195, -0.03640),
        (-0.020, 0.0, 0.0, -0.00424, 0.01726),
    ],
    ids=["G5", "G6", "G7", "G8", "G9"],
)
def test_g5_to_g9_cuts_and_gaskets(
    move: float, face: float, gasket: float, drop: float, offset: float
) -> None:
    """In inches, on 90 and 10 degrees."""
    found = seat(V90_10, cuts(move, face, gasket))

    assert found.drop_mm.low == pytest.approx(drop, abs=1e-5)
    assert found.worst_offset_mm.low == pytest.approx(offset, abs=1e-5)


def test_g5_the_move_is_made_of_deck_head_and_gasket() -> None:
    mixed = BankCuts(
        deck_cut_mm=Span.exactly(0.010),
        head_mill_mm=Span.exactly(0.020),
        head_gasket_growth_mm=Span.exactly(0.028 - 0.041),
    )

    assert mixed.head_move_mm.low == pytest.approx(0.043, abs=1e-12)
    assert V90_10.vertical_drop_mm(mixed.head_move_mm).low == pytest.approx(0.03041, abs=1e-5)
    assert V90_10.inboard_move_mm(mixed.head_move_mm).low == pytest.approx(0.03041, abs=1e-5)


def test_g10_g11_banks_that_differ() -> None:
    """In inches."""
    found = seat(V90_10, cuts(0.010), cuts(0.020))
    assert found.shift_mm.low == pytest.approx(-0.001514, abs=1e-6)
    assert found.drop_mm.low == pytest.approx(0.003180, abs=1e-6)
    assert found.offset_right_mm.low == pytest.approx(-0.006784, abs=1e-6)
    assert found.offset_left_mm.low == pytest.approx(-0.019112, abs=1e-6)
    assert found.worst_offset_mm == found.offset_left_mm

    square = seat(Vee(bank_angle_deg=90.0, face_angle_deg=0.0), cuts(0.010), cuts(0.020))
    assert square.drop_mm.low == pytest.approx(0.0, abs=1e-12)
    assert square.shift_mm.low == pytest.approx(0.0, abs=1e-12)
    assert square.offset_right_mm.low == pytest.approx(-0.010, rel=1e-9)
    assert square.offset_left_mm.low == pytest.approx(-0.020, rel=1e-9)


@pytest.mark.parametrize(
    ("bolt", "hole", "most"),
    [(6.0, 6.6, 0.348), (6.0, 7.0, 0.579), (8.0, 9.0, 0.579), (10.0, 11.0, 0.579)],
)
def test_g12_g13_bolts_start_up_to_the_play_of_iso_273_holes(
    bolt: float, hole: float, most: float
) -> None:
    for move, starts in ((most - 0.001, True), (most + 0.001, False)):
        offset = seat(V90_10, cuts(move)).worst_offset_mm.low
        assert bolt_starts(offset, hole_mm=hole, bolt_mm=bolt) is starts


def test_a_slot_and_a_tilted_bolt_give_room() -> None:
    assert not bolt_starts(0.5, hole_mm=6.6, bolt_mm=6.0)
    assert bolt_starts(0.5, hole_mm=6.6, bolt_mm=6.0, slot_mm=0.21)
    assert bolt_starts(0.5, hole_mm=6.6, bolt_mm=6.0, tilt_deg=60.0)


def test_g14_end_rail_gap() -> None:
    new, move = Span.exactly(3.0), 0.508
    uncorrected = seat(V90_10, cuts(move)).drop_mm
    corrected = seat(V90_10, cuts(move, move * (V90_10.side_factor() or 0.0))).drop_mm

    assert end_rail_gap_mm(new, uncorrected).low == pytest.approx(2.892, abs=1e-3)
    assert end_rail_gap_mm(new, corrected).low == pytest.approx(2.128, abs=1e-3)
    thicker_gasket = seat(V90_10, cuts(-move)).drop_mm
    assert end_rail_gap_mm(new, thicker_gasket).low > 3.0


def test_g4_included_angles_of_v8_faces() -> None:
    """*Intake Port Alignment*, trade magazine, July 1955: 90 to 140 degrees, so β 0 to 25."""
    for face, included in ((0.0, 90.0), (25.0, 140.0)):
        vee = Vee(bank_angle_deg=90.0, face_angle_deg=face)
        assert vee.included_angle_deg == pytest.approx(included)


@given(move=st.floats(0.01, 2.0))
def test_g15_resurfaced_heads_ask_for_a_flange_milled_in_proportion(move: float) -> None:
    """A general repair manual, p. 3-62 (its sentence is cut off; the rest from memory)."""
    side = V90_10.side_factor() or 0.0
    once, twice = (seat(V90_10, cuts(each * move, each * move * side)) for each in (1.0, 2.0))

    assert once.worst_offset_mm.greatest_size == pytest.approx(0.0, abs=1e-9)
    assert twice.worst_offset_mm.greatest_size == pytest.approx(0.0, abs=1e-9)
    assert seat(V90_10, cuts(move)).worst_offset_mm.greatest_size > 0.0


def test_g16_matched_ports_stand_between_absorbed_and_machined() -> None:
    """A trade article on port matching: .015 in is an ideal tolerance (common practice)."""
    assert pytest.approx(0.015 * INCH) == PORT_MATCH_MM
    assert OffsetLadder().verdict(Span.exactly(PORT_MATCH_MM)) is FitVerdict.DRY_FIT


def test_g17_angle_milling() -> None:
    """Inches; a trade magazine prints 0.0175 W A, its small-angle form."""
    assert angle_mill_cut_mm(6.0, 1.0) == pytest.approx(0.10473, abs=1e-5)
    assert angle_mill_cut_mm(6.0, 3.0) == pytest.approx(0.31445, abs=1e-5)
    assert angle_mill_cut_mm(6.0, 3.0) == pytest.approx(0.0175 * 6.0 * 3.0, abs=1e-3)


def test_g18_ladder_of_the_trade() -> None:
    ladder = OffsetLadder()
    for offset, verdict in (
        (0.009, FitVerdict.ABSORBED),
        (-0.015, FitVerdict.DRY_FIT),
        (0.021, FitVerdict.MACHINE),
    ):
        assert ladder.verdict(Span.exactly(offset * INCH)) is verdict


@given(bank=bank_angles, face=face_angles, move=moves)
def test_full_correction_brings_the_ports_back(bank: float, face: float, move: float) -> None:
    vee = Vee(bank_angle_deg=bank, face_angle_deg=face)
    side, bottom = vee.side_factor(), vee.bottom_factor()
    if side is None or bottom is None:
        return
    found = seat(vee, cuts(move, side * move))

    assert found.worst_offset_mm.low == pytest.approx(0.0, abs=1e-9)
    assert found.drop_mm.low == pytest.approx(bottom * move, rel=1e-9, abs=1e-12)
    assert bottom == pytest.approx((side + sin(vee.face_rad)) / sin(vee.upright_rad), rel=1e-9)


@given(bank=bank_angles, face=face_angles, right=moves, left=moves, cut=moves)
def test_signs_turned_round_turn_the_results_round(
    bank: float, face: float, right: float, left: float, cut: float
) -> None:
    vee = Vee(bank_angle_deg=bank, face_angle_deg=face)
    there = seat(vee, cuts(right, cut), cuts(left, cut))
    back = seat(vee, cuts(-right, -cut), cuts(-left, -cut))

    for name in ("drop_mm", "shift_mm", "offset_right_mm", "offset_left_mm"):
        assert getattr(back, name).low == pytest.approx(-getattr(there, name).high, abs=1e-12)


@given(right=moves, left=moves, width=widths, more=widths)
def test_what_is_less_well_known_widens_every_result(
    right: float, left: float, width: float, more: float
) -> None:
    def around(tolerance: float) -> Seat:
        wide = replace(cuts(right), deck_cut_mm=Span.around(0.0, tolerance))
        return seat(V90_10, wide, cuts(left))

    narrow, wide = around(width), around(width + more)
    ladder, order = OffsetLadder(), list(FitVerdict)
    for name in ("drop_mm", "offset_right_mm", "offset_left_mm", "worst_offset_mm"):
        inner, outer = getattr(narrow, name), getattr(wide, name)
        assert outer.high - outer.low >= inner.high - inner.low - 1e-12
    assert order.index(ladder.verdict(wide.worst_offset_mm)) >= order.index(
        ladder.verdict(narrow.worst_offset_mm)
    )


@given(right=moves, left=moves, width=widths, share=st.floats(-1.0, 1.0))
def test_what_may_be_lies_within_the_bounds(
    right: float, left: float, width: float, share: float
) -> None:
    spread = replace(cuts(right), deck_cut_mm=Span.around(0.0, width))
    bounds = seat(V90_10, spread, cuts(left))
    one = seat(V90_10, cuts(right + share * width), cuts(left))

    for name in ("drop_mm", "offset_right_mm", "offset_left_mm"):
        outer, inner = getattr(bounds, name), getattr(one, name)
        assert outer.low - 1e-9 <= inner.low <= outer.high + 1e-9


def test_a_level_face_is_said_and_not_divided_by() -> None:
    level = Vee(bank_angle_deg=90.0, face_angle_deg=45.0)

    assert level.seat(cuts(1.0), cuts(1.0)) is None
    assert level.side_factor() is None
    assert level.bottom_factor() is None
    assert level.inboard_move_mm(ONE).low == pytest.approx(sqrt(0.5), rel=1e-9)


def test_an_inline_engine_has_no_v() -> None:
    assert vee_of(0.0, 10.0) is None
    assert vee_of(90.0, 10.0) == V90_10
