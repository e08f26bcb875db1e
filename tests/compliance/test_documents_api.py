from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.factories import make_document
from tests.wire import plain_json

DOCUMENT = "/v1/documents/DEMO-EO-17"
PATCH = {"Content-Type": "application/merge-patch+json", "If-Match": '"1"'}


def test_a_document_is_read_back_as_it_was_sent(client: TestClient) -> None:
    body = plain_json(make_document())

    created = client.post("/v1/documents", json=body)

    assert created.status_code == 201
    assert created.headers["Location"] == DOCUMENT
    read = client.get(DOCUMENT)
    assert body.items() <= read.json().items()
    held = {"If-None-Match": read.headers["ETag"]}
    assert client.get(DOCUMENT, headers=held).status_code == 304


@pytest.mark.parametrize("number", ["DEMO 7/12", "DEMO-Ö 1", "DEMO?a#b"])
def test_a_number_is_found_as_it_is_printed(client: TestClient, number: str) -> None:
    created = client.post("/v1/documents", json=plain_json(make_document(number=number)))

    assert client.get(created.headers["Location"]).json()["number"] == number


def test_a_second_document_with_the_same_number_is_a_409(client: TestClient) -> None:
    body = plain_json(make_document())
    client.post("/v1/documents", json=body)

    assert client.post("/v1/documents", json=body).status_code == 409


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"issued_on": "2091-01-01"}, "/issued_on", "yet_to_come"),
        ({"checked_on": "2091-01-01"}, "/checked_on", "yet_to_come"),
        ({"issued_on": 20190502}, "/issued_on", "value_error"),
        ({"issued_on": "1556755200"}, "/issued_on", "value_error"),
        ({"issued_on": "2019-02-30"}, "/issued_on", "date_from_datetime_parsing"),
        ({"file_sha256": "A" * 64}, "/file_sha256", "string_pattern_mismatch"),
        ({"conditions_met": "yes"}, "/conditions_met", "bool_type"),
        ({"verdict": "fine"}, "/verdict", "unknown_field"),
        ({"superseded_by": "DEMO-EO-17"}, "/superseded_by", "own_successor"),
    ],
)
def test_a_value_outside_its_limits_is_a_422_that_points_at_it(
    client: TestClient, change: dict[str, Any], pointer: str, code: str
) -> None:
    response = client.post("/v1/documents", json={**plain_json(make_document()), **change})

    assert response.status_code == 422
    assert [(e["pointer"], e["code"]) for e in response.json()["errors"]] == [(pointer, code)]


def test_the_years_of_a_scope_line_go_forward(client: TestClient) -> None:
    body = plain_json(make_document())
    body["scope"][0]["last_model_year"] = 1990

    response = client.post("/v1/documents", json=body)

    assert [e["pointer"] for e in response.json()["errors"]] == ["/scope/0/last_model_year"]


def test_a_change_needs_the_current_version(client: TestClient) -> None:
    client.post("/v1/documents", json=plain_json(make_document()))
    media_type = {"Content-Type": "application/merge-patch+json"}

    missing = client.patch(DOCUMENT, json={"status": "withdrawn"}, headers=media_type)
    changed = client.patch(DOCUMENT, json={"status": "withdrawn"}, headers=PATCH)
    stale = client.patch(DOCUMENT, json={"status": "in_force"}, headers=PATCH)

    assert [missing.status_code, changed.status_code, stale.status_code] == [428, 200, 412]
    assert client.get(DOCUMENT).json()["status"] == "withdrawn"


def test_null_says_that_nobody_checked_any_more(client: TestClient) -> None:
    client.post("/v1/documents", json=plain_json(make_document()))

    changed = client.patch(DOCUMENT, json={"checked_by": None, "checked_on": None}, headers=PATCH)

    assert (changed.json()["checked_by"], changed.json()["checked_on"]) == (None, None)


def test_the_number_of_a_document_is_fixed(client: TestClient) -> None:
    client.post("/v1/documents", json=plain_json(make_document()))

    response = client.patch(DOCUMENT, json={"number": "DEMO-2"}, headers=PATCH)

    assert [e["code"] for e in response.json()["errors"]] == ["fixed"]


def test_documents_are_listed_by_reference_by_status_and_in_pieces(client: TestClient) -> None:
    for number, status in (("DEMO-1", "in_force"), ("DEMO-2", "withdrawn"), ("DEMO-3", "unknown")):
        body = {**plain_json(make_document(number=number)), "status": status}
        client.post("/v1/documents", json=body)
    reference = make_document().scope[0].part_references[0]

    def numbers(query: str) -> list[str]:
        items = client.get(f"/v1/documents?{query}").json()["items"]
        return [item["number"] for item in items]

    assert numbers(f"part_reference={reference}") == ["DEMO-1", "DEMO-2", "DEMO-3"]
    assert numbers("part_reference=REF-OTHER") == []
    assert numbers("status=withdrawn") == ["DEMO-2"]
    first = client.get("/v1/documents?limit=2")
    assert numbers("limit=2") == ["DEMO-1", "DEMO-2"]
    assert [d["number"] for d in client.get(first.links["next"]["url"]).json()["items"]] == [
        "DEMO-3"
    ]
