"""Compression of an engine as machined: rows C5 to C12 of the reference, reached by differences.

The rows are worked out of a whole stack (V8, 4.000 by 3.480 in, 64 cm³ chambers, gasket
4.100 by .041 in, deck .025 in, dish 5 cm³: ratio 9.6321). Here the family knows that ratio
and the service is told only what changed.
"""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalog.families import FactoryClearance
from service.catalog.rules import RuleSeverity
from service.errors import InvalidInput
from service.fitup.compression import ClearanceStack, compression_ratio, disc_volume_cm3
from service.fitup.fuelling import octane_suits_the_compression
from service.fitup.machined import BankAsMachined, EngineAsMachined, HeadGasket, Unknown
from service.fitup.machining import compression_is_worked_out
from service.fitup.spans import Span
from service.fitup.stack import Chambers, RatioOutOfReach, bore_span_mm, ratio_span
from tests.factories import make_family
from tests.fitup.subjects import make_subject

INCH = 25.4
BORE, STROKE = 4.000 * INCH, 3.480 * INCH
FACTORY = FactoryClearance(
    head_gasket_mm=0.041 * INCH,
    head_gasket_bore_mm=4.100 * INCH,
    deck_clearance_mm=0.025 * INCH,
    piston_cm3=5.0,
)
STACK = ClearanceStack(
    chamber_cm3=64.0,
    gasket_bore_mm=4.100 * INCH,
    gasket_thickness_mm=0.041 * INCH,
    deck_clearance_mm=0.025 * INCH,
    dish_cm3=5.0,
)
V8 = replace(
    make_family(),
    bore_mm=BORE,
    stroke_mm=STROKE,
    compression_ratio=compression_ratio(disc_volume_cm3(BORE, STROKE), STACK.volume_cm3(BORE)),
    clearance=FACTORY,
)
SAME_HEADS = Chambers(stock_cm3=64.0, chosen_cm3=64.0)
UNKNOWN = Unknown.UNKNOWN


def ratios(bank: BankAsMachined, *, left: BankAsMachined | None = None, **engine: Any) -> Span:  # noqa: ANN401 - any field of an engine as machined.
    machined = EngineAsMachined(right=bank, left=left, **engine)
    bore = bore_span_mm(V8, None, machined)
    return ratio_span(V8, SAME_HEADS, bore, STROKE, machined)


@pytest.mark.parametrize(
    ("bank", "engine", "expected"),
    [
        (BankAsMachined(), {}, 9.6321),  # C5
        (BankAsMachined(chamber_cm3=64.0 - 10.0 / 6.0, head_mill_mm=0.254), {}, 9.8089),  # C6
        (BankAsMachined(deck_cut_mm=0.015 * INCH), {}, 9.9657),  # C7
        (
            BankAsMachined(
                new_head_gasket=HeadGasket(compressed_mm=0.028 * INCH, bore_mm=4.100 * INCH)
            ),
            {},
            9.9348,
        ),  # C8
        (BankAsMachined(), {"overbore_mm": 0.030 * INCH}, 9.7539),  # C9
        (BankAsMachined(piston_cm3=-8.0), {}, 11.2347),  # C10
        (BankAsMachined(chamber_cm3=64.0 - 3.394), {}, 10.0),  # C12
    ],
)
def test_c5_to_c12_follow_from_what_changed(
    bank: BankAsMachined, engine: dict[str, Any], expected: float
) -> None:
    found = ratios(bank, **engine)

    assert found.low == pytest.approx(expected, abs=1e-3)
    assert found.width < 1e-9


def test_a_mill_whose_chamber_nobody_measured_takes_an_open_or_a_closed_chambers_share() -> None:
    """C15: .005 to .007 in per cm³ (common practice), so .010 in takes 1.4 to 2.0 cm³."""
    found = ratios(BankAsMachined(head_mill_mm=0.010 * INCH))

    assert found.low == pytest.approx(ratios(BankAsMachined(chamber_cm3=62.59)).low, abs=2e-3)
    assert found.high == pytest.approx(ratios(BankAsMachined(chamber_cm3=62.05)).high, abs=2e-3)


def test_the_worse_bank_stands_at_the_ends_of_the_range() -> None:
    decked = BankAsMachined(deck_cut_mm=0.015 * INCH)
    found = ratios(BankAsMachined(), left=decked)

    assert found == Span(ratios(BankAsMachined()).low, ratios(decked).high)


KNOWN = {
    "deck_cut_mm": st.floats(0.0, 0.76),
    "head_mill_mm": st.floats(0.0, 0.76),
    "piston_cm3": st.floats(-10.0, 25.0),
    "new_head_gasket": st.floats(0.5, 1.9).map(
        lambda each: HeadGasket(compressed_mm=each, bore_mm=BORE + 2.0)
    ),
    "old_head_gasket": st.floats(0.5, 1.9).map(
        lambda each: HeadGasket(compressed_mm=each, bore_mm=BORE + 2.0)
    ),
}
"""Usual sizes of each (common practice, no source)."""
CASTING = st.tuples(st.floats(62.1, 65.9), st.floats(0.13, 0.18))
"""A chamber as cast, and the cut that takes 1 cm³ from it."""
NOT_KNOWN: dict[str, Any] = dict.fromkeys((*KNOWN, "chamber_cm3"), UNKNOWN) | {
    name: HeadGasket(compressed_mm=UNKNOWN) for name in ("new_head_gasket", "old_head_gasket")
}


@given(
    known=st.fixed_dictionaries(KNOWN),
    casting=CASTING,
    name=st.sampled_from((*sorted(KNOWN), "chamber_cm3")),
)
def test_what_is_not_known_widens_the_range_and_never_narrows_it(
    known: dict[str, Any], casting: tuple[float, float], name: str
) -> None:
    known["chamber_cm3"] = casting[0] - known["head_mill_mm"] / casting[1]
    try:
        wide = ratios(BankAsMachined(**known | {name: NOT_KNOWN[name]}))
    except RatioOutOfReach:
        return
    assert wide.holds(ratios(BankAsMachined(**known)))


@given(cut=st.floats(0.05, 0.7), name=st.sampled_from(("deck_cut_mm", "head_mill_mm")))
def test_c17_a_cut_raises_the_ratio_and_a_thicker_gasket_lowers_it(cut: float, name: str) -> None:
    new, cuts = ratios(BankAsMachined()).low, dict[str, Any]({name: cut})
    thicker = HeadGasket(compressed_mm=0.041 * INCH + cut, bore_mm=4.100 * INCH)

    assert ratios(BankAsMachined(**cuts)).low > new
    assert ratios(BankAsMachined(new_head_gasket=thicker)).high < new


def test_a_bore_is_told_once() -> None:
    with pytest.raises(InvalidInput) as told:
        bore_span_mm(V8, BORE, EngineAsMachined(right=BankAsMachined(), overbore_mm=0.5))
    assert [each.pointer for each in told.value.problems] == ["/engine/machined/overbore_mm"]


def test_figures_that_no_engine_has_are_refused_with_their_place() -> None:
    with pytest.raises(RatioOutOfReach) as told:
        ratios(BankAsMachined(piston_cm3=-90.0))
    assert [each.pointer for each in told.value.problems] == ["/engine/machined"]


def test_the_ratio_is_told_and_fuel_is_judged_by_its_highest_value() -> None:
    """9.0 is what 87 AKI carries with iron heads (O7, common practice)."""
    machined = EngineAsMachined(right=BankAsMachined(head_mill_mm=UNKNOWN))
    subject = make_subject(
        machined=machined, compression_ratio=8.9, compression_range=Span(8.6, 9.2)
    )

    (told,) = compression_is_worked_out(subject)
    assert told.severity is RuleSeverity.WARNS
    assert "8.60 to 9.20" in told.reason
    (octane,) = octane_suits_the_compression(subject)
    assert octane.measured is not None
    assert octane.measured.value == 9.2
    assert octane_suits_the_compression(make_subject(compression_ratio=8.9)) == ()


def test_an_engine_of_which_nothing_of_it_was_told_says_nothing() -> None:
    faces = EngineAsMachined(right=BankAsMachined(intake_face_cut_mm=0.2))
    assert compression_is_worked_out(make_subject(machined=faces)) == ()
