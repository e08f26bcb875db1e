"""What papers restrict and what a question tells: a search reads it as an assessment does."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from service.catalog.devices import Device
from service.catalog.slots import Fuel, Slot
from service.compliance.documents import Document, DocumentType, EmissionCertification
from service.compliance.outcomes import Outcome, worst
from service.compliance.report import compliance_report
from service.fitup.machined import BankAsMachined, EngineAsMachined
from service.kits.kit import EngineAsItStands
from service.kits.views import application_of
from service.searches.limits import Papers, broken, limits_of
from service.searches.question import Limits, SearchRequest
from tests.compliance.cases import paper, scope
from tests.searches.test_field import FAMILY, drawn, field, papers_of

HEAVY = 3855
"""8,500 lb: the bound between light and medium duty of 13 CCR 1900 (from memory). [kg]"""


def restricted() -> tuple[Document, ...]:
    """Orders for each manifold, camshaft and pair of heads, in turn restricted in one field."""
    restrictions: list[dict[str, Any]] = [
        {"fuel": Fuel.GASOLINE},
        {"certification": EmissionCertification.CALIFORNIA},
        {"max_gross_weight_kg": HEAVY},
        {},
    ]
    named = [
        part
        for slot in (Slot.INTAKE_MANIFOLD, Slot.CAMSHAFT, Slot.CYLINDER_HEADS)
        for part in field().offer.members[slot]
    ]
    identity = [
        paper(
            f"DEMO-I-{part.sku}",
            DocumentType.IDENTITY_EVIDENCE,
            lines=(line(part.maker_reference),),
        )
        for part in field().kit.parts.values()
    ]
    orders = [
        paper(
            f"DEMO-R-{part.sku}",
            lines=(line(part.maker_reference, **restrictions[number % len(restrictions)]),),
        )
        for number, part in enumerate(named)
    ]
    return (*identity, *orders)


def line(reference: str, **changes: Any) -> Any:  # noqa: ANN401 - a scope line.
    return scope(
        reference,
        family=FAMILY,
        first_model_year=1987,
        last_model_year=1998,
        covers_internal_change=True,
        **changes,
    )


CUT = EngineAsMachined(right=BankAsMachined(head_mill_mm=0.25))


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"emission_certification": EmissionCertification.CALIFORNIA, "gross_weight_kg": HEAVY},
        {"emission_certification": EmissionCertification.FEDERAL, "gross_weight_kg": HEAVY + 1},
        {"engine": EngineAsItStands(fuel=Fuel.GASOLINE)},
        {"engine": EngineAsItStands(machined=CUT)},
    ],
    ids=["nothing told", "as restricted", "past both", "fuel", "heads cut"],
)
@pytest.mark.parametrize("least", [Outcome.PAPER_PARTIAL, Outcome.PAPER_DOES_NOT_MATCH])
def test_the_search_keeps_exactly_the_kits_whose_paperwork_says_so(
    told: dict[str, Any], least: Outcome
) -> None:
    known: dict[str, Any] = {
        "certified_for_road": True,
        "engine_swapped": False,
        "specially_constructed": False,
    }
    question = replace(field().kit.request, **known, **told)
    asked = replace(field(), kit=replace(field().kit, request=question))
    usual = papers_of()
    papers = Papers(documents=restricted(), profiles=usual.profiles, today=usual.today)
    request = SearchRequest(
        question=question, limits=Limits(paperwork_at_worst=least, devices_kept=(Device.SPARK,))
    )
    limits = limits_of(request, papers)
    bits = broken(asked, limits)
    numbers = {limit.name: np.uint64(1 << number) for number, limit in enumerate(limits)}

    for row in drawn():
        report = compliance_report(
            asked.kit_at(row).parts.values(),
            asked.kit.family,
            papers.documents,
            application_of(question),
            papers.profiles,
            papers.today,
        )
        outcome = report.paperwork.outcome
        kept = not bits[row] & numbers["paperwork_at_worst.us-ca"]
        assert kept is (outcome is least or worst((outcome, least)) is least), row
        spark = next(one for one in report.devices.rows if one.device is Device.SPARK)
        assert (not bits[row] & numbers["devices_kept.spark"]) is (spark.state.value == "kept")


def test_what_a_question_tells_changes_which_kits_are_kept() -> None:
    """So that the test above has something to tell apart."""
    usual = papers_of()
    papers = Papers(documents=restricted(), profiles=usual.profiles, today=usual.today)

    def kept(**told: Any) -> int:  # noqa: ANN401 - any field of a question.
        known: dict[str, Any] = {"certified_for_road": True, "engine_swapped": False}
        question = replace(field().kit.request, specially_constructed=False, **{**known, **told})
        limits = limits_of(
            SearchRequest(
                question=question, limits=Limits(paperwork_at_worst=Outcome.PAPER_PARTIAL)
            ),
            papers,
        )
        return int((broken(field(), limits) == 0).sum())

    right: dict[str, Any] = {
        "emission_certification": EmissionCertification.CALIFORNIA,
        "gross_weight_kg": HEAVY,
        "engine": EngineAsItStands(fuel=Fuel.GASOLINE),
    }
    assert kept(**right) >= kept() > 0
    assert kept(**{**right, "gross_weight_kg": HEAVY + 1}) < kept(**right)
    cut = EngineAsItStands(fuel=Fuel.GASOLINE, machined=CUT)
    assert kept(**{**right, "engine": cut}) < kept(**right)
