"""The rows of the decision table (public law as read up to November 2026) and its traps.

The table itself is the specification; citations stand in the profiles. Rows 3, 17 and
33 and the traps that are no row stand in `test_inspections.py`, `test_traps.py` and
`tests/test_refusals.py`; `test_coverage.py` sees that none is left out.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from service.catalog.devices import Device, DeviceChange, DeviceEffect, DeviceFitting
from service.catalog.flags import StreetLegalFlag
from service.catalog.slots import Slot, UseClass
from service.compliance.appearance import KeepsStockExterior, Look
from service.compliance.application import ALTERED
from service.compliance.days import FRESH_FOR_DAYS
from service.compliance.devices import DeviceState
from service.compliance.documents import Document, DocumentStatus, DocumentType, IdentityPiece
from service.compliance.inspections import Functional
from service.compliance.outcomes import Outcome
from service.compliance.paperwork import Combination
from service.compliance.report import ComplianceReport
from tests.compliance.cases import (
    FITTED,
    PROFILES,
    TODAY,
    application,
    changed_inside,
    keeps,
    paper,
    report,
    rows,
    scope,
    seen_working,
    shop_part,
)
from tests.factories import make_family, make_part

HERON = shop_part()
OWL = shop_part(Slot.CAMSHAFT, "OWL")
FACTORY = make_part()


def part_outcome(found: ComplianceReport, sku: str = "HERON") -> Outcome:
    return next(one.outcome for one in found.paperwork.parts if one.sku == sku)


@pytest.mark.parametrize("effect", [DeviceEffect.REMOVES, DeviceEffect.NO_CONNECTION])
def test_row_1_a_lost_device_is_a_conflict_whatever_the_papers(effect: DeviceEffect) -> None:
    lossy = replace(
        HERON,
        device_changes=(*keeps(Device.PCV), DeviceChange(device=Device.EGR, effect=effect)),
    )

    found = report(lossy, papers=[paper()])

    assert found.jurisdiction_note.outcome is Outcome.CONFLICT_DESCRIBED
    assert rows(found)[1] == {"conflict_described"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_FOR_STREET_USE


@pytest.mark.parametrize("use", [UseClass.MARINE, UseClass.NONROAD])
def test_row_1_the_federal_rows_hold_in_california_off_the_road_too(use: UseClass) -> None:
    """40 CFR 1068.101(b), 1068.105(b)."""
    lossy = replace(
        HERON, device_changes=(DeviceChange(device=Device.EGR, effect=DeviceEffect.REMOVES),)
    )

    found = report(lossy, app=application(use=use, model_year=2003))

    assert rows(found)[1] == {"conflict_described"}


def test_row_1_where_only_memory_says_so_it_is_a_question() -> None:
    lossy = replace(
        HERON, device_changes=(DeviceChange(device=Device.EGR, effect=DeviceEffect.REMOVES),)
    )

    found = report(lossy, app=application(place="eu"))

    assert rows(found)[1] == {"device_question"}


def test_row_2_trap_t15_a_device_that_is_kept_is_not_tested() -> None:
    found = report(HERON, papers=[paper()])

    assert {row.state for row in found.devices.rows} == {DeviceState.KEPT}
    assert {row.functional for row in found.devices.rows} == {Functional.NOT_TESTED}
    assert "device_question" in rows(found)[2]


def test_row_2_a_device_that_nobody_tested_leaves_the_flag_open_and_is_named() -> None:
    some = seen_working(*FITTED[1:])

    street_use = report(HERON, papers=[paper()], app=some).street_use

    assert street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED
    assert f"not seen working: {FITTED[0].value}." in street_use.sentence


def test_row_4_trap_t5_no_paper_even_where_nobody_can_see_the_part() -> None:
    found = report(OWL)

    assert part_outcome(found, "OWL") is Outcome.NO_PAPER
    assert rows(found)[4] == {"no_paper"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_DOCUMENTED


def test_row_5_a_paper_that_names_every_field_matches() -> None:
    found = report(HERON, papers=[paper()], app=seen_working())

    assert part_outcome(found) is Outcome.PAPER_MATCHES
    assert rows(found)[5] == {"paper_matches"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.DOCUMENTED
    assert "DEMO-17" in found.jurisdiction_note.documented[0]


@pytest.mark.parametrize(
    "unproven",
    [
        paper(status=DocumentStatus.UNKNOWN),
        paper(conditions_met=None),
        paper(checked_on=None),
        replace(paper(), file_sha256=None),
        paper(lines=(scope(revisions=()),)),
    ],
)
def test_row_6_trap_t2_a_field_that_is_not_proven_is_no_match(unproven: Document) -> None:
    found = report(HERON, papers=[unproven])

    assert part_outcome(found) is Outcome.PAPER_PARTIAL
    assert rows(found)[6] == {"paper_partial"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


@pytest.mark.parametrize(
    "other",
    [
        paper(status=DocumentStatus.WITHDRAWN),
        paper(status=DocumentStatus.SUPERSEDED),
        paper(superseded_by="DEMO-18"),
        paper(conditions_met=False),
        paper(lines=(scope(revisions=("B",)),)),
        paper(lines=(scope(family="quay-5-3"),)),
        paper(lines=(scope(first_model_year=2001),)),
        paper(lines=(scope(last_model_year=1999),)),
        paper(lines=(scope(use=UseClass.MARINE),)),
        paper(lines=(scope(jurisdictions=("us-ny",)),)),
        paper(type_=DocumentType.TEST_REPORT),
    ],
)
def test_row_7_traps_t11_t12_another_value_is_another_application(
    other: Document,
) -> None:
    """T12: one model year away is as far as ten."""
    found = report(HERON, papers=[other])

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH
    assert rows(found)[7] == {"paper_does_not_match"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_DOCUMENTED


def test_row_6_a_paper_checked_too_long_ago_is_not_confirmed() -> None:
    last_fresh = TODAY - timedelta(days=FRESH_FOR_DAYS)

    def outcome(checked_on: date) -> Outcome:
        on_file = [paper(checked_on=checked_on)]
        return part_outcome(report(HERON, papers=on_file, app=seen_working()))

    assert outcome(last_fresh) is Outcome.PAPER_MATCHES
    for wrong in (last_fresh - timedelta(days=1), date(2035, 1, 1)):
        assert outcome(wrong) is Outcome.PAPER_PARTIAL


def test_row_7_a_paper_of_a_day_to_come_does_not_count() -> None:
    found = report(HERON, papers=[paper(issued_on=date(2031, 1, 1))], app=seen_working())

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_DOCUMENTED


def test_row_8_traps_t1_t26_two_papers_are_not_one_for_the_combination() -> None:
    papers = [paper(), paper("DEMO-18", lines=(scope("REF-OWL"),))]

    found = report(HERON, OWL, papers=papers)

    assert part_outcome(found) is Outcome.PAPER_MATCHES
    assert part_outcome(found, "OWL") is Outcome.PAPER_MATCHES
    assert found.paperwork.outcome is Outcome.PAPER_PARTIAL
    assert found.paperwork.combination is Combination.NOT_DOCUMENTED
    assert rows(found)[8] == {"paper_partial"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_8_a_paper_that_names_both_documents_the_combination() -> None:
    found = report(HERON, OWL, papers=[paper(lines=(scope("REF-HERON", "REF-OWL"),))])

    assert found.paperwork.combination is Combination.DOCUMENTED
    assert found.paperwork.outcome is Outcome.PAPER_MATCHES


@pytest.mark.parametrize("type_", [DocumentType.SAFETY_EVIDENCE, DocumentType.TEST_REPORT])
def test_row_8_trap_t1_another_kind_of_paper_that_names_both_documents_nothing(
    type_: DocumentType,
) -> None:
    papers = [
        paper(),
        paper("DEMO-18", lines=(scope("REF-OWL"),)),
        paper("DEMO-19", type_, lines=(scope("REF-HERON", "REF-OWL"),)),
    ]

    found = report(HERON, OWL, papers=papers, app=seen_working())

    assert found.paperwork.combination is Combination.NOT_DOCUMENTED
    assert found.paperwork.outcome is Outcome.PAPER_PARTIAL
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_9_a_paper_for_a_kit_covers_neither_less_nor_more() -> None:
    kit_paper = paper(lines=(scope("REF-HERON", "REF-OWL"),))
    extra = shop_part(Slot.THROTTLE_BODY, "TERN")

    less, more = report(HERON, papers=[kit_paper]), report(HERON, OWL, extra, papers=[kit_paper])

    assert part_outcome(less) is Outcome.PAPER_DOES_NOT_MATCH
    assert part_outcome(more) is Outcome.PAPER_DOES_NOT_MATCH
    assert rows(less)[9] == {"paper_does_not_match"}


def test_row_10_trap_t3_a_part_changed_inside_is_no_longer_the_part_named() -> None:
    found = report(changed_inside(HERON), papers=[paper()])

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH
    assert rows(found)[10] == {"paper_does_not_match"}


def test_row_10_a_paper_that_speaks_of_the_change_inside_covers_it() -> None:
    """Order D-324 (4 Aug 1993) is one for a process inside manifolds and heads."""
    found = report(
        changed_inside(HERON), papers=[paper(lines=(scope(covers_internal_change=True),))]
    )

    assert part_outcome(found) is Outcome.PAPER_MATCHES


def test_row_11_trap_t4_looks_stay_as_stock_and_papers_do_not_follow() -> None:
    found = report(changed_inside(HERON), papers=[paper()])

    assert found.appearance.look is Look.AS_STOCK
    assert found.appearance.keeps_stock_exterior is KeepsStockExterior.YES
    assert found.appearance.parts[0].internal_change == "Runners opened up."
    assert found.paperwork.outcome is Outcome.PAPER_DOES_NOT_MATCH


def test_row_12_trap_t18_the_catalogues_word_is_a_claim_and_evidence_shows_it() -> None:
    evidence = paper(type_=DocumentType.IDENTITY_EVIDENCE, lines=(scope(FACTORY.maker_reference),))

    claimed, shown = report(FACTORY), report(FACTORY, papers=[evidence], app=seen_working())

    assert part_outcome(claimed, FACTORY.sku) is Outcome.IDENTITY_CLAIMED
    assert claimed.jurisdiction_note.documented == ()
    assert part_outcome(shown, FACTORY.sku) is Outcome.IDENTITY_SHOWN
    assert shown.street_use.street_legal_flag is StreetLegalFlag.DOCUMENTED


def test_row_12_a_factory_kit_without_evidence_of_identity_is_not_documented() -> None:
    """The catalogue's word is a claim for every part, those that stay included."""
    rest = make_part(Slot.CAMSHAFT)
    evidence = [
        paper(
            f"DEMO-ID-{part.sku}",
            DocumentType.IDENTITY_EVIDENCE,
            lines=(scope(part.maker_reference),),
        )
        for part in (FACTORY, rest)
    ]

    claimed = report(FACTORY, rest, app=seen_working())
    with_heron = report(HERON, rest, papers=[paper()], app=seen_working())
    shown = report(FACTORY, rest, papers=evidence, app=seen_working())

    assert claimed.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED
    assert with_heron.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED
    assert shown.street_use.street_legal_flag is StreetLegalFlag.DOCUMENTED


def test_row_12_evidence_not_proven_in_every_field_leaves_a_claim() -> None:
    evidence = paper(type_=DocumentType.IDENTITY_EVIDENCE, status=DocumentStatus.UNKNOWN)

    assert part_outcome(report(HERON, papers=[evidence])) is Outcome.IDENTITY_CLAIMED


@pytest.mark.parametrize("piece", list(IdentityPiece))
def test_row_12_one_piece_of_evidence_is_a_claim_and_two_papers_may_hold_both(
    piece: IdentityPiece,
) -> None:
    """The row asks for the maker's specification and a record of measurement."""

    def evidence(number: str, *pieces: IdentityPiece) -> Document:
        return paper(number, DocumentType.IDENTITY_EVIDENCE, identity_pieces=pieces)

    one = evidence("DEMO-ID-1", piece)
    rest = evidence("DEMO-ID-2", *(other for other in IdentityPiece if other is not piece))

    alone = report(HERON, papers=[one])
    assert part_outcome(alone) is Outcome.IDENTITY_CLAIMED
    assert any("identity lacks" in text for text in alone.paperwork.parts[0].reasons)
    assert part_outcome(report(HERON, papers=[one, rest])) is Outcome.IDENTITY_SHOWN


def test_row_12_a_replacement_claim_without_paper_is_a_claim() -> None:
    claimed = replace(HERON, replacement_claim=True)

    assert part_outcome(report(claimed)) is Outcome.IDENTITY_CLAIMED


def test_row_12_evidence_of_identity_cannot_speak_for_a_change_inside() -> None:
    line = scope(covers_internal_change=True)
    evidence = paper(type_=DocumentType.IDENTITY_EVIDENCE, lines=(line,))

    found = report(changed_inside(HERON), papers=[evidence])

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH


def test_row_13_a_replacement_and_changed_inside_cannot_both_be() -> None:
    """6 NYCRR 218-7.4(b)(2)(ii): no modified part is installed as a replacement part."""
    found = report(changed_inside(replace(HERON, replacement_claim=True)))

    assert rows(found)[13] == {"conflict_described"}


@pytest.mark.parametrize("covers", [True, False])
def test_row_10_a_part_cut_on_this_engine_is_no_longer_the_part_named(
    covers: bool,  # noqa: FBT001 - a parameter.
) -> None:
    """Not even where the paper speaks of the change that the part was sold with."""
    line = scope(covers_internal_change=covers)
    cut = application(altered_slots=(HERON.slot,))

    found = report(HERON, papers=[paper(lines=(line,))], app=cut)
    factory = report(FACTORY, app=cut)

    assert rows(found)[10] == {"paper_does_not_match"}
    assert found.appearance.look is Look.AS_STOCK
    assert found.appearance.parts[0].internal_change == ALTERED
    assert part_outcome(factory, FACTORY.sku) is Outcome.NO_PAPER
    assert factory.appearance.look is Look.AS_STOCK


def test_row_13_the_factorys_own_and_changed_inside_cannot_both_be() -> None:
    found = report(changed_inside(FACTORY))

    assert found.paperwork.outcome is Outcome.CONFLICT_DESCRIBED
    assert rows(found)[13] == {"conflict_described"}


def test_row_14_trap_t7_no_periodic_test_is_not_no_rule() -> None:
    old = make_family(first_model_year=1970)

    found = report(HERON, app=application(model_year=1975), family=old)

    assert any("1975" in caution for caution in found.jurisdiction_note.cautions)
    assert part_outcome(found) is Outcome.NO_PAPER


def test_row_15_a_new_vehicle_may_be_tested_all_the_same() -> None:
    def cautions(model_year: int) -> str:
        app = application(model_year=model_year)
        return " ".join(report(HERON, app=app).jurisdiction_note.cautions)

    assert "where tampering is indicated" in cautions(2018)
    assert "where tampering is indicated" not in cautions(2017)


def test_row_16_a_calibration_needs_the_order_that_names_it() -> None:
    tune = shop_part(
        Slot.CALIBRATION,
        "LAMP",
        device_changes=(DeviceChange(device=Device.PCM, effect=DeviceEffect.CHANGES),),
    )
    family = make_family(
        devices_fitted=(
            DeviceFitting(
                device=Device.PCM, first_model_year=1996, last_model_year=2004, source="Label"
            ),
        )
    )
    order = paper(lines=(scope("REF-LAMP"),))

    without = report(tune, family=family)
    named = report(tune, papers=[order], family=family, app=seen_working(Device.PCM))

    assert rows(without)[16] == {"device_question"}
    assert rows(without)[4] == {"no_paper"}
    assert 16 not in rows(named)
    assert named.street_use.street_legal_flag is StreetLegalFlag.DOCUMENTED


def test_row_16_is_for_diagnostics_and_an_older_calibration_is_row_2() -> None:
    """16 CCR 3340.42.2: model year 1996 and later."""
    tune = shop_part(
        Slot.CALIBRATION,
        "LAMP",
        device_changes=(DeviceChange(device=Device.PCM, effect=DeviceEffect.CHANGES),),
    )
    fitting = DeviceFitting(
        device=Device.PCM, first_model_year=1990, last_model_year=2004, source="Label"
    )
    family = make_family(first_model_year=1990, devices_fitted=(fitting,))

    old = report(tune, family=family, app=application(model_year=1995))
    new = report(tune, family=family, app=application(model_year=1996))

    assert 16 not in rows(old)
    assert "device_question" in rows(old)[2]
    assert rows(new)[16] == {"device_question"}


def test_trap_t16_a_changed_catalyst_is_a_question_even_with_paper() -> None:
    header = shop_part(
        Slot.EXHAUST_MANIFOLD,
        "PLOVER",
        device_changes=(
            *keeps(Device.EGR, Device.HO2S),
            DeviceChange(device=Device.TWC, effect=DeviceEffect.CHANGES, note="Sits lower."),
        ),
    )

    found = report(header, papers=[paper(lines=(scope("REF-PLOVER"),))])

    assert found.jurisdiction_note.outcome is Outcome.DEVICE_QUESTION
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED
    (row,) = found.devices.in_state(DeviceState.CHANGED)
    assert row.by_parts == ("PLOVER",)
    assert row.notes == ("PLOVER: Sits lower.",)


def test_trap_t34_a_device_that_was_not_fitted_that_year_has_no_row() -> None:
    late = DeviceFitting(
        device=Device.OBD, first_model_year=1996, last_model_year=2004, source="Label"
    )
    always = replace(late, device=Device.PCV, first_model_year=1990)
    family = make_family(first_model_year=1990, devices_fitted=(late, always))

    early = report(HERON, app=application(model_year=1995), family=family)

    assert [row.device for row in early.devices.rows] == [Device.PCV]
    assert early.devices.fitted_known


def test_row_2_a_model_year_without_any_device_on_record_is_not_known() -> None:
    """Section 11: an unknown never upgrades; what later years had says nothing of this one."""
    late = tuple(replace(one, first_model_year=2001) for one in make_family().devices_fitted)
    family = make_family(devices_fitted=late)

    found = report(HERON, papers=[paper()], app=seen_working(), family=family)

    assert not found.devices.fitted_known
    assert "device_question" in rows(found)[2]
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


@pytest.mark.parametrize("effect", [DeviceEffect.REMOVES, DeviceEffect.NO_CONNECTION])
def test_row_1_a_loss_on_record_of_a_device_that_nobody_lists_is_not_dropped(
    effect: DeviceEffect,
) -> None:
    lossy = replace(
        HERON,
        device_changes=(*keeps(*FITTED), DeviceChange(device=Device.PAIR, effect=effect)),
    )

    found = report(lossy, papers=[paper()], app=seen_working(*FITTED, Device.PAIR))

    (row,) = [row for row in found.devices.rows if not row.listed]
    assert (row.device, row.state, row.by_parts) == (
        Device.PAIR,
        DeviceState.UNKNOWN,
        ("HERON",),
    )
    assert "device_question" in rows(found)[2]
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_1_a_part_for_boats_opens_no_question_of_a_vessel_on_the_road() -> None:
    flame = DeviceChange(device=Device.MARINE_FLAME, effect=DeviceEffect.CHANGES)
    for_boats_too = replace(HERON, device_changes=(*HERON.device_changes, flame))

    assert report(for_boats_too).devices == report(HERON).devices


@pytest.mark.parametrize(
    ("row", "changes"), [(18, {"engine_swapped": True}), (19, {"specially_constructed": True})]
)
def test_rows_18_and_19_trap_t20_go_to_a_named_official(row: int, changes: dict[str, bool]) -> None:
    found = report(HERON, papers=[paper()], app=replace(application(), **changes))  # type: ignore[arg-type] # Flags of an application.

    assert rows(found)[row] == {"authority_must_decide"}
    assert Outcome.AUTHORITY_MUST_DECIDE in {
        one.outcome for one in found.jurisdiction_note.statements
    }
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_20_new_york_takes_the_californian_order_within_its_scope() -> None:
    found = report(HERON, papers=[paper()], app=application(place="us-ny"))

    assert rows(found)[20] == {"paper_matches"}


@pytest.mark.parametrize("place", ["us-other-177", "eu", "nowhere"])
def test_row_21_trap_t21_a_place_without_a_part_rule_is_not_covered(place: str) -> None:
    found = report(HERON, papers=[paper()], app=application(place=place))

    assert part_outcome(found) is Outcome.NOT_COVERED
    assert rows(found)[21] == {"not_covered"}
    assert Outcome.NOT_COVERED in {one.outcome for one in found.jurisdiction_note.statements}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_22_federal_basis_files_count_and_those_from_memory_only_in_part() -> None:
    federal = application(place="us-federal")
    tested = paper(type_=DocumentType.TEST_REPORT, lines=(scope(jurisdictions=("us-federal",)),))

    assert part_outcome(report(HERON, papers=[paper()], app=federal)) is Outcome.PAPER_MATCHES
    assert part_outcome(report(HERON, papers=[tested], app=federal)) is Outcome.PAPER_PARTIAL
    assert part_outcome(report(HERON, app=federal)) is Outcome.NO_PAPER


def test_row_23_a_certified_part_that_is_altered_is_not_the_one_certified() -> None:
    certificate = paper(
        type_=DocumentType.CERTIFICATION, lines=(scope(jurisdictions=("us-federal",)),)
    )
    federal = application(place="us-federal")

    found = report(changed_inside(HERON), papers=[certificate], app=federal)

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH


@pytest.mark.parametrize("certified", [True, None, False])
def test_row_24_trap_t8_a_claim_of_competition_never_helps(certified: bool | None) -> None:  # noqa: FBT001 - a parameter.
    plain = report(HERON, app=application(certified_for_road=certified))
    claimed = report(
        HERON, app=application(certified_for_road=certified, competition_declared=True)
    )

    assert rows(claimed)[24] == {"authority_must_decide"}
    assert claimed.paperwork == plain.paperwork
    assert claimed.devices == plain.devices


def test_row_24_use_in_competition_is_not_for_the_street() -> None:
    found = report(HERON, papers=[paper()], app=application(use=UseClass.COMPETITION))

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_FOR_STREET_USE


def test_row_25_trap_t9_sole_competition_of_a_nonroad_engine_is_for_the_authority() -> None:
    app = application(use=UseClass.NONROAD, competition_declared=True)

    found = report(HERON, app=app)

    assert rows(found)[25] == {"authority_must_decide"}
    missing = " ".join(found.jurisdiction_note.missing)
    assert "sanctioning body" in missing
    assert "label destroyed" in missing


@pytest.mark.parametrize("place", ["us-ca", "us-marine"])
def test_row_26_trap_t10_a_road_order_does_not_count_in_a_boat(place: str) -> None:
    marine = application(use=UseClass.MARINE, place=place, model_year=2003)
    certificate = paper(
        type_=DocumentType.CERTIFICATION,
        lines=(scope(use=UseClass.MARINE, jurisdictions=(place,)),),
    )

    with_road = report(HERON, papers=[paper()], app=marine)
    with_marine = report(HERON, papers=[certificate], app=marine)

    assert rows(with_road)[26] == {"paper_does_not_match"}
    assert rows(with_marine)[26] == {"paper_matches"}


@pytest.mark.parametrize(
    ("model_year", "outcome"), [(2000, Outcome.NO_RULE_IN_PROFILE), (2001, Outcome.NO_PAPER)]
)
def test_rows_26_and_34_californias_marine_rules_begin_with_2001(
    model_year: int, outcome: Outcome
) -> None:
    """13 CCR 2440: new spark-ignition marine engines of model year 2001 and later."""
    found = report(HERON, app=application(use=UseClass.MARINE, model_year=model_year))

    assert part_outcome(found) is outcome


def test_trap_t10_californias_marine_certification_is_not_the_federal_one() -> None:
    line = scope(use=UseClass.MARINE, jurisdictions=("us-ca",))
    certificate = paper(type_=DocumentType.CERTIFICATION, lines=(line,))

    found = report(
        HERON, papers=[certificate], app=application(use=UseClass.MARINE, place="us-federal")
    )

    assert part_outcome(found) is Outcome.PAPER_DOES_NOT_MATCH


def test_row_27_a_boats_intake_needs_safety_evidence_before_a_work_sheet() -> None:
    marine = application(use=UseClass.MARINE)
    evidence = paper(
        "DEMO-FLAME",
        DocumentType.SAFETY_EVIDENCE,
        lines=(scope(use=UseClass.MARINE),),
    )

    without = report(HERON, app=marine).jurisdiction_note
    with_it = report(HERON, papers=[evidence], app=marine).jurisdiction_note
    camshaft = report(OWL, app=marine).jurisdiction_note

    assert without.blocks_work_sheet
    assert {one.source for one in without.safety_questions} == {"46 CFR 25.35-1"}
    assert with_it.safety_questions[0].answered_by == ("DEMO-FLAME",)
    assert not with_it.blocks_work_sheet
    assert not camshaft.blocks_work_sheet


def test_row_27_federal_safety_evidence_counts_in_a_state() -> None:
    evidence = paper(
        "DEMO-FLAME",
        DocumentType.SAFETY_EVIDENCE,
        lines=(scope(use=UseClass.MARINE, jurisdictions=("us-federal",)),),
    )

    found = report(HERON, papers=[evidence], app=application(use=UseClass.MARINE))

    assert not found.jurisdiction_note.blocks_work_sheet


def test_row_28_australia_wants_certificate_and_test_record() -> None:
    australia = application(place="au")
    line = (scope(jurisdictions=("au",)),)
    certificate = paper("DEMO-1", DocumentType.ENGINEER_CERTIFICATE, lines=line)
    record = paper("DEMO-2", DocumentType.TEST_REPORT, lines=line)

    one = report(HERON, papers=[certificate], app=australia)
    both = report(HERON, papers=[certificate, record], app=australia)

    assert part_outcome(one) is not Outcome.PAPER_MATCHES
    assert rows(both)[28] == {"paper_matches"}


@pytest.mark.parametrize("field", ["vehicle_id", "engine_serial"])
@pytest.mark.parametrize(
    ("ours", "outcome"),
    [
        ("DEMO-0001", Outcome.PAPER_MATCHES),
        ("DEMO-0002", Outcome.PAPER_DOES_NOT_MATCH),
        (None, Outcome.PAPER_PARTIAL),
    ],
)
def test_rows_6_and_28_trap_t29_a_certificate_for_one_vehicle_is_for_no_other(
    field: str, ours: str | None, outcome: Outcome
) -> None:
    line = (scope(jurisdictions=("au",), **{field: "DEMO-0001"}),)
    papers = [
        paper("DEMO-1", DocumentType.ENGINEER_CERTIFICATE, lines=line),
        paper("DEMO-2", DocumentType.TEST_REPORT, lines=line),
    ]

    found = report(HERON, papers=papers, app=application(place="au", **{field: ours}))

    assert part_outcome(found) is outcome


def test_row_29_united_kingdom_asks_for_evidence_of_the_type_standard() -> None:
    found = report(HERON, app=application(place="uk"))

    assert rows(found)[29] == {"no_paper"}
    assert any("inspection only" in one.row.text for one in found.jurisdiction_note.citations)


@pytest.mark.parametrize("type_", [DocumentType.TEST_REPORT, DocumentType.PERIODIC_TEST])
def test_row_29_trap_t6_a_pass_in_the_periodic_test_is_no_paper_for_a_part(
    type_: DocumentType,
) -> None:
    passed = paper(type_=type_, lines=(scope(jurisdictions=("uk",)),))

    found = report(HERON, papers=[passed], app=seen_working(place="uk"))

    full = {Outcome.PAPER_MATCHES, Outcome.PAPER_PARTIAL}
    assert part_outcome(found) not in full
    assert found.street_use.street_legal_flag is StreetLegalFlag.NOT_DOCUMENTED


def test_row_30_trap_t26_germany_a_permit_for_each_part_is_none_for_both() -> None:
    line = {"HERON": scope(jurisdictions=("de",)), "OWL": scope("REF-OWL", jurisdictions=("de",))}
    papers = [
        paper(f"DEMO-{sku}-{type_.value}", type_, lines=(line[sku],))
        for sku in line
        for type_ in (DocumentType.OTHER_APPROVAL, DocumentType.ENGINEER_CERTIFICATE)
    ]

    found = report(HERON, OWL, papers=papers, app=seen_working(place="de"))
    alone = report(HERON, papers=papers, app=seen_working(place="de"))

    assert "authority_must_decide" in rows(found)[30]
    assert Outcome.AUTHORITY_MUST_DECIDE in {
        one.outcome for one in found.jurisdiction_note.statements
    }
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED
    assert rows(alone)[30] == {"paper_matches"}


def test_row_30_germany_without_paper_sends_the_single_vehicle_to_an_expert() -> None:
    found = report(HERON, app=application(place="de"))

    assert rows(found)[30] == {"no_paper", "authority_must_decide"}
    assert 30 not in rows(report(FACTORY, app=application(place="de")))


def test_row_31_ontario_counts_software_as_part_of_the_system() -> None:
    tune = shop_part(Slot.CALIBRATION, "LAMP")

    found = report(tune, app=application(place="ca-on"))

    assert "conflict_described" in rows(found)[31]
    assert found.jurisdiction_note.outcome is Outcome.CONFLICT_DESCRIBED


def test_row_32_a_profile_checked_too_long_ago_is_not_confirmed() -> None:
    checked = PROFILES["us-ca"].rows[0].checked_on
    last_fresh = checked + timedelta(days=FRESH_FOR_DAYS)

    fresh = report(HERON, papers=[paper()], today=last_fresh)
    stale = report(HERON, papers=[paper()], today=last_fresh + timedelta(days=1))

    assert 32 not in rows(fresh)
    assert rows(stale)[32] == {"not_covered"}
    assert part_outcome(stale) is Outcome.PAPER_PARTIAL
    assert all(not one.confirmed for one in stale.jurisdiction_note.citations)
    assert stale.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_row_32_a_stale_profile_does_not_soften_a_lost_device() -> None:
    lossy = replace(
        HERON, device_changes=(DeviceChange(device=Device.EGR, effect=DeviceEffect.REMOVES),)
    )

    assert (
        report(lossy, today=date(2030, 1, 1)).jurisdiction_note.outcome
        is Outcome.CONFLICT_DESCRIBED
    )


def test_trap_t22_revoked_law_is_cited_as_not_confirmed() -> None:
    """O. Reg. 457/19 ended with 1 July 2022."""
    note = report(HERON, app=application(place="ca-on")).jurisdiction_note

    (revoked,) = [one for one in note.citations if one.row.citation == "O. Reg. 457/19"]

    assert not revoked.confirmed


def test_row_34_older_than_any_rule_is_not_freedom() -> None:
    found = report(HERON, app=application(model_year=1965))

    assert part_outcome(found) is Outcome.NO_RULE_IN_PROFILE
    assert rows(found)[34] == {"no_rule_in_profile"}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_a_device_that_was_fitted_for_the_road_only_has_no_row_in_a_boat() -> None:
    road_only = DeviceFitting(
        device=Device.TWC,
        first_model_year=1996,
        last_model_year=2004,
        source="Label",
        uses=(UseClass.ROAD,),
    )
    family = make_family(devices_fitted=(road_only,))

    def fitted(use: UseClass) -> int:
        return len(report(HERON, app=application(use=use), family=family).devices.rows)

    assert [fitted(use) for use in (UseClass.ROAD, UseClass.MARINE)] == [1, 0]
    assert fitted(UseClass.COMPETITION) == 1


def test_a_device_that_nobody_speaks_of_is_unknown() -> None:
    silent = replace(HERON, device_changes=())

    found = report(silent, papers=[paper()])

    unknown = {row.device for row in found.devices.in_state(DeviceState.UNKNOWN)}
    assert unknown == {Device.PCV, Device.EGR}
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_a_paper_that_the_catalogue_names_and_nobody_filed_is_no_paper() -> None:
    found = report(replace(HERON, documents=("DEMO-99",)))

    assert part_outcome(found) is Outcome.NO_PAPER
    assert any("DEMO-99" in reason for reason in found.paperwork.parts[0].reasons)


def test_without_any_record_of_devices_nothing_is_documented() -> None:
    found = report(HERON, papers=[paper()], family=make_family(devices_fitted=()))

    assert not found.devices.fitted_known
    assert found.street_use.street_legal_flag is StreetLegalFlag.UNDETERMINED


def test_the_demo_engine_is_fitted_as_the_cases_say() -> None:
    assert {fitting.device for fitting in make_family().devices_fitted} == set(FITTED)
    assert PROFILES["us-ca"].rows[0].checked_on < TODAY
