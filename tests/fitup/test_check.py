from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part
from service.catalog.rules import RuleKind, RuleSeverity, Selector, ShopRule
from service.catalog.slots import KIT_SLOTS, Slot, UseClass
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from tests.factories import make_rule
from tests.fitup.subjects import make_subject, shop_part

STRANGE = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="strange")
WRONG_PARTS = (
    shop_part(Slot.THROTTLE_BODY, "TERN", spec={"bore_mm": 102.0}, needs=(STRANGE,)),
    shop_part(Slot.CAMSHAFT, "OWL"),
    shop_part(Slot.CALIBRATION, "LAMP", spec={"rev_limit_rpm": 7000.0}),
    shop_part(Slot.INJECTORS, "WREN", spec={"count": 6}),
)
RULES = tuple(
    make_rule(key=f"rule-{number}", kind=RuleKind.NEEDS, other=Selector(skus=("NOBODY",)))
    for number in range(3)
)
ALTERNATIVES = {
    Slot.THROTTLE_BODY: (
        shop_part(Slot.THROTTLE_BODY, "GULL", price_cents=5),
        shop_part(Slot.THROTTLE_BODY, "FINCH", price_cents=5),
    )
}


def test_the_complete_stock_kit_has_nothing_that_blocks_or_warns() -> None:
    findings = fit_findings(make_subject(), (), {}, 250_000.0)

    assert [one for one in findings if one.severity is not RuleSeverity.NOTES] == []


def test_the_stock_kit_has_nothing_that_blocks_in_a_boat_either() -> None:
    findings = fit_findings(make_subject(use=UseClass.MARINE), (), {}, 250_000.0)

    assert all(one.severity is not RuleSeverity.BLOCKS for one in findings)


@given(
    slots=st.permutations(list(KIT_SLOTS)),
    rules=st.permutations(RULES),
    alternatives=st.permutations(ALTERNATIVES[Slot.THROTTLE_BODY]),
)
def test_findings_do_not_depend_on_the_order_of_parts_or_rules(
    slots: list[Slot], rules: list[ShopRule], alternatives: list[Part]
) -> None:
    subject = make_subject(*WRONG_PARTS)
    shuffled = make_subject(parts={slot: subject.parts[slot] for slot in slots})

    expected = fit_findings(subject, RULES, ALTERNATIVES, 300_000.0)

    assert (
        fit_findings(
            shuffled,
            tuple(rules),
            {Slot.THROTTLE_BODY: tuple(alternatives)},
            300_000.0,
        )
        == expected
    )


def test_findings_come_worst_first_and_then_by_code() -> None:
    findings = fit_findings(make_subject(*WRONG_PARTS), RULES, {}, 400_000.0)

    ranks = [(list(RuleSeverity).index(one.severity), one.code) for one in findings]
    assert ranks == sorted(ranks)
    assert {one.severity for one in findings} >= {RuleSeverity.BLOCKS, RuleSeverity.WARNS}


def test_every_finding_says_why_what_to_do_and_on_whose_word() -> None:
    findings = fit_findings(make_subject(*WRONG_PARTS), RULES, ALTERNATIVES, 400_000.0)

    for one in findings:
        assert one.reason.endswith(".")
        assert one.remedy.endswith(".")
        assert one.source


def test_a_finding_goes_through_json_unchanged() -> None:
    adapter = TypeAdapter(tuple[Finding, ...])
    findings = fit_findings(make_subject(*WRONG_PARTS), RULES, ALTERNATIVES, 400_000.0)

    assert adapter.validate_json(adapter.dump_json(findings)) == findings
