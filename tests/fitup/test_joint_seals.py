"""Rows of sections 7, 9 and 10 on seals, valves and gaskets: arithmetic on the formulas there;
limits are common practice or the sources named beside them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalog.supplies import GasketStyle
from service.fitup.clearances import (
    ALUMINIUM_ROD_EXTRA_MM,
    COIL_BIND_MARGIN_MM,
    INSTALLED_HEIGHT_TOLERANCE_MM,
    LIFTER_TURNS,
    PRELOAD_WINDOW_MM,
    RADIAL_MM,
    RETAINER_TO_SEAL_MM,
    adjuster_travel_mm,
    coil_bind_margin_mm,
    lifter_preload_mm,
    pushrod_change_mm,
    valve_room_lost_mm,
)
from service.fitup.gaskets import (
    FACE_GOOD_MM,
    FACE_REJECT_MM,
    HEAD_DECK_OVERALL_MM,
    HEAD_DECK_PER_152_MM,
    STATIC_SQUEEZE,
    Gasket,
    GasketRefusal,
    IntakeJoint,
    flatness_limit_mm,
    gaskets_that_fit,
    lugs_would_go,
    offset_bores_open,
    offset_ports_open,
    refusals,
    ring_squeeze,
)
from service.fitup.rail_seal import (
    ANAEROBIC_GAP_MM,
    HOURS_BEFORE_FLUIDS,
    HOURS_BEFORE_FLUIDS_AT_LEAST,
    HOURS_BEFORE_TORQUE,
    LABEL_BEAD_MM,
    PORT_BEAD_MM,
    SKIN_MINUTES,
    TACK_FREE_MINUTES,
    RailSeal,
    bead_for,
    bead_for_width_mm,
    bead_squeeze,
    bead_volume_ml,
    cure_hours,
    rail_seal,
    squeezed_width_mm,
)
from service.fitup.spans import Span
from service.fitup.valvetrain import PISTON_TO_VALVE_EXHAUST_MM, PISTON_TO_VALVE_INTAKE_MM

INCH = 25.4
CARRIER = Gasket(
    name="carrier",
    style=GasketStyle.CARRIER_WITH_LUGS,
    free_mm=3.6,
    compressed_mm=3.0,
    slot_mm=0.25,
    hottest_c=180.0,
    fuels=frozenset({"gasoline"}),
    lugs_may_go=True,
)
SHEET = Gasket(
    name="sheet",
    style=GasketStyle.SHEET,
    free_mm=0.060 * INCH,
    compressed_mm=0.045 * INCH,
    slot_mm=0.6,
    hottest_c=200.0,
    fuels=frozenset({"gasoline", "ethanol_85"}),
)
JOINT = IntakeJoint(
    recessed=True,
    face_machined=False,
    out_of_flat_mm=Span.exactly(0.1),
    offset_mm=Span.exactly(0.1),
    temperature_c=120.0,
    fuel="gasoline",
)


@pytest.mark.parametrize(
    ("bead", "gap", "length", "volume", "width", "squeeze"),
    [
        (6.0, 3.0, 140.0, 3.958, 9.42, 0.50),
        (5.0, 2.0, 140.0, 2.749, 9.82, 0.60),
        (6.35, 3.175, 139.7, 4.424, 9.97, 0.50),
    ],
    ids=["R1", "R2", "R3"],
)
def test_r1_to_r3_beads(
    bead: float, gap: float, length: float, volume: float, width: float, squeeze: float
) -> None:
    assert bead_volume_ml(bead, length) == pytest.approx(volume, abs=0.01)
    assert squeezed_width_mm(bead, gap) == pytest.approx(width, abs=0.01)
    assert bead_squeeze(bead, gap) == pytest.approx(squeeze, abs=0.01)


def test_r4_bead_for_a_wanted_width() -> None:
    assert bead_for_width_mm(10.0, 3.0) == pytest.approx(6.18, abs=0.01)
    assert bead_for_width_mm(10.0, 2.0) == pytest.approx(5.05, abs=0.01)


def test_r5_both_ends_and_what_is_wasted() -> None:
    """Two ends; 10 to 20 % of waste is common practice."""
    bead = bead_for(Span.exactly(3.0), 140.0)

    assert bead.diameter_mm == 6.0
    assert 1.1 * 2.0 * 3.958 <= bead.volume_ml <= 1.2001 * 2.0 * 3.959
    assert bead.cartridges == 1


def test_r6_beads_that_labels_speak_of() -> None:
    """Labels: 1/16 to 1/4 in, 1/8 in at most round a port."""
    assert LABEL_BEAD_MM[0] == pytest.approx(INCH / 16.0, abs=0.02)
    assert LABEL_BEAD_MM[1] == INCH / 4.0
    assert PORT_BEAD_MM == INCH / 8.0
    assert bead_for(Span.exactly(3.0), 140.0).label_allows
    assert not bead_for(Span.exactly(3.3), 140.0).label_allows


def test_r7_r8_times_of_the_labels() -> None:
    """An hour before torque, 4 h (fast) to 24 h before fluids (24 h from memory); a skin after 5
    to 60 min, dry to touch after 30 min to 2 h (how-to articles, weak)."""
    assert HOURS_BEFORE_TORQUE == 1.0
    assert (HOURS_BEFORE_FLUIDS_AT_LEAST, HOURS_BEFORE_FLUIDS) == (4.0, 24.0)
    assert SKIN_MINUTES == (5.0, 60.0)
    assert TACK_FREE_MINUTES == (30.0, 120.0)


def test_r10_an_end_rail_is_never_sealed_without_air() -> None:
    """A trade article: only gaps under .015 in between rigid flanges."""
    assert pytest.approx(0.015 * INCH) == ANAEROBIC_GAP_MM
    assert "anaerobic" not in {seal.value for seal in RailSeal}


def test_r9_a_skin_grows_with_the_root_of_time() -> None:
    assert cure_hours(2.5) == 24.0
    assert cure_hours(5.0) == pytest.approx(96.0, rel=1e-9)


@pytest.mark.parametrize(
    ("gap", "seal"),
    [
        (Span.exactly(0.8), RailSeal.THIN_FILM),
        (Span.exactly(3.0), RailSeal.BEAD),
        (Span.exactly(6.5), RailSeal.STRIP_OR_MACHINE),
        (Span(-0.2, 3.0), RailSeal.RAILS_TOUCH),
        (Span(5.0, 7.0), RailSeal.STRIP_OR_MACHINE),
    ],
)
def test_r11_the_gap_decides_the_seal(gap: Span, seal: RailSeal) -> None:
    assert rail_seal(gap) is seal


@given(gap=st.floats(1.5, 5.0), spread=st.floats(0.0, 0.5))
def test_a_bead_closes_every_gap_that_may_be_met(gap: float, spread: float) -> None:
    bead = bead_for(Span.around(gap, spread), 140.0)

    assert bead.squeeze.low >= 0.5 - 1e-9
    assert bead.width_mm.low >= bead.diameter_mm


def test_v1_v2_v5_least_rooms() -> None:
    """In inches. V1 trade press: intake .080, exhaust .100, radial .050; older practice .100 for
    both. V2 from memory: .030 more with aluminium rods. V5 retainer to seal .050 to .060 from
    memory, the wider one is used; installed height ± .020 (spring article)."""
    for found, inches in (
        (PISTON_TO_VALVE_INTAKE_MM, 0.080),
        (PISTON_TO_VALVE_EXHAUST_MM, 0.100),
        (RADIAL_MM, 0.050),
        (ALUMINIUM_ROD_EXTRA_MM, 0.030),
        (RETAINER_TO_SEAL_MM, 0.060),
        (INSTALLED_HEIGHT_TOLERANCE_MM, 0.020),
    ):
        assert found == pytest.approx(inches * INCH, rel=1e-9)


def test_v11_turns_of_the_adjuster() -> None:
    """A study guide: zero lash and a half to a whole turn; that stays in the window of V8."""
    assert LIFTER_TURNS == (0.5, 1.0)
    travel = [turns * adjuster_travel_mm(INCH / 24.0, 1.5) for turns in LIFTER_TURNS]
    assert travel[0] >= PRELOAD_WINDOW_MM[0]


def test_v3_room_between_valve_and_piston() -> None:
    """In inches."""
    for tilt, lost in ((0, 0.0300), (15, 0.0290), (20, 0.0282), (23, 0.0276)):
        assert valve_room_lost_mm(0.030, tilt) == pytest.approx(lost, abs=1e-4)


def test_v4_coil_bind() -> None:
    """In inches: 1.750 - .550 - 1.150 = .050, less than the wider limit of .060."""
    margin = coil_bind_margin_mm(1.750, 0.550, 1.150)
    assert margin == pytest.approx(0.050, abs=1e-9)
    assert margin * INCH < COIL_BIND_MARGIN_MM


def test_v6_to_v9_pushrod_and_lifter() -> None:
    """V9, in inches: .030 and a move of .043 give .073, past .060; .043 off brings it back."""
    preload = lifter_preload_mm(0.030, 0.043)
    assert preload == pytest.approx(0.073, abs=1e-9)
    assert preload * INCH > PRELOAD_WINDOW_MM[1]
    shorter = pushrod_change_mm(0.043)
    assert shorter == pytest.approx(-0.043, abs=1e-9)
    assert preload + shorter == pytest.approx(0.030, abs=1e-9)
    assert pushrod_change_mm(0.0, tip_rise_mm=0.015, rocker_ratio=1.5) == pytest.approx(-0.010)


def test_v10_turn_of_the_adjuster() -> None:
    """In inches."""
    for per_inch, ratio, travel in ((24, 1.5, 0.0694), (24, 1.6, 0.0677), (20, 1.7, 0.0794)):
        assert adjuster_travel_mm(1.0 / per_inch, ratio) == pytest.approx(travel, abs=1e-4)


def test_f4_bores_off_centre() -> None:
    """The lens of two circles of 90 mm."""
    for offset, share in ((0.5, 0.99293), (1.0, 0.98585), (2.0, 0.97171)):
        assert offset_bores_open(90.0, offset) == pytest.approx(share, abs=1e-5)
    assert offset_bores_open(90.0, 200.0) == pytest.approx(0.0, abs=1e-9)


def test_f5_a_rectangular_port_off_its_place() -> None:
    """2.0 in tall, .030 off: .985 open."""
    assert offset_ports_open(2.0, 0.030) == pytest.approx(0.985, rel=1e-9)
    assert offset_ports_open(2.0, 3.0) == 0.0


def test_f7_to_f9_flatness() -> None:
    """F7 service pages: intake faces 0.10; 0.13 to 0.20; 0.15 to 0.30; manifold 0.10 to 0.40;
    throttle flange 0.10, 0.15. F8 repair manual and service page: head deck .003 in within 6 in
    and .006 overall, or 0.05 mm within 152 mm and 0.10 overall. F9 from memory, after F7."""
    good, limits = (0.10, 0.13, 0.15), (0.20, 0.30, 0.40)
    assert min(good) == FACE_GOOD_MM == 0.10
    assert min(limits) == FACE_REJECT_MM == 0.20
    assert min(0.05, 0.003 * INCH) == HEAD_DECK_PER_152_MM
    assert min(0.10, 0.006 * INCH) == HEAD_DECK_OVERALL_MM


def test_f10_faces_may_use_up_half_the_travel() -> None:
    """.060 to .045 in: .0075 in."""
    assert flatness_limit_mm(SHEET) == pytest.approx(0.0075 * INCH, rel=1e-9)


def test_f11_f12_f14_o_rings() -> None:
    """F14: 3.53 in a gland of 2.65 gives 24.9 %, within the lower limits of the two guides."""
    squeeze = ring_squeeze(3.53, 2.65)
    assert squeeze == pytest.approx(0.249, abs=1e-3)
    assert STATIC_SQUEEZE[0] <= squeeze <= STATIC_SQUEEZE[1]


@pytest.mark.parametrize(
    ("groove", "apart", "refused"),
    [(2.65, 0.1, False), (2.40, 0.0, True), (2.65, 0.6, True), (2.65, 0.5, False)],
)
def test_f11_f12_a_bead_keeps_its_squeeze_where_faces_stand_apart(
    groove: float, apart: float, *, refused: bool
) -> None:
    """3.53 in section (F14): 2.40 deep is 32 %; .6 mm out of flat leaves 7.9 %, .5 mm 10.8 %."""
    bead = replace(SHEET, style=GasketStyle.BEAD, free_mm=3.53, compressed_mm=groove)
    why = refusals(bead, replace(JOINT, out_of_flat_mm=Span.exactly(apart)))
    assert (GasketRefusal.SQUEEZE in why) is refused


def test_f13_what_industry_squeezes_on_average() -> None:
    """doi 10.1201/9780203744109-4: 27 % at .070 in to 18 % at .275 in, 20.5 % on average; all of
    them within the lower limits of the two guides."""
    for squeeze in (0.27, 0.205, 0.18):
        assert STATIC_SQUEEZE[0] <= squeeze <= STATIC_SQUEEZE[1]


def test_lugs_want_recesses_and_faces_as_cast() -> None:
    assert refusals(CARRIER, JOINT) == ()
    for change, why in (
        ({"recessed": False}, GasketRefusal.LUGS_WITHOUT_RECESS),
        ({"recessed": None}, GasketRefusal.RECESS_NOT_KNOWN),
        ({"face_machined": True}, GasketRefusal.LUGS_ON_MACHINED_FACE),
    ):
        joint = replace(JOINT, **change)
        assert refusals(CARRIER, joint) == (why,)
        assert lugs_would_go(CARRIER, joint)
        assert not lugs_would_go(replace(CARRIER, lugs_may_go=False), joint)
        assert gaskets_that_fit((CARRIER, SHEET), joint) == (SHEET,)


def test_lugs_off_do_not_mend_another_fault() -> None:
    joint = replace(JOINT, recessed=False, fuel="ethanol_85")

    assert GasketRefusal.FUEL in refusals(CARRIER, joint)
    assert not lugs_would_go(CARRIER, joint)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"out_of_flat_mm": Span(0.0, 0.2)}, GasketRefusal.FACES_NOT_FLAT),
        ({"offset_mm": Span(-0.7, 0.1)}, GasketRefusal.PORTS_OFF),
        ({"temperature_c": 210.0}, GasketRefusal.TEMPERATURE),
        ({"fuel": "methane"}, GasketRefusal.FUEL),
    ],
)
def test_a_refused_gasket_is_told_why(change: dict[str, object], why: GasketRefusal) -> None:
    assert refusals(SHEET, replace(JOINT, **change)) == (why,)  # type: ignore[arg-type]
