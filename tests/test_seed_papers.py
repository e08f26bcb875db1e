"""The demo's papers: their copies, and what the file says of the kits of its story."""

import hashlib
import json
from datetime import date

import pytest
from pydantic import TypeAdapter

from service.catalog.slots import Slot
from service.compliance.profiles.store import load_profiles
from service.compliance.report import ComplianceReport, compliance_report
from service.kits.kit import AssessmentRequest
from service.kits.views import application_of
from tests.seed import SEED, documents, families, parts, stock_kit

DAY = date(2026, 11, 25)
QUESTIONS = {
    entry["name"]: entry["question"]
    for entry in map(json.loads, (SEED / "questions.jsonl").read_text().splitlines())
}


def asked(question: dict[str, object]) -> ComplianceReport:
    request = TypeAdapter(AssessmentRequest).validate_python(question)
    chosen = {Slot(slot): sku for slot, sku in request.parts.items()}
    kit = stock_kit(request.family) | chosen
    return compliance_report(
        [parts()[sku] for sku in kit.values()],
        families()[request.family],
        documents().values(),
        application_of(request),
        load_profiles(DAY),
        DAY,
    )


def test_every_digest_is_that_of_the_copy_and_every_copy_belongs_to_a_paper() -> None:
    copies = {file.stem: file.read_bytes() for file in (SEED / "copies").iterdir()}

    digests = {number: paper.file_sha256 for number, paper in documents().items()}

    found = {number: hashlib.sha256(content).hexdigest() for number, content in copies.items()}
    assert found == {number: digest for number, digest in digests.items() if digest}
    assert all(b"Demo paper: invented" in content for content in copies.values())


@pytest.mark.parametrize(
    ("name", "flag"),
    [
        ("factory kit", "undetermined"),
        ("factory outside, throat cut out", "not_documented"),
        ("factory look, cam and heads", "not_documented"),
        ("headers and mild cam", "documented"),
        ("long runners", "not_documented"),
        ("open kit, middle runners", "not_documented"),
        ("open kit, mild cam", "not_documented"),
    ],
)
def test_the_flag_of_each_kit_of_the_story(name: str, flag: str) -> None:
    assert asked(QUESTIONS[name]).street_use.street_legal_flag.value == flag


def test_the_factory_kit_lacks_nothing_but_tests_on_the_vehicle() -> None:
    """Row 12: identity is shown by specification and measurement; row 2: nothing was tested."""
    found = asked(QUESTIONS["factory kit"])

    assert {one.outcome.value for one in found.paperwork.parts} == {"identity_shown"}
    assert "not seen working" in found.street_use.sentence


def test_the_kit_with_paper_is_documented_only_with_its_tests_and_in_its_places() -> None:
    question = QUESTIONS["headers and mild cam"]

    def flag(**changes: object) -> str:
        return asked({**question, **changes}).street_use.street_legal_flag.value

    assert flag(device_tests=[]) == "undetermined"
    assert flag(place="us-ny") == "documented"
    assert flag(place="us-other-177") == "undetermined"
    assert flag(model_year=2001) == "not_documented"
    assert flag(parts={"camshaft": "Q76-CAM-BOWLINE"}) == "not_documented"
