from dataclasses import replace

import pytest

from service.catalog.integrity import (
    CatalogIndex,
    family_problems,
    part_problems,
    rule_problems,
)
from service.catalog.layouts import BoltedFlange, PortOffsets
from service.catalog.parts import PartStatus
from service.catalog.rules import RuleKind, RuleQuantity, Selector
from service.catalog.slots import Slot, UseClass
from service.catalog.specs import CylinderHeadsSpec
from service.errors import FieldProblem
from tests.factories import FAMILY_KEY, SPECS, make_family, make_kit_parts, make_part, make_rule

EMPTY = CatalogIndex(stock_parts={}, parts={})
KIT = EMPTY.with_values([make_family()], list(make_kit_parts().values()))


def said(problems: list[FieldProblem]) -> set[tuple[str, str]]:
    return {(problem.pointer, problem.code) for problem in problems}


def test_the_factory_kit_has_no_problems() -> None:
    assert family_problems(make_family(), KIT) == []
    assert [p for part in make_kit_parts().values() for p in part_problems(part, KIT)] == []
    assert rule_problems(make_rule(), KIT) == []


def test_a_factory_part_has_to_exist() -> None:
    family = make_family(stock_parts={Slot.CAMSHAFT: "NOBODY"})

    assert said(family_problems(family, KIT)) == {("/stock_parts/camshaft", "unknown_reference")}


def test_a_factory_part_has_to_go_into_its_slot() -> None:
    family = make_family(stock_parts={Slot.CAMSHAFT: "QUAY-INJECTORS"})

    assert said(family_problems(family, KIT)) == {("/stock_parts/camshaft", "wrong_slot")}


def test_a_factory_part_has_to_list_the_family() -> None:
    family = make_family(key="orrin-4-4", stock_parts={Slot.CAMSHAFT: "QUAY-CAMSHAFT"})

    assert said(family_problems(family, KIT)) == {("/stock_parts/camshaft", "family_not_listed")}


def test_a_flange_of_its_own_is_one_that_the_part_is_bolted_on_by() -> None:
    flange = BoltedFlange(pattern="nobody's", flange_mm=12.0)
    part = make_part(sku="QUAY-ANY", flanges=(flange,))

    assert said(part_problems(part, KIT)) == {("/flanges/0/pattern", "unknown_reference")}


def test_what_a_dry_fit_lets_pass_is_no_less_than_what_gaskets_take_up() -> None:
    family = make_family(port_offsets=PortOffsets(absorbed_mm=0.6))

    assert said(family_problems(family, KIT)) == {("/port_offsets/absorbed_mm", "out_of_order")}


def test_supplies_are_no_place_that_a_family_can_require() -> None:
    family = make_family(required_slots=(Slot.GASKETS,), stock_parts={Slot.PLUGS: "NOBODY"})

    assert said(family_problems(family, KIT)) == {
        ("/required_slots/0", "no_place_of_a_kit"),
        ("/stock_parts/plugs", "no_place_of_a_kit"),
        ("/stock_parts/plugs", "unknown_reference"),
    }


def test_model_years_go_forward_and_nothing_stands_twice() -> None:
    family = make_family(
        first_model_year=2004,
        last_model_year=1996,
        use_classes=(UseClass.ROAD, UseClass.ROAD),
        required_slots=(Slot.CAMSHAFT, Slot.INJECTORS, Slot.CAMSHAFT),
    )

    assert said(family_problems(family, KIT)) == {
        ("/last_model_year", "out_of_order"),
        ("/use_classes/1", "repeated"),
        ("/required_slots/2", "repeated"),
    }


def test_the_families_of_a_part_have_to_exist_and_stand_once() -> None:
    part = make_part(sku="NEW", families=(FAMILY_KEY, "nowhere", FAMILY_KEY))

    assert said(part_problems(part, KIT)) == {
        ("/families/1", "unknown_reference"),
        ("/families/2", "repeated"),
    }


def test_a_factory_part_cannot_leave_its_family_or_its_slot() -> None:
    index = KIT.with_values([make_family(key="orrin-4-4", stock_parts={})], [])
    elsewhere = make_part(Slot.CAMSHAFT, families=("orrin-4-4",), spec=SPECS[Slot.INJECTORS])

    assert said(part_problems(elsewhere, index)) == {
        ("/families", "family_not_listed"),
        ("/spec/slot", "wrong_slot"),
    }


@pytest.mark.parametrize(
    ("status", "successor", "code"),
    [
        (PartStatus.SUPERSEDED, None, "inconsistent"),
        (PartStatus.CURRENT, "QUAY-CAMSHAFT", "inconsistent"),
        (PartStatus.SUPERSEDED, "NOBODY", "unknown_reference"),
        (PartStatus.SUPERSEDED, "NEW", "own_successor"),
    ],
)
def test_a_superseded_part_names_another_part_that_exists(
    status: PartStatus, successor: str | None, code: str
) -> None:
    part = make_part(sku="NEW", status=status, superseded_by=successor)

    assert said(part_problems(part, KIT)) == {("/superseded_by", code)}


def test_successors_do_not_go_round_in_a_circle() -> None:
    back = make_part(
        Slot.CAMSHAFT, sku="CAM-2", status=PartStatus.SUPERSEDED, superseded_by="QUAY-CAMSHAFT"
    )
    index = KIT.with_values([], [back])

    part = make_part(Slot.CAMSHAFT, status=PartStatus.SUPERSEDED, superseded_by="CAM-2")

    assert said(part_problems(part, index)) == {("/superseded_by", "own_successor")}


def test_port_flow_goes_by_rising_lift() -> None:
    spec = SPECS[Slot.CYLINDER_HEADS]
    assert isinstance(spec, CylinderHeadsSpec)
    first, second, *rest = spec.exhaust.flow
    exhaust = replace(spec.exhaust, flow=(second, first, *rest))

    part = make_part(Slot.CYLINDER_HEADS, spec=replace(spec, exhaust=exhaust))

    assert said(part_problems(part, KIT)) == {("/spec/exhaust/flow/1/lift_mm", "out_of_order")}


def test_a_rule_names_parts_and_families_that_exist() -> None:
    rule = make_rule(
        families=("nowhere",), when=Selector(skus=("NOBODY",)), other=Selector(skus=("NO-ONE",))
    )

    assert said(rule_problems(rule, KIT)) == {
        ("/families/0", "unknown_reference"),
        ("/when/skus/0", "unknown_reference"),
        ("/other/skus/0", "unknown_reference"),
    }


def test_a_rule_about_a_pair_says_which_two() -> None:
    rule = make_rule(when=Selector(), other=None)

    assert said(rule_problems(rule, KIT)) == {("/when", "missing"), ("/other", "missing")}


def test_a_limit_says_of_what_and_how_much() -> None:
    rule = make_rule(kind=RuleKind.LIMITS, other=None)

    assert said(rule_problems(rule, KIT)) == {("/quantity", "missing"), ("/at_least", "missing")}


def test_the_ends_of_a_limit_are_in_order() -> None:
    rule = make_rule(
        kind=RuleKind.LIMITS,
        other=None,
        quantity=RuleQuantity.VALVE_LIFT_MM,
        at_least=14.0,
        at_most=12.0,
    )

    assert said(rule_problems(rule, KIT)) == {("/at_most", "out_of_order")}
