"""Cuts on an engine as findings: the numbers are those of the geometry's own rows (G5, G14)."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from service.catalog.families import EngineFamily
from service.catalog.layouts import PortOffsets
from service.catalog.rules import RuleSeverity
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.fitup.machined import BankAsMachined, EngineAsMachined, HeadGasket, Unknown
from service.fitup.machining import cuts_are_allowed_for
from tests.factories import make_family
from tests.fitup.subjects import make_subject

INCH = 25.4
V90_10 = replace(make_family(), bank_angle_deg=90.0, intake_face_angle_deg=10.0)
G5 = BankAsMachined(
    deck_cut_mm=0.010 * INCH,
    head_mill_mm=0.020 * INCH,
    old_head_gasket=HeadGasket(compressed_mm=0.041 * INCH),
    new_head_gasket=HeadGasket(compressed_mm=0.028 * INCH),
)


def findings(machined: EngineAsMachined, family: EngineFamily = V90_10) -> dict[str, Finding]:
    subject = make_subject(family=family, machined=machined)
    return {finding.code: finding for finding in cuts_are_allowed_for(subject)}


def measured(finding: Finding) -> float:
    assert finding.measured is not None
    return finding.measured.value


def test_g5_is_told_with_its_cuts() -> None:
    """In inches: offset .03712, side .05301 (1.346 mm), bottom .07383 (1.875 mm)."""
    found = findings(EngineAsMachined(right=G5))["intake.needs_machining"]

    assert found.severity is RuleSeverity.WARNS
    assert measured(found) == pytest.approx(0.03712 * INCH, abs=1e-3)
    assert "take 1.35 mm off the right and 1.35 mm off the left" in found.remedy
    assert "1.88 mm off the manifold's bottom" in found.remedy
    assert measured(findings(EngineAsMachined(right=G5))["valvetrain.heads_moved"]) == (
        pytest.approx(0.043 * INCH, abs=1e-3)
    )


def test_a_shop_may_keep_a_ladder_of_its_own_for_a_family() -> None:
    """G5's offset is .943 mm: past .508 of the trade (G18), within a dry fit to 1 mm."""
    patient = replace(V90_10, port_offsets=PortOffsets(absorbed_mm=0.3, dry_fit_mm=1.0))
    told = findings(EngineAsMachined(right=G5), patient)["intake.port_offset"]
    assert told.severity is RuleSeverity.WARNS
    assert told.remedy.startswith("Set the manifold on dry")


@pytest.mark.parametrize(
    ("move_in", "severity", "code"),
    [
        (0.010, RuleSeverity.NOTES, "intake.port_offset"),
        (0.020, RuleSeverity.WARNS, "intake.port_offset"),
        (0.030, RuleSeverity.WARNS, "intake.needs_machining"),
    ],
)
def test_the_ladder_of_the_trade_decides(move_in: float, severity: RuleSeverity, code: str) -> None:
    """.010 and .020 in of offset, common practice; the offset is .863 of the cut."""
    machined = EngineAsMachined(right=BankAsMachined(head_mill_mm=move_in * INCH))
    assert findings(machined)[code].severity is severity


def test_g14_the_gap_at_the_end_rails_is_sealed_by_a_bead() -> None:
    """3.00 mm when new and .508 mm cut: 2.892 mm; at twice the gap 5.8 mm of bead."""
    machined = EngineAsMachined(
        right=BankAsMachined(head_mill_mm=0.508), end_rail_gap_mm=3.0, end_rail_length_mm=140.0
    )
    found = findings(machined)["intake.end_rail.bead"]

    assert measured(found) == pytest.approx(2.892, abs=1e-3)
    assert "5.8 mm silicone" in found.remedy


def test_rails_that_touch_are_warned_of() -> None:
    deep = EngineAsMachined(right=BankAsMachined(head_mill_mm=3.0), end_rail_gap_mm=0.5)
    assert findings(deep)["intake.end_rail.rails_touch"].severity is RuleSeverity.WARNS


def test_an_inline_engine_has_no_offset_and_still_a_valve_train() -> None:
    found = findings(EngineAsMachined(right=G5), replace(V90_10, bank_angle_deg=0.0))
    assert list(found) == ["valvetrain.heads_moved"]


def test_a_level_face_is_told() -> None:
    found = findings(EngineAsMachined(right=G5), replace(V90_10, intake_face_angle_deg=45.0))
    assert "intake.face_level" in found


def test_an_engine_as_built_says_nothing() -> None:
    assert findings(EngineAsMachined(right=BankAsMachined())) == {}
    assert cuts_are_allowed_for(make_subject()) == ()


@given(cut=st.floats(0.0, 0.76), name=st.sampled_from(("deck_cut_mm", "head_mill_mm")))
def test_unknown_is_never_better_than_any_usual_cut(cut: float, name: str) -> None:
    """A cut that nobody measured counts as anything up to .030 in."""
    told, untold = dict[str, Any]({name: cut}), dict[str, Any]({name: Unknown.UNKNOWN})
    known = findings(EngineAsMachined(right=BankAsMachined(**told)))
    unknown = findings(EngineAsMachined(right=BankAsMachined(**untold)))

    # The worst usual cut asks for machining, whatever a known one asks for.
    known = {code.replace("port_offset", "needs_machining"): each for code, each in known.items()}
    assert set(known) <= set(unknown)
    for code, finding in known.items():
        assert measured(unknown[code]) >= measured(finding) - 1e-9


def test_the_findings_are_part_of_the_fit_block() -> None:
    subject = make_subject(family=V90_10, machined=EngineAsMachined(right=G5))
    codes = {finding.code for finding in fit_findings(subject, (), {}, None)}
    assert {"intake.needs_machining", "valvetrain.heads_moved"} <= codes


def test_unknown_is_said_by_its_word_over_the_wire() -> None:
    wire = TypeAdapter(EngineAsMachined)
    read = wire.validate_json('{"right": {"deck_cut_mm": "unknown", "head_mill_mm": 0.25}}')

    assert read.right == BankAsMachined(deck_cut_mm=Unknown.UNKNOWN, head_mill_mm=0.25)
    assert read.left is None
    for wrong in ('"about a millimetre"', "-0.1", "11", '"0.25"'):
        with pytest.raises(ValidationError, match="deck_cut_mm"):
            wire.validate_json(f'{{"right": {{"deck_cut_mm": {wrong}}}}}')
