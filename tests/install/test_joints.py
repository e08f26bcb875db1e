"""How a joint is tightened. Numbers are rows of the fit-up reference where they are named."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.catalog.layouts import PortOffsets
from service.catalog.slots import Slot
from service.catalog.supplies import PropertyClass, ThreadName
from service.fitup.stated_torques import PrintedTorque
from service.fitup.torque import FrictionState
from service.install.demanded import demanded_checks, torque_check
from service.install.joints import joint_sheet
from service.install.told import (
    BoltAt,
    BoltedJoint,
    TappedHole,
    TappedInto,
)
from service.units import nm_to_lbin
from tests.seed import QUAY_BIG, families

TWELVE = tuple(
    BoltAt(along_mm=60.0 * rank, across_mm=side) for side in (120.0, -120.0) for rank in range(6)
)
HOLE = TappedHole(full_thread_mm=22.0, drilled_mm=27.0, countersink_mm=1.2)


def make_joint(**changes: object) -> BoltedJoint:
    fields: dict[str, object] = {
        "slot": Slot.INTAKE_MANIFOLD,
        "thread": ThreadName.M8,
        "grade": PropertyClass.CLASS_8_8,
        "tapped_into": TappedInto.ALUMINIUM_356,
        "friction": FrictionState.OIL,
        "bolt_length_mm": 35.0,
        "grip_mm": 14.2,
        "hole": HOLE,
        "places": TWELVE,
    }
    return BoltedJoint(**{**fields, **changes})  # type: ignore[arg-type] # Fields by name.


def test_twelve_bolts_are_numbered_as_a_v8_intake_prints_them() -> None:
    """Row M4, a service page: 9 5 1 3 7 11 along one side, front to rear."""
    sheet = joint_sheet(make_joint())

    number = {place: rank for rank, place in enumerate(sheet.places, start=1)}
    assert [number[place] for place in TWELVE[:6]] == [9, 5, 1, 3, 7, 11]
    assert [each.share for each in sheet.passes[:3]] == [0.2, 0.6, 1.0]
    assert sheet.passes[0].order == tuple(range(1, 13))
    least = [each.least_left or 0.0 for each in sheet.passes]
    assert least == sorted(least)
    assert least[-1] > 0.99


def test_the_last_torque_is_read_at_every_bolt_of_every_piece() -> None:
    """Two heads of twelve bolts are twenty-four readings: counting."""
    sheet = joint_sheet(make_joint())
    one, two = torque_check(sheet), torque_check(replace(sheet, pieces=2))

    assert one.places == tuple(f"bolt {number}" for number in range(1, 13))
    assert len(set(two.places)) == len(two.places) == 24
    assert two.places[12] == "piece 2 bolt 1"


def test_a_torque_stands_in_three_units_that_belong_together() -> None:
    torque = joint_sheet(make_joint()).torque

    assert torque is not None
    assert torque.torque_lbin == pytest.approx(12.0 * torque.torque_lbft, rel=1e-12)
    assert torque.torque_lbin == pytest.approx(nm_to_lbin(torque.torque_nm), rel=1e-12)


def test_twelve_pound_feet_beside_120_pound_inches_are_a_finding_and_the_lower_counts() -> None:
    """Twelve inches to the foot: 144 against 120."""
    stated = PrintedTorque(torque_lbft=12.0, torque_lbin=120.0)
    sheet = joint_sheet(make_joint(stated_torque=stated))

    assert sheet.torque is not None
    assert sheet.torque.torque_lbin == pytest.approx(120.0)
    assert any("144 lbf·in" in line for line in sheet.findings)


def test_head_bolts_get_their_makers_torque_and_no_other() -> None:
    """Common practice, no source: they are drawn by torque steps and angles of their maker."""
    heads = joint_sheet(make_joint(slot=Slot.CYLINDER_HEADS))
    assert heads.torque is None
    assert "from the maker" in heads.why

    stated = PrintedTorque(torque_nm=20.0)
    told = joint_sheet(make_joint(slot=Slot.CYLINDER_HEADS, stated_torque=stated))
    assert told.torque is not None
    assert told.torque.torque_nm == pytest.approx(20.0)


def test_a_printed_torque_above_what_is_safe_is_not_the_one_to_use() -> None:
    advised = joint_sheet(make_joint()).torque
    sheet = joint_sheet(make_joint(stated_torque=PrintedTorque(torque_nm=60.0)))

    assert sheet.torque == advised
    assert sheet.why.startswith("Bounded by")


def test_a_bolt_that_bottoms_gets_no_torque() -> None:
    """Row L4's rule: the tip must reach neither the bottom nor incomplete threads."""
    sheet = joint_sheet(
        make_joint(bolt_length_mm=45.0, stated_torque=PrintedTorque(torque_nm=20.0))
    )

    assert sheet.torque is None
    assert all(each.torque is None for each in sheet.passes)
    assert any("bottoms" in line for line in sheet.findings)


def test_what_is_not_known_is_left_blank() -> None:
    sheet = joint_sheet(make_joint(hole=None, places=()))

    assert sheet.torque is None
    assert sheet.places == ()
    assert all(each.order == () and each.least_left is None for each in sheet.passes)
    assert any("not known" in line for line in sheet.findings)


@settings(max_examples=40)
@given(
    thread=st.sampled_from(ThreadName),
    grade=st.sampled_from(PropertyClass),
    casting=st.sampled_from(TappedInto),
    friction=st.sampled_from(FrictionState),
    length=st.floats(12.0, 60.0),
    lost=st.floats(0.0, 6.0),
    stated=st.none() | st.floats(1.0, 100.0),
)
def test_no_torque_on_a_sheet_stretches_a_bolt_or_strips_a_hole(
    thread: ThreadName,
    grade: PropertyClass,
    casting: TappedInto,
    friction: FrictionState,
    length: float,
    lost: float,
    stated: float | None,
) -> None:
    hole = TappedHole(full_thread_mm=25.0, drilled_mm=30.0, damaged_pitches=lost)
    printed = None if stated is None else PrintedTorque(torque_nm=stated)
    sheet = joint_sheet(
        make_joint(
            thread=thread,
            grade=grade,
            tapped_into=casting,
            friction=friction,
            bolt_length_mm=length,
            hole=hole,
            places=(),
            stated_torque=printed,
        )
    )
    if sheet.torque is not None:
        assert sheet.preload_high_n is not None
        assert sheet.limit_n is not None
        assert sheet.preload_high_n <= sheet.limit_n * (1.0 + 1e-9)


def test_ports_are_rejected_where_the_shops_own_ladder_of_the_family_ends() -> None:
    """A figure of the shop's own; the default is common practice, no source."""
    strict = replace(families()[QUAY_BIG], port_offsets=PortOffsets(dry_fit_mm=0.3))

    checks = demanded_checks(strict, frozenset({Slot.INTAKE_MANIFOLD}), (), rails=False)

    (ports,) = (check for check in checks if check.reject_above == 0.3)
    assert ports.accept_to == 0.3
    assert ports.key == "fit.port_offset"
