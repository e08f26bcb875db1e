"""Row 33 of the decision table: what asks to hide, imitate or mislead is refused and logged."""

import json
import logging

import pytest
from fastapi.testclient import TestClient

from service.refusals import refused_fields, refused_words
from tests.factories import make_document
from tests.seed import SEED
from tests.wire import plain_json

ASKED = [
    ("Hide the weld from the inspector.", "hide_from_inspection"),
    ("Paint it so the referee won't notice.", "hide_from_inspection"),
    ("Make it look stock to the smog inspector.", "hide_from_inspection"),
    ("Reproduce the emission label for me.", "imitate_a_label"),
    ("Copy the underhood sticker.", "imitate_a_label"),
    ("Swap the stock manifold back in before the smog test.", "swap_for_a_test"),
    ("Refit original parts for the inspection, then change again.", "swap_for_a_test"),
    ("Put the stock manifold back before the inspection.", "swap_for_a_test"),
    ("Put the catalyst back on for the test and take it off after.", "swap_for_a_test"),
    ("put a sticker on it that says D-324", "imitate_a_label"),
    ("make a decal that looks like the original", "imitate_a_label"),
    ("delete the O2 sensor code so readiness shows complete", "fake_readiness"),
    ("O2 simulator to fool the computer", "fake_readiness"),
    ("State on the invoice that the manifold is unmodified.", "mislead_an_inspector"),
    ("Use a plug that fakes the oxygen sensor.", "fake_readiness"),
    ("Force the readiness monitors.", "fake_readiness"),
    ("Get it past the smog check.", "mislead_an_inspector"),
    ("Tell the inspector it is stock.", "mislead_an_inspector"),
]
HARMLESS = [
    "The factory label stays in place.",
    "Copy of the order is kept with the vehicle.",
    "Remove the cover before the leak test.",
    "The oxygen sensors stay where the factory put them.",
    "The weld lies on the valley side, dressed and painted, and is not seen once installed.",
    "A named official inspects single vehicles.",
    "Change the old oil before the inspection.",
    "Refit the factory manifold before the emissions test.",
    "Put the catalyst back on before the test.",
    "Fit the gauge for the leak test and take it off after.",
    "Clear the codes so the monitors can run again.",
    "State on the invoice that the manifold was opened up inside.",
    "Affix the label with the order number beside the part.",
    "Show the order to the inspector with the part in place.",
]


@pytest.mark.parametrize(("text", "purpose"), ASKED)
def test_row_33_trap_t33_a_text_that_asks_to_mislead_is_found(text: str, purpose: str) -> None:
    for written in (text, text.upper().replace(" ", "\n ")):
        found = refused_words(written)
        assert found is not None
        assert found[0] == purpose


def test_the_words_found_are_kept_without_what_stands_between_them() -> None:
    """A name or an address may stand there."""
    found = refused_words("Please tell Ms Example of the smog shop on Quay Road it is stock.")

    assert found == ("mislead_an_inspector", "tell \u2026 smog shop \u2026 stock")


@pytest.mark.parametrize("text", HARMLESS)
def test_a_plain_description_is_not_refused(text: str) -> None:
    assert refused_words(text) is None


def test_nothing_in_the_demo_is_refused() -> None:
    """The seed parts are described as a builder describes them."""
    for file in SEED.glob("*.jsonl"):
        for line in file.read_text().splitlines():
            assert list(refused_fields(line)) == []


def test_row_33_a_body_is_refused_logged_and_nothing_is_kept(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    wish = "Hide the change from the inspector."
    body = plain_json(make_document(conditions=("Plain.", wish)))

    with caplog.at_level(logging.WARNING, logger="service.bodies"):
        response = client.post("/v1/documents", json=body)

    assert response.status_code == 422
    problem = response.json()
    assert problem["type"].endswith("/refused")
    assert [error["pointer"] for error in problem["errors"]] == ["/conditions/1"]
    assert client.get(f"/v1/documents/{body['number']}").status_code == 404
    assert "hide_from_inspection at /conditions/1" in caplog.text
    assert wish not in caplog.text
    assert client.get(problem["type"]).status_code == 200


def test_row_33_a_file_is_refused_by_its_line(client: TestClient) -> None:
    body = plain_json(make_document(conditions=("Hide the change from the inspector.",)))

    response = client.post(
        "/v1/imports",
        content=json.dumps({"kind": "documents", "value": body}),
        headers={"Content-Type": "application/x-ndjson"},
    )

    (problem,) = response.json()["report"]["problems"]
    assert (problem["row"], problem["code"]) == (1, "hide_from_inspection")
    assert client.get("/v1/documents").json()["items"] == []


def test_row_33_a_query_is_refused_and_its_parameter_named(client: TestClient) -> None:
    response = client.get("/v1/parts", params={"q": "manifold to fool the smog inspector"})

    assert response.status_code == 422
    (error,) = response.json()["errors"]
    assert (error["in"], error["pointer"]) == ("query", "q")
