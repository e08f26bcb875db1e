"""Cam events and lift curves; K numbers are rows of the project's reference values.

Events are arithmetic of the cam card, common practice without a source.
"""

import numpy as np
import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from service.engine.cams import (
    CamEvents,
    LobeShape,
    cam_events,
    lobe_lift_at,
    lobe_shape,
    seat_timing,
    valve_lift,
)
from service.engine.geometry import trapped_compression_ratio
from service.engine.inputs import NonPhysicalInput

SEAT = 0.006 * 25.4e-3
"""Tappet rise of .006 in, one of the heights at which long durations are taken (a trade
magazine's article). [m]"""
BOTTOM_END = {"stroke": 0.104, "rod_length": 0.160, "compression_ratio": 9.5}


@pytest.mark.parametrize(
    ("card", "expected"),
    [
        ((270, 280, 112, 108), (27, 63, 76, 24, 116, 51)),
        ((230, 236, 112, 108), (7, 43, 54, 2, 116, 9)),
        ((256, 264, 114, 114), (14, 62, 66, 18, 114, 32)),
        ((310, 310, 110, 106), (49, 81, 89, 41, 114, 90)),
        ((219, 228, 114, 110), (-0.5, 39.5, 52, -4, 118, -4.5)),
    ],
)
def test_events_follow_from_the_cam_card(
    card: tuple[float, ...], expected: tuple[float, ...]
) -> None:
    """K10 to K14: exact."""
    events = cam_events(*card, checking_height=SEAT)

    assert [
        float(events.intake_opening),
        float(events.intake_closing),
        float(events.exhaust_opening),
        float(events.exhaust_closing),
        float(events.exhaust_centreline),
        float(events.overlap),
    ] == list(expected)
    assert events.overlap == events.intake_opening + events.exhaust_closing


def events_of(
    *, duration: float = 270.0, separation: float = 112.0, centreline: float = 108.0
) -> CamEvents:
    return cam_events(duration, 280.0, separation, centreline, checking_height=SEAT)


def trapped(events: CamEvents) -> float:
    closing = seat_timing(events).intake_closing
    return float(trapped_compression_ratio(closing, **BOTTOM_END))


def test_an_advanced_cam_closes_earlier_and_traps_more() -> None:
    """Direction stated by the trade and by geometry."""
    straight, advanced = events_of(centreline=108.0), events_of(centreline=104.0)

    assert advanced.intake_closing < straight.intake_closing
    assert trapped(advanced) > trapped(straight)


def test_a_tighter_separation_means_more_overlap() -> None:
    assert events_of(separation=108.0).overlap > events_of(separation=112.0).overlap


def test_more_duration_closes_later_and_traps_less() -> None:
    short, long = events_of(duration=260.0), events_of(duration=290.0)

    assert long.intake_closing > short.intake_closing
    assert trapped(long) < trapped(short)


@pytest.mark.parametrize("checking_height", [0.004 * 25.4e-3, SEAT, 0.020 * 25.4e-3])
def test_timing_at_the_seat_may_tell_when_a_valve_seals(checking_height: float) -> None:
    events = cam_events(270.0, 280.0, 112.0, 108.0, checking_height=checking_height)

    assert seat_timing(events) is events


def test_timing_at_the_yardstick_is_refused_as_the_moment_of_sealing() -> None:
    """.050 in: the valve is still open; typical seat durations are 30 to 58 degrees longer."""
    events = cam_events(230.0, 236.0, 112.0, 108.0, checking_height=1.27e-3)

    with pytest.raises(NonPhysicalInput, match="checking_height"):
        seat_timing(events)


cards = st.fixed_dictionaries(
    {
        "seat_duration": st.floats(min_value=240.0, max_value=330.0),
        "seat_checking_height": st.floats(min_value=0.1e-3, max_value=0.5e-3),
        "duration_at_1_27_mm": st.floats(min_value=190.0, max_value=280.0),
        "lobe_lift": st.floats(min_value=5e-3, max_value=12e-3),
    }
)


def shape_or_skip(card: dict[str, float]) -> LobeShape:
    try:
        return lobe_shape(**card)
    except NonPhysicalInput:
        reject()


@given(card=cards)
def test_a_lobe_stands_where_its_card_says(card: dict[str, float]) -> None:
    """The three demands on the form: both durations and the lift."""
    shape = shape_or_skip(card)
    halves = np.array([card["seat_duration"], card["duration_at_1_27_mm"], 0.0]) / 2.0

    heights = lobe_lift_at(halves, shape)

    expected = [card["seat_checking_height"], 1.27e-3, card["lobe_lift"]]
    assert heights == pytest.approx(expected, rel=1e-9)
    assert lobe_lift_at(-halves, shape) == pytest.approx(expected, rel=1e-9)


@given(card=cards)
def test_a_lobe_only_falls_from_nose_to_base_circle(card: dict[str, float]) -> None:
    shape = shape_or_skip(card)
    angles = np.linspace(0.0, shape.half_span, 500)

    lift = lobe_lift_at(angles, shape)

    assert np.all(np.diff(lift) <= 0.0)
    assert lift[-1] == 0.0
    assert lobe_lift_at(shape.half_span + 40.0, shape) == 0.0


def test_valve_lift_is_rocker_times_lobe_less_lash_and_never_negative() -> None:
    """Arithmetic: 1.7 x 8 mm - 0.4 mm."""
    shape = LobeShape(exponent=2.0, half_span=140.0, lift=8e-3)

    assert valve_lift(0.0, shape, 1.7, 0.4e-3) == pytest.approx(13.2e-3)
    assert valve_lift([-139.9, 139.9, 200.0], shape, 1.7, 0.4e-3).tolist() == [0.0, 0.0, 0.0]


def problem_fields(**changes: float) -> set[str]:
    card = {
        "seat_duration": 270.0,
        "seat_checking_height": SEAT,
        "duration_at_1_27_mm": 219.0,
        "lobe_lift": 8e-3,
    } | changes
    with pytest.raises(NonPhysicalInput) as caught:
        lobe_shape(**card)
    return {problem.pointer for problem in caught.value.problems}


def test_durations_that_do_not_belong_together_are_refused_by_name() -> None:
    durations = {"seat_duration", "duration_at_1_27_mm"}

    assert problem_fields(seat_duration=219.0) == durations
    assert problem_fields(seat_duration=210.0) == durations
    assert durations < problem_fields(seat_duration=380.0)


def test_heights_in_the_wrong_order_are_refused_by_name() -> None:
    heights = {"seat_checking_height", "lobe_lift"}

    assert problem_fields(lobe_lift=1.2e-3) == heights
    assert problem_fields(seat_checking_height=1.3e-3) == heights
