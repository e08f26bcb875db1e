"""One assessment: its blocks stay apart, its words stay within what may be said.

Where no figure of power matters, one level torque stands in for the simulation.
"""

import json
from dataclasses import fields, replace

import pytest

from service.catalog.appearance import Trait, TraitDifference
from service.catalog.rules import RuleSeverity
from service.catalog.slots import KIT_SLOTS, Slot
from service.compliance.appearance import KeepsStockExterior
from service.kits.api import assessment_body
from service.kits.assessment import CLEARANCE_CAUTION, Assessment, assess
from service.kits.kit import AssessmentRequest, Kit
from service.wording import banned_words
from tests.kits.assembled import around, assembled, level_torque
from tests.seed import MODIFIED_TWIN, QUAY_BIG, lines

STICKS_OUT = TraitDifference(
    trait=Trait.FINISH, what="Polished all over.", seen_from="above, bonnet open"
)
QUESTIONS = {line["name"]: line["question"] for line in lines("questions")}


def assessed(kit: Kit) -> Assessment:
    return assess(kit, around(kit.family.key), run=level_torque)


def asked(question: dict[str, object]) -> Assessment:
    """Answer a question of the demo."""
    chosen = {Slot(slot): str(sku) for slot, sku in dict(question.pop("parts", {})).items()}  # type: ignore[call-overload] # JSON.
    family = str(question.pop("family"))
    plain = {key: value for key, value in question.items() if key in ("place", "model_year")}
    return assessed(assembled(family, chosen, **plain))


def with_look(kit: Kit, *differences: TraitDifference) -> Kit:
    part = kit.parts[Slot.INTAKE_MANIFOLD]
    seen = replace(part, exterior=replace(part.exterior, differences=differences))
    return replace(kit, parts={**kit.parts, Slot.INTAKE_MANIFOLD: seen})


def test_how_a_part_looks_changes_no_other_block() -> None:
    """Appearance is evidence of nothing but itself."""
    kit = assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: MODIFIED_TWIN})

    plain, shiny = assessed(kit), assessed(with_look(kit, STICKS_OUT))

    changed = {
        each.name
        for each in fields(Assessment)
        if getattr(plain, each.name) != getattr(shiny, each.name)
    }
    assert changed == {"score", "appearance"}
    assert plain.score.keeps_stock_exterior is KeepsStockExterior.YES
    assert shiny.score == replace(plain.score, keeps_stock_exterior=KeepsStockExterior.NO)


def test_a_competition_declaration_changes_no_figure_and_no_fit() -> None:
    chosen = {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}
    plain = assessed(assembled(QUAY_BIG, chosen))
    declared = assessed(assembled(QUAY_BIG, chosen, competition_declared=True))

    assert declared.curve == plain.curve
    assert declared.fit == plain.fit
    assert declared.appearance == plain.appearance
    assert declared.price == plain.price


def test_the_factory_kit_fits_and_looks_as_it_left_the_factory() -> None:
    answer = assessed(assembled(QUAY_BIG))

    assert answer.fits
    assert answer.score.keeps_stock_exterior is KeepsStockExterior.YES
    assert all(not line.chosen for line in answer.kit)


def test_every_slot_has_one_line_that_says_whose_choice_it_is() -> None:
    answer = assessed(assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}))

    assert [line.slot for line in answer.kit] == list(KIT_SLOTS)
    assert {line.slot for line in answer.kit if line.chosen} == {Slot.CAMSHAFT}


def test_a_kit_that_does_not_fit_is_assessed_and_told_the_smallest_change() -> None:
    """A manifold for large ports on heads with small ones: one swap mends it."""
    answer = assessed(assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: "Q76-MANIFOLD-CURLEW"}))

    blocking = [each for each in answer.fit if each.severity is RuleSeverity.BLOCKS]

    assert not answer.fits
    assert answer.curve
    assert blocking
    (remedy,) = {each.remedy for each in blocking}
    swap = remedy.removeprefix("Swap the intake manifold for ").removesuffix(".")
    mended = assessed(assembled(QUAY_BIG, {Slot.INTAKE_MANIFOLD: swap}))
    assert mended.fits


def test_the_score_repeats_what_the_blocks_say() -> None:
    answer = assessed(assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}))
    score, peak = answer.score, answer.peaks.power

    assert (score.peak_power_kw, score.peak_power_hp) == (peak.power_kw, peak.power_hp)
    assert (score.band_low_rpm, score.band_high_rpm) == (answer.band.low_rpm, answer.band.high_rpm)
    assert score.keeps_stock_exterior is answer.appearance.keeps_stock_exterior
    assert score.street_legal_flag is answer.street_use.street_legal_flag


def test_prices_can_be_left_out() -> None:
    assert assessed(assembled(QUAY_BIG, include_prices=False)).price is None


def test_money_goes_out_as_decimal_text() -> None:
    answer = assessed(assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}))

    price = json.loads(assessment_body(answer))["price"]

    # 342.00 in the demo catalogue.
    assert price["totals"] == [{"amount": "342.00", "currency": "USD"}]


def test_no_number_of_an_answer_has_more_than_six_digits() -> None:
    answer = assessed(assembled(QUAY_BIG))

    numbers = floats(json.loads(assessment_body(answer)))

    assert len(numbers) > 100
    assert all(number == float(f"{number:.6g}") for number in numbers)


def floats(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for inner in value.values() for number in floats(inner)]
    if isinstance(value, list):
        return [number for inner in value for number in floats(inner)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("name", QUESTIONS)
def test_no_answer_of_the_demo_uses_a_banned_word(name: str) -> None:
    """The field `street_legal_flag` is the one place where the trade's word stands."""
    answer = asked(dict(QUESTIONS[name]))

    text = assessment_body(answer).decode()

    assert banned_words(text) == ()
    assert banned_words("It is street legal.")  # The check itself sees what it is for.


def test_every_answer_carries_its_cautions_and_what_it_rests_on() -> None:
    answer = assessed(assembled(QUAY_BIG))

    assert CLEARANCE_CAUTION in answer.cautions
    assert answer.provenance.calibration == "uncalibrated"
    assert answer.provenance.catalog_revision == 1


def test_the_question_comes_back_as_it_was_asked() -> None:
    answer = assessed(assembled(QUAY_BIG, {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}))

    assert isinstance(answer.request, AssessmentRequest)
    assert answer.request.parts == {Slot.CAMSHAFT: "Q76-CAM-BOWLINE"}
