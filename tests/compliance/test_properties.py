"""The five properties of the specification, over generated kits, papers and applications."""

from dataclasses import replace
from datetime import date
from random import Random
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from service.catalog.appearance import Exterior, Trait, TraitDifference
from service.catalog.devices import Device, DeviceChange, DeviceEffect
from service.catalog.flags import StreetLegalFlag
from service.catalog.parts import Part
from service.catalog.slots import Fuel, Slot, UseClass
from service.compliance.application import Application
from service.compliance.documents import (
    Document,
    DocumentStatus,
    DocumentType,
    EmissionCertification,
    IdentityPiece,
)
from service.compliance.inspections import DeviceTest, Functional
from service.compliance.jurisdictions import Mark, PaperRule, Profiles
from service.compliance.outcomes import Outcome, closing, no_better_than, statement
from service.compliance.report import ComplianceReport, part_flag
from service.wording import banned_words
from tests.compliance.cases import (
    DEMO_HASH,
    FITTED,
    PROFILES,
    TODAY,
    paper,
    report,
    scope,
    seen_working,
    shop_part,
    texts,
)
from tests.factories import make_family, make_part

SKUS = {
    Slot.INTAKE_MANIFOLD: "HERON",
    Slot.CAMSHAFT: "OWL",
    Slot.THROTTLE_BODY: "TERN",
    Slot.EXHAUST_MANIFOLD: "PLOVER",
    Slot.CALIBRATION: "LAMP",
}
PIECES = [(), *((piece,) for piece in IdentityPiece), tuple(IdentityPiece)]
FLAG_WORST_FIRST = (
    StreetLegalFlag.NOT_FOR_STREET_USE,
    StreetLegalFlag.NOT_DOCUMENTED,
    StreetLegalFlag.UNDETERMINED,
    StreetLegalFlag.DOCUMENTED,
)
REPORT = TypeAdapter(ComplianceReport)

device_changes = st.lists(
    st.builds(
        DeviceChange,
        device=st.sampled_from([*FITTED, Device.PCM]),
        effect=st.sampled_from(DeviceEffect),
    ),
    max_size=5,
).map(tuple)
exteriors = st.builds(
    Exterior,
    assessed=st.booleans(),
    differences=st.lists(
        st.builds(
            TraitDifference,
            trait=st.sampled_from(Trait),
            what=st.just("Larger"),
            seen_from=st.just("Above"),
        ),
        max_size=2,
    ).map(tuple),
    internal_change=st.none() | st.just("Opened up."),
)


@st.composite
def part_in(draw: st.DrawFn, slot: Slot) -> Part:
    if draw(st.booleans()):
        return make_part(slot, exterior=draw(exteriors))
    return shop_part(
        slot,
        SKUS[slot],
        exterior=draw(exteriors),
        device_changes=draw(device_changes),
        replacement_claim=draw(st.booleans()),
    )


@st.composite
def kits(draw: st.DrawFn, least: int = 1) -> tuple[Part, ...]:
    slots = draw(st.lists(st.sampled_from(list(SKUS)), min_size=least, max_size=4, unique=True))
    return tuple(draw(part_in(slot)) for slot in slots)


@st.composite
def papers(draw: st.DrawFn, *, together: bool = True) -> tuple[Document, ...]:
    references = st.lists(
        st.sampled_from([f"REF-{sku}" for sku in SKUS.values()]),
        min_size=1,
        max_size=3 if together else 1,
        unique=True,
    )
    return tuple(
        paper(
            f"DEMO-{number}",
            draw(st.sampled_from(DocumentType)),
            (
                scope(
                    *draw(references),
                    use=draw(st.sampled_from([UseClass.ROAD, UseClass.MARINE])),
                    jurisdictions=(draw(st.sampled_from(sorted(PROFILES))),),
                    revisions=draw(st.sampled_from([("A",), (), ("B",)])),
                    covers_internal_change=draw(st.booleans()),
                    certification=draw(st.sampled_from([None, *EmissionCertification])),
                    fuel=draw(st.sampled_from([None, Fuel.GASOLINE])),
                    max_gross_weight_kg=draw(st.sampled_from([None, 3855])),
                ),
            ),
            status=draw(st.sampled_from(DocumentStatus)),
            conditions_met=draw(st.sampled_from([True, False, None])),
            identity_pieces=draw(st.sampled_from(PIECES)),
            checked_on=draw(st.sampled_from([None, date(2026, 11, 2)])),
            file_sha256=draw(st.sampled_from([None, DEMO_HASH])),
        )
        for number in range(draw(st.integers(0, 4)))
    )


applications = st.builds(
    Application,
    family=st.just("quay-7-6"),
    model_year=st.sampled_from([1965, 1975, 2000, 2020]),
    use=st.sampled_from(UseClass),
    place=st.sampled_from([*sorted(PROFILES), "nowhere"]),
    competition_declared=st.booleans(),
    certified_for_road=st.sampled_from([True, False, None]),
    engine_swapped=st.sampled_from([True, False, None]),
    specially_constructed=st.sampled_from([True, False, None]),
    certification=st.sampled_from([None, *EmissionCertification]),
    engine_model_year=st.sampled_from([None, 1999, 2000]),
    fuel=st.sampled_from([None, *Fuel]),
    gross_weight_kg=st.sampled_from([None, 3855, 3856]),
    altered_slots=st.sampled_from([(), (), (Slot.INTAKE_MANIFOLD,), (Slot.CYLINDER_HEADS,)]),
    device_tests=st.lists(
        st.builds(
            DeviceTest,
            device=st.sampled_from(FITTED),
            result=st.sampled_from(Functional),
            method=st.just("Demo method."),
            by_whom=st.just("Demo mechanic"),
            tested_on=st.dates(date(2026, 1, 1), date(2026, 11, 20)),
            after_repair=st.booleans(),
        ),
        max_size=5,
    ).map(tuple),
    monitors_incomplete=st.sampled_from([(), ("evap",), ("egr", "evap")]),
)


@st.composite
def profile_sets(draw: st.DrawFn) -> Profiles:
    """The profiles that ship, some rows of each known worse or checked at another time."""
    days = st.sampled_from([date(2026, 1, 1), date(2026, 11, 1)])
    return {
        key: replace(
            profile,
            rows=tuple(
                replace(row, mark=draw(st.sampled_from(Mark)), checked_on=draw(days))
                if draw(st.booleans())
                else row
                for row in profile.rows
            ),
        )
        for key, profile in PROFILES.items()
    }


def no_better(after: ComplianceReport, before: ComplianceReport) -> bool:
    """Whether neither papers nor note nor flag of `after` are better than before."""
    flags = [FLAG_WORST_FIRST.index(one.street_use.street_legal_flag) for one in (after, before)]
    return (
        no_better_than(after.paperwork.outcome, before.paperwork.outcome)
        and no_better_than(after.jurisdiction_note.outcome, before.jurisdiction_note.outcome)
        and flags[0] <= flags[1]
    )


@given(
    kit=kits(),
    on_file=papers(),
    app=applications,
    looks=st.lists(exteriors, min_size=4),
    profiles=profile_sets(),
)
def test_i_another_appearance_changes_block_1_only(
    kit: tuple[Part, ...],
    on_file: tuple[Document, ...],
    app: Application,
    looks: list[Exterior],
    profiles: Profiles,
) -> None:
    other = tuple(
        replace(part, exterior=replace(look, internal_change=part.exterior.internal_change))
        for part, look in zip(kit, looks, strict=False)
    )

    before = report(*kit, papers=on_file, app=app, profiles=profiles)
    after = report(*other, papers=on_file, app=app, profiles=profiles)

    assert replace(after, appearance=before.appearance) == before


@given(kit=kits(), on_file=papers(), app=applications, profiles=profile_sets())
def test_ii_removing_a_document_never_improves_anything(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, profiles: Profiles
) -> None:
    before = report(*kit, papers=on_file, app=app, profiles=profiles)

    for gone in on_file:
        left = tuple(document for document in on_file if document is not gone)
        assert no_better(report(*kit, papers=left, app=app, profiles=profiles), before)


@given(kit=kits(least=2), on_file=papers(together=False), app=applications, profiles=profile_sets())
def test_iii_adding_a_part_never_improves_the_kit(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, profiles: Profiles
) -> None:
    """Except the part that completes a kit which one paper names as a whole (row 9)."""
    before = report(*kit[1:], papers=on_file, app=app, profiles=profiles)

    assert no_better(report(*kit, papers=on_file, app=app, profiles=profiles), before)


@given(kit=kits(), on_file=papers(), app=applications, profiles=profile_sets())
def test_iv_no_text_holds_a_banned_word(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, profiles: Profiles
) -> None:
    found = report(*kit, papers=on_file, app=app, profiles=profiles)

    for text in texts(REPORT.dump_python(found, mode="json")):
        assert banned_words(text) == (), text


@pytest.mark.parametrize("key", sorted(PROFILES))
def test_iv_no_profile_holds_a_banned_word(key: str) -> None:
    for text in texts(TypeAdapter(type(PROFILES[key])).dump_python(PROFILES[key], mode="json")):
        assert banned_words(text) == (), text


@given(
    kit=kits(),
    on_file=papers(),
    app=applications,
    unknown=st.sampled_from(["certified_for_road", "engine_swapped", "specially_constructed"]),
)
def test_v_an_unknown_about_the_vehicle_never_gives_a_match(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, unknown: str
) -> None:
    found = report(*kit, papers=on_file, app=replace(app, **{unknown: None}))  # type: ignore[arg-type] # Flags of an application.

    full = {Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN}
    assert not full & {one.outcome for one in found.paperwork.parts}
    assert found.jurisdiction_note.outcome not in full
    assert found.street_use.street_legal_flag is not StreetLegalFlag.DOCUMENTED


OF_A_PAPER: list[dict[str, Any]] = [
    {"status": DocumentStatus.UNKNOWN},
    {"conditions_met": None},
    {"checked_on": None},
    {"file_sha256": None},
]
OF_ITS_SCOPE: list[dict[str, Any]] = [
    {"revisions": ()},
    {"fuel": Fuel.GASOLINE},
    {"certification": EmissionCertification.CALIFORNIA},
    {"max_gross_weight_kg": 3855},
    {"vehicle_id": "DEMO-0001"},
    {"engine_serial": "DEMO-0001"},
]


@given(
    kit=kits(),
    type_=st.sampled_from(DocumentType),
    of_paper=st.sampled_from(OF_A_PAPER),
    of_scope=st.sampled_from(OF_ITS_SCOPE),
    which=st.booleans(),
    profiles=profile_sets(),
)
def test_v_an_unknown_about_a_paper_or_what_it_restricts_never_gives_a_match(
    kit: tuple[Part, ...],
    type_: DocumentType,
    of_paper: dict[str, Any],
    of_scope: dict[str, Any],
    profiles: Profiles,
    which: bool,  # noqa: FBT001 - a parameter.
) -> None:
    """Fuel, label and weight are not told here, so that a paper restricting them is unproven."""
    lines = tuple(scope(part.maker_reference, **({} if which else of_scope)) for part in kit)
    open_paper = paper("DEMO-OPEN", type_, lines, **(of_paper if which else {}))

    found = report(*kit, papers=[open_paper], app=seen_working(), profiles=profiles)

    full = {Outcome.PAPER_MATCHES, Outcome.IDENTITY_SHOWN}
    assert not full & {one.outcome for one in found.paperwork.parts}
    assert found.street_use.street_legal_flag is not StreetLegalFlag.DOCUMENTED


ELSEWHERE: list[dict[str, Any]] = [
    {"family": "orrin-4-4"},
    {"first_model_year": 1901, "last_model_year": 1902},
    {"use": UseClass.NONROAD},
    {"jurisdictions": ("50-state",)},
    {"revisions": ("Z",)},
    {"fuel": Fuel.PROPANE},
    {"certification": EmissionCertification.FEDERAL},
    {"max_gross_weight_kg": 1000},
    {"vehicle_id": "DEMO-0002"},
]


@st.composite
def wrong_papers(draw: st.DrawFn, kit: tuple[Part, ...], app: Application) -> Document:
    """A paper that names parts of the kit, all of them perhaps, and is wrong in scope or kind."""
    named = tuple(part.maker_reference for part in kit[: draw(st.integers(1, len(kit)))])
    if draw(st.booleans()):
        elsewhere = draw(st.sampled_from(ELSEWHERE))
        assume(app.use is not elsewhere.get("use"))
        type_ = draw(st.sampled_from(DocumentType))
        return paper("DEMO-WRONG", type_, (scope(*named, **elsewhere),))
    type_ = draw(st.sampled_from([one for one in DocumentType if not counts(one, app)]))
    here = scope(*named, use=app.use, jurisdictions=(app.place,))
    return paper("DEMO-WRONG", type_, (here,))


def rule_of(app: Application) -> PaperRule | None:
    return PROFILES[app.place].paper_rule(app.use) if app.place in PROFILES else None


def counts(type_: DocumentType, app: Application) -> bool:
    """Whether a paper of this kind can be of any use there."""
    rule = rule_of(app)
    taken = {one for group in rule.groups for one in group} | {*rule.unconfirmed} if rule else set()
    of_a_vessel = type_ is DocumentType.SAFETY_EVIDENCE and app.use is UseClass.MARINE
    return type_ in taken or type_ is DocumentType.IDENTITY_EVIDENCE or of_a_vessel


@st.composite
def own_papers(draw: st.DrawFn, kit: tuple[Part, ...], app: Application) -> tuple[Document, ...]:
    """Of each part its own papers, of every kind that is asked for: none names two."""
    rule = rule_of(app)
    return tuple(
        paper(
            f"DEMO-OWN-{part.sku}-{number}",
            draw(st.sampled_from(group)),
            (scope(part.maker_reference, use=app.use, jurisdictions=(app.place,)),),
        )
        for part in kit
        for number, group in enumerate(rule.groups if rule else ())
    )


Situation = tuple[tuple[Part, ...], tuple[Document, ...], Application, Profiles, Document]


@st.composite
def situations(draw: st.DrawFn) -> Situation:
    """Anything, or a kit that lacks nothing but, perhaps, a paper for its combination."""
    restricted = {
        "fuel": Fuel.GASOLINE,
        "certification": EmissionCertification.CALIFORNIA,
        "gross_weight_kg": 3855,
        "vehicle_id": "DEMO-0001",
    }
    if draw(st.booleans()):
        kit, app = draw(kits()), replace(draw(applications), **restricted)  # type: ignore[arg-type] # Fields of an application.
        on_file, profiles = draw(papers()), draw(profile_sets())
    else:
        slots = draw(st.lists(st.sampled_from(list(SKUS)), min_size=1, max_size=3, unique=True))
        kit = tuple(shop_part(slot, SKUS[slot]) for slot in slots)
        app = seen_working(place=draw(st.sampled_from(sorted(PROFILES))), **restricted)
        on_file, profiles = draw(own_papers(kit, app)), PROFILES
    return kit, on_file, app, profiles, draw(wrong_papers(kit, app))


@given(situation=situations())
def test_a_document_of_wrong_scope_or_kind_makes_nothing_better(situation: Situation) -> None:
    """But for the one word: paper for something else instead of none at all."""
    kit, on_file, app, profiles, wrong = situation

    before = report(*kit, papers=on_file, app=app, profiles=profiles)
    after = report(*kit, papers=(*on_file, wrong), app=app, profiles=profiles)

    flags = [one.street_use.street_legal_flag for one in (after, before)]
    assert flags[0] is flags[1]
    heads = [one.jurisdiction_note.outcome for one in (before, after)]
    for was_head, head in [heads, [before.paperwork.outcome, after.paperwork.outcome]]:
        if head is not was_head:
            assert was_head is Outcome.NO_PAPER
            assert head is Outcome.PAPER_DOES_NOT_MATCH
    for one, was in zip(after.paperwork.parts, before.paperwork.parts, strict=True):
        if one.outcome is not was.outcome:
            assert (was.outcome, one.outcome) == (
                Outcome.NO_PAPER,
                Outcome.PAPER_DOES_NOT_MATCH,
            )


@given(kit=kits(), on_file=papers(), app=applications, profiles=profile_sets())
def test_a_row_that_is_less_certain_never_gives_a_better_answer(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, profiles: Profiles
) -> None:
    unsure = {
        key: replace(profile, rows=tuple(replace(row, mark=Mark.MEMORY) for row in profile.rows))
        for key, profile in profiles.items()
    }

    after = report(*kit, papers=on_file, app=app, profiles=unsure)

    assert Outcome.PAPER_MATCHES not in {one.outcome for one in after.paperwork.parts}
    assert after.street_use.street_legal_flag is not StreetLegalFlag.DOCUMENTED


@given(kit=kits(), on_file=papers(), app=applications, order=st.randoms())
def test_the_report_does_not_depend_on_the_order_of_parts_or_papers(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application, order: Random
) -> None:
    shuffled, papers_shuffled = list(kit), list(on_file)
    order.shuffle(shuffled)
    order.shuffle(papers_shuffled)

    assert report(*shuffled, papers=papers_shuffled, app=app) == report(
        *kit, papers=on_file, app=app
    )


@given(kit=kits(), on_file=papers(), app=applications)
def test_the_first_statement_is_the_worst_and_each_says_who_decides(
    kit: tuple[Part, ...], on_file: tuple[Document, ...], app: Application
) -> None:
    note = report(*kit, papers=on_file, app=app).jurisdiction_note

    assert note.statements[0].outcome is note.outcome
    assert all(no_better_than(note.outcome, ground.outcome) for ground in note.grounds)
    for one in note.statements:
        assert one.sentence.endswith(closing(note.decided_by))
    for always in (Outcome.AUTHORITY_MUST_DECIDE, Outcome.NOT_COVERED):
        if any(ground.outcome is always for ground in note.grounds):
            assert always in {one.outcome for one in note.statements}


def test_the_report_goes_through_json_unchanged() -> None:
    found = report(shop_part(), make_part(Slot.CAMSHAFT), papers=[paper()])

    assert REPORT.validate_json(REPORT.dump_json(found)) == found


@pytest.mark.parametrize("outcome", list(Outcome))
def test_every_outcome_has_a_sentence_without_a_banned_word(outcome: Outcome) -> None:
    assert banned_words(statement(outcome, "The demo authority").sentence) == ()


@pytest.mark.parametrize(
    "text",
    [
        "This is legal.",
        "Street-legal in all states",
        "a compliant kit",
        "Approved for use",
        "it will pass",
        "smog-safe",
        "exempt",
        "stock-appearing manifold",
    ],
)
def test_the_banned_words_are_found(text: str) -> None:
    """The list stands in section 11 of the specification."""
    assert banned_words(text)


def test_a_part_without_an_application_is_never_documented() -> None:
    def flag(*on_file: Document) -> StreetLegalFlag:
        return part_flag(
            shop_part(), make_family(), on_file, None, PROFILES, TODAY
        ).street_legal_flag

    factory = part_flag(make_part(), make_family(), [], None, PROFILES, TODAY)

    assert factory.street_legal_flag is StreetLegalFlag.UNDETERMINED
    assert flag() is StreetLegalFlag.NOT_DOCUMENTED
    assert flag(paper()) is StreetLegalFlag.UNDETERMINED


def test_a_part_with_its_application_has_the_flag_of_a_kit_of_one() -> None:
    alone = part_flag(shop_part(), make_family(), [paper()], seen_working(), PROFILES, TODAY)

    assert alone.street_legal_flag is StreetLegalFlag.DOCUMENTED
    assert alone.sentence.endswith(closing(alone.decided_by))


def test_every_profile_gives_each_row_a_citation_a_mark_and_a_date() -> None:
    assert set(PROFILES) == {
        "us-federal",
        "us-ca",
        "us-ny",
        "us-other-177",
        "us-marine",
        "au",
        "uk",
        "de",
        "eu",
        "ca-on",
    }
    for profile in PROFILES.values():
        for row in profile.rows:
            assert row.citation
            assert row.text.endswith(".")
            assert row.checked_on <= TODAY
