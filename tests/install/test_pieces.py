"""Joints of several pieces, and of an adapter between two parts, on the sheet."""

import pytest

from service.catalog.slots import Slot
from service.install.joints import JointSheet
from service.install.opened import SEVERAL_PATTERNS, joint_sheets
from tests.kits.assembled import assembled, supplies
from tests.seed import FAMILIES, MODIFIED_TWIN, OPEN_KIT, QUAY_BIG, of


def sheets(family: str, chosen: dict[Slot, str]) -> dict[str | None, JointSheet]:
    return {
        one.pattern: one for one in joint_sheets(assembled(family, chosen), (), supplies(family))
    }


@pytest.mark.parametrize("family", FAMILIES)
def test_head_bolts_are_tightened_from_the_middle_outward_one_head_after_the_other(
    family: str,
) -> None:
    """As service manuals number them (M4): rising from the middle, sides in turn."""
    heads = next(part for part in of(family, Slot.CYLINDER_HEADS) if not part.factory_part)
    (sheet,) = [
        one
        for one in sheets(family, {Slot.CYLINDER_HEADS: heads.sku}).values()
        if one.slot is Slot.CYLINDER_HEADS
    ]
    along = [place.along_mm for place in sheet.places]
    middle = (min(along) + max(along)) / 2.0
    out = [abs(each - middle) for each in along]
    rows = [place.across_mm for place in sheet.places]

    assert out == sorted(out)
    assert len(set(rows)) == 2
    assert all(before != after for before, after in zip(rows[::2], rows[1::2], strict=True))
    assert sheet.torque is None
    in_pieces = any(line.startswith("2 pieces") for line in sheet.findings)
    assert in_pieces is family.startswith("quay")


def test_either_exhaust_manifold_has_an_order_of_its_own() -> None:
    """Sixteen bolts in the flange's name: eight to a side."""
    sheet = sheets(QUAY_BIG, OPEN_KIT)["quay sixteen bolt"]
    assert len(sheet.places) == 8
    assert {place.across_mm > 0.0 for place in sheet.places} == {True}


def test_an_adapter_is_bolted_down_before_what_stands_on_it() -> None:
    throttle = {
        Slot.THROTTLE_BODY: "Q76-THROTTLE-STABLE-DOOR",
        Slot.INTAKE_MANIFOLD: MODIFIED_TWIN,
    }
    found = list(sheets(QUAY_BIG, throttle).values())
    plate, body = [one for one in found if one.slot is Slot.THROTTLE_BODY]

    assert (plate.pattern, body.pattern) == ("single four bolt", "two bore")
    assert any("before the part on it" in line for line in plate.findings)
    assert SEVERAL_PATTERNS not in plate.findings + body.findings
