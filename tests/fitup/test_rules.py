from service.catalog.parts import PartStatus
from service.catalog.rules import RuleKind, RuleQuantity, RuleSeverity, Selector, ShopRule
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import ExhaustConstruction
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.fitup.subject import FitSubject
from tests.factories import make_rule, stock_sku
from tests.fitup.subjects import make_subject, shop_part

HERON = shop_part(Slot.INTAKE_MANIFOLD, "HERON")


def shop_findings(subject: FitSubject, *rules: ShopRule) -> list[Finding]:
    return [
        finding
        for finding in fit_findings(subject, rules, {}, None)
        if finding.code.startswith("shop_rule.")
    ]


def codes(subject: FitSubject) -> set[str]:
    return {finding.code for finding in fit_findings(subject, (), {}, None)}


def test_a_rule_that_needs_a_part_is_silent_when_it_is_there() -> None:
    assert shop_findings(make_subject(), make_rule()) == []


def test_a_rule_that_needs_a_part_speaks_when_it_is_missing() -> None:
    rule = make_rule(other=Selector(skus=("LAMP-TUNE",)))

    (finding,) = shop_findings(make_subject(), rule)

    assert finding.parts == (stock_sku(Slot.CAMSHAFT),)
    assert finding.reason == rule.reason
    assert finding.remedy == rule.remedy


def test_a_rule_that_excludes_names_both_parts() -> None:
    rule = make_rule(kind=RuleKind.EXCLUDES, other=Selector(skus=("HERON",)))

    (finding,) = shop_findings(make_subject(HERON), rule)

    assert finding.parts == ("HERON", stock_sku(Slot.CAMSHAFT))


def test_a_rule_for_another_engine_is_silent() -> None:
    rule = make_rule(families=("orrin-4-4",), other=Selector(skus=("LAMP-TUNE",)))

    assert shop_findings(make_subject(), rule) == []


def test_an_empty_selector_means_no_part() -> None:
    rule = make_rule(when=Selector(), other=Selector(skus=("LAMP-TUNE",)))

    assert shop_findings(make_subject(), rule) == []


def test_a_limit_gives_the_kits_value_and_the_rules() -> None:
    """Factory overlap by hand: (268 + 276) / 2 - 2 · 114 = 44 degrees."""
    rule = make_rule(
        kind=RuleKind.LIMITS, other=None, quantity=RuleQuantity.OVERLAP_DEG, at_most=40.0
    )

    (finding,) = shop_findings(make_subject(), rule)

    assert finding.measured is not None
    assert finding.limit is not None
    assert finding.measured.value == 44.0
    assert finding.limit.value == 40.0


def test_every_quantity_that_rules_may_limit_has_a_value_in_a_full_kit() -> None:
    rules = [
        make_rule(key=wanted.value, kind=RuleKind.LIMITS, other=None, quantity=wanted, at_most=0.0)
        for wanted in RuleQuantity
    ]

    found = shop_findings(make_subject(), *rules)

    assert {finding.code for finding in found} == {f"shop_rule.{one.value}" for one in RuleQuantity}
    assert all(finding.measured is not None for finding in found)


def test_a_limit_that_cannot_be_checked_says_so() -> None:
    subject = make_subject()
    parts = {slot: part for slot, part in subject.parts.items() if slot is not Slot.THROTTLE_BODY}
    rule = make_rule(
        kind=RuleKind.LIMITS, other=None, quantity=RuleQuantity.THROTTLE_BORE_MM, at_most=1.0
    )

    (finding,) = shop_findings(make_subject(parts=parts), rule)

    assert finding.severity is RuleSeverity.NOTES
    assert "not checked" in finding.reason


def test_an_empty_slot_that_the_engine_needs_blocks() -> None:
    subject = make_subject()
    parts = {slot: part for slot, part in subject.parts.items() if slot is not Slot.INJECTORS}

    assert "kit.empty_injectors" in codes(make_subject(parts=parts))


def test_a_part_of_another_engine_blocks() -> None:
    stranger = shop_part(Slot.INTAKE_MANIFOLD, "HERON", families=("orrin-4-4",))

    assert "kit.other_family" in codes(make_subject(stranger))


def test_a_part_no_longer_offered_is_named_with_its_successor() -> None:
    old = shop_part(
        Slot.INTAKE_MANIFOLD, "HERON", status=PartStatus.SUPERSEDED, superseded_by="HERON-2"
    )

    (finding,) = [
        one for one in fit_findings(make_subject(old), (), {}, None) if one.code == "kit.superseded"
    ]

    assert "HERON-2" in finding.remedy


def test_a_throttle_body_that_does_not_say_what_turns_it_is_asked() -> None:
    silent = shop_part(Slot.THROTTLE_BODY, "TERN", needs=())

    assert "throttle.drive" in codes(make_subject(silent))
    assert "throttle.drive" not in codes(make_subject())


def test_tubes_before_a_catalyst_warn_that_it_may_move() -> None:
    tubes = shop_part(
        Slot.EXHAUST_MANIFOLD, "PLOVER", spec={"construction": ExhaustConstruction.TUBULAR}
    )

    assert "exhaust.catalyst_moved" in codes(make_subject(tubes))
    assert "exhaust.catalyst_moved" not in codes(make_subject(tubes, model_year=1990))


def test_valve_lift_past_the_heads_limit_blocks() -> None:
    """Factory lift by hand: 7.6 · 1.7 = 12.92 mm."""
    heads = shop_part(Slot.CYLINDER_HEADS, "OWL", spec={"max_valve_lift_mm": 12.9})

    (finding,) = [
        one
        for one in fit_findings(make_subject(heads), (), {}, None)
        if one.code == "valvetrain.valve_lift"
    ]

    assert finding.severity is RuleSeverity.BLOCKS
    assert finding.measured is not None
    assert finding.measured.value == 12.92


def test_any_other_camshaft_or_head_asks_for_a_check_on_the_engine() -> None:
    """Common practice: .080 in at the intake and .100 in at the exhaust valve."""
    camshaft = shop_part(Slot.CAMSHAFT, "OWL")
    heads = shop_part(Slot.CYLINDER_HEADS, "OWL-2")

    assert "valvetrain.piston_to_valve" in codes(make_subject(camshaft))
    assert "valvetrain.piston_to_valve" in codes(make_subject(heads))
    assert "valvetrain.piston_to_valve" not in codes(make_subject(HERON))


def test_a_long_overlap_in_a_boat_warns_of_water() -> None:
    camshaft = shop_part(Slot.CAMSHAFT, "OWL", spec={"lobe_separation_deg": 106.0})

    def severity(use: UseClass) -> RuleSeverity | None:
        for finding in fit_findings(make_subject(camshaft, use=use), (), {}, None):
            if finding.code == "valvetrain.water_reversion":
                return finding.severity
        return None

    assert severity(UseClass.MARINE) is RuleSeverity.WARNS
    assert severity(UseClass.ROAD) is None


def test_a_calibration_past_the_bottom_ends_limit_blocks() -> None:
    tune = shop_part(Slot.CALIBRATION, "LAMP", spec={"rev_limit_rpm": 6000.0})

    (finding,) = [
        one
        for one in fit_findings(make_subject(tune), (), {}, None)
        if one.code == "bottom_end.rev_limit"
    ]

    assert finding.severity is RuleSeverity.BLOCKS
    assert finding.parts == ("LAMP",)


def test_mean_piston_speed_is_two_strokes_a_turn() -> None:
    """By hand: 2 · .104 m · 7000 / 60 = 24.27 m/s."""
    (finding,) = [
        one
        for one in fit_findings(make_subject(rev_limit_rpm=7000.0), (), {}, None)
        if one.code == "bottom_end.piston_speed"
    ]

    assert finding.measured is not None
    assert finding.measured.value == 24.27
    assert finding.severity is RuleSeverity.NOTES
