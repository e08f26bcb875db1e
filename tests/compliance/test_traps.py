"""Traps of section 12 that are no row of the table (public law as read up to November 2026)."""

import re
from dataclasses import replace
from datetime import date

import pytest
from fastapi import FastAPI

from service.catalog.appearance import Exterior, Trait, TraitDifference
from service.catalog.devices import Device, DeviceChange, DeviceEffect
from service.catalog.flags import StreetLegalFlag
from service.catalog.slots import Fuel, Slot, UseClass
from service.compliance.appearance import Look
from service.compliance.documents import DocumentType, EmissionCertification
from service.compliance.inspections import DeviceTest, Functional
from service.compliance.jurisdictions import Topic
from service.compliance.outcomes import Outcome
from service.openapi import describe
from tests.compliance.cases import (
    FITTED,
    PROFILES,
    application,
    keeps,
    paper,
    report,
    rows,
    scope,
    shop_part,
)
from tests.factories import make_part

HERON = shop_part()


def test_trap_t6_devices_that_pass_a_test_are_no_paper() -> None:
    tests = tuple(
        DeviceTest(
            device=device,
            result=Functional.PASSED,
            method="Tailpipe and functional test.",
            by_whom="Demo station",
            tested_on=date(2026, 11, 20),
        )
        for device in FITTED
    )

    found = report(HERON, app=application(device_tests=tests))

    assert found.paperwork.outcome is Outcome.NO_PAPER
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_DOCUMENTED


def test_trap_t6_a_test_report_is_no_order() -> None:
    found = report(HERON, papers=[paper(type_=DocumentType.TEST_REPORT)])

    assert found.paperwork.outcome is Outcome.PAPER_DOES_NOT_MATCH


@pytest.mark.parametrize(
    ("ours", "outcome"),
    [
        (None, Outcome.PAPER_PARTIAL),
        (EmissionCertification.FEDERAL, Outcome.PAPER_DOES_NOT_MATCH),
        (EmissionCertification.CALIFORNIA, Outcome.PAPER_MATCHES),
    ],
)
def test_trap_t13_the_certification_on_the_label_is_compared(
    ours: EmissionCertification | None, outcome: Outcome
) -> None:
    order = paper(lines=(scope(certification=EmissionCertification.CALIFORNIA),))

    found = report(HERON, papers=[order], app=application(certification=ours))

    assert found.paperwork.outcome is outcome


def test_trap_t14_a_phrase_about_fifty_states_names_no_place() -> None:
    phrase = paper(lines=(scope(jurisdictions=("50-state",)),))

    assert report(HERON, papers=[phrase]).paperwork.outcome is Outcome.PAPER_DOES_NOT_MATCH


def test_trap_t17_a_plugged_connector_is_a_conflict_and_not_connected() -> None:
    plugged = DeviceChange(
        device=Device.HO2S, effect=DeviceEffect.NO_CONNECTION, note="A blank plugs the bung."
    )
    kept = keeps(*(device for device in FITTED if device is not Device.HO2S))

    found = report(replace(HERON, device_changes=(*kept, plugged)), papers=[paper()])

    assert rows(found)[1] == {"conflict_described"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_FOR_STREET_USE


def test_trap_t19_a_label_that_is_missing_decides_nothing_and_one_that_is_there_neither() -> None:
    unlabelled = replace(
        HERON,
        exterior=Exterior(
            assessed=True,
            differences=(
                TraitDifference(trait=Trait.LABELS, what="No label.", seen_from="Above."),
            ),
        ),
    )

    with_label, without = report(HERON, papers=[paper()]), report(unlabelled, papers=[paper()])

    assert with_label.paperwork == without.paperwork
    assert with_label.street_use == without.street_use
    assert report(HERON).paperwork.outcome is Outcome.NO_PAPER


def test_trap_t23_policies_of_enforcement_are_dated_and_said_to_be_revocable() -> None:
    policies = [
        row
        for row in PROFILES["us-federal"].rows
        if "85 FR 80782 (" in row.citation or "Department of Justice" in row.citation
    ]

    assert {row.valid_from for row in policies} == {date(2020, 12, 14), date(2026, 1, 21)}
    assert all("policy, dated and revocable" in row.text for row in policies)


def test_trap_t24_no_amount_of_a_penalty_is_held_but_the_dated_rule_is() -> None:
    """42 USC 7524(a) as adjusted: 40 CFR 19.4."""
    penalties = [
        row for profile in PROFILES.values() for row in profile.rows if row.topic is Topic.PENALTY
    ]

    assert any("40 CFR 19.4" in row.citation for row in penalties)
    amounts = [row for row in penalties if "amounts" in row.text]
    assert len(amounts) == 2
    assert all(row.valid_from for row in amounts)
    money = re.compile(r"[$£€]\s?\d|\d{1,3},\d{3}|\d+ dollars")
    assert not [
        row for profile in PROFILES.values() for row in profile.rows if money.search(row.text)
    ]


def test_trap_t25_a_listing_counts_as_advertising_and_is_told_with_every_part() -> None:
    """13 CCR 2222(a)."""
    cited = [one.row for one in report(HERON).jurisdiction_note.citations]

    assert any(
        row.citation.startswith("13 CCR 2222(a)") and "count as advertising" in row.text
        for row in cited
    )


def test_trap_t27_an_engine_of_another_year_than_the_vehicle_goes_to_an_official() -> None:
    same = report(HERON, papers=[paper()], app=application(engine_model_year=2000))
    other = report(HERON, papers=[paper()], app=application(engine_model_year=2001))

    assert 18 not in rows(same)
    assert rows(other)[18] == {"authority_must_decide"}
    assert other.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


@pytest.mark.parametrize(
    ("line", "ours", "outcome"),
    [
        ({"fuel": Fuel.GASOLINE}, {}, Outcome.PAPER_PARTIAL),
        ({"fuel": Fuel.GASOLINE}, {"fuel": Fuel.PROPANE}, Outcome.PAPER_DOES_NOT_MATCH),
        ({"fuel": Fuel.GASOLINE}, {"fuel": Fuel.GASOLINE}, Outcome.PAPER_MATCHES),
        ({"max_gross_weight_kg": 3855}, {}, Outcome.PAPER_PARTIAL),
        ({"max_gross_weight_kg": 3855}, {"gross_weight_kg": 3856}, Outcome.PAPER_DOES_NOT_MATCH),
        ({"max_gross_weight_kg": 3855}, {"gross_weight_kg": 3855}, Outcome.PAPER_MATCHES),
    ],
)
def test_trap_t28_fuel_and_weight_are_compared_where_a_paper_restricts_them(
    line: dict[str, object], ours: dict[str, object], outcome: Outcome
) -> None:
    """8,500 lb is 3,855.5 kg: the bound between light and medium duty of 13 CCR 1900 (memory)."""
    order = paper(lines=(scope(**line),))

    found = report(HERON, papers=[order], app=application(**ours))

    assert found.paperwork.outcome is outcome


def test_trap_t30_outcomes_are_words_and_carry_no_colour_or_tick(whole_app: FastAPI) -> None:
    schemas = describe(whole_app)["components"]["schemas"]
    names = {name for schema in schemas.values() for name in schema.get("properties", {})}

    assert not [name for name in names if re.search(r"colou?r|icon|tick|badge|traffic", name)]
    assert {name for name in names if "legal" in name} == {"street_legal_flag"}


def test_trap_t31_stock_parts_put_back_do_not_restore_a_permit() -> None:
    """StVZO s.19(2): undoing the change does not by itself revive it."""
    found = report(make_part(), app=application(place="de"))

    assert found.street_use.street_legal_flag is not StreetLegalFlag.DOCUMENTED
    assert any(
        "does not by itself revive" in cited.row.text for cited in found.jurisdiction_note.citations
    )


def test_trap_t32_whoever_sells_or_installs_is_told() -> None:
    """42 USC 7522(a)(3)(B)."""
    assert any(
        "whoever sells or installs" in text for text in report(HERON).jurisdiction_note.cautions
    )


def test_each_trait_stands_beside_the_factorys_description() -> None:
    welded = replace(
        HERON,
        exterior=Exterior(
            assessed=True,
            differences=(
                TraitDifference(trait=Trait.VISIBLE_WELDS, what="A seam.", seen_from="Above."),
            ),
        ),
    )
    unseen = shop_part(Slot.THROTTLE_BODY, "TERN", exterior=Exterior(assessed=False))

    traits = {one.trait: one for one in report(welded, unseen).appearance.traits}

    assert set(traits) == set(Trait)
    assert (traits[Trait.VISIBLE_WELDS].look, traits[Trait.VISIBLE_WELDS].by_parts) == (
        Look.DIFFERS,
        ("HERON",),
    )
    assert traits[Trait.RUNNER_SHAPE].look is Look.AS_STOCK
    assert traits[Trait.THROTTLE_SIZE].look is Look.NOT_ASSESSED
    assert traits[Trait.EXHAUST].look is Look.NOT_ASSESSED


def test_marine_questions_hold_the_work_sheet_back_part_by_part() -> None:
    throttle = shop_part(Slot.THROTTLE_BODY, "TERN")

    note = report(throttle, app=application(use=UseClass.MARINE)).jurisdiction_note

    assert {(one.code.value, one.sku) for one in note.safety_questions} == {
        ("flame_control", "TERN"),
        ("ignition_protection", "TERN"),
    }
    assert note.blocks_work_sheet
    assert report(throttle).jurisdiction_note.safety_questions == ()
