"""Copies of papers. First bytes: ISO 32000-1, 7.5.2 and PNG third edition, 5.2."""

import hashlib

import pytest
from fastapi.testclient import TestClient

from service.compliance.files import MAX_FILE_BYTES
from tests.factories import make_document
from tests.wire import plain_json

DOCUMENT = "/v1/documents/DEMO-EO-17"
FILE = f"{DOCUMENT}/file"
PDF = b"%PDF-1.7\n%demo\n\x00\xff"
HEADERS = {"Content-Type": "application/pdf", "If-Match": '"1"'}


@pytest.fixture(autouse=True)
def _on_file(client: TestClient) -> None:
    client.post("/v1/documents", json=plain_json(make_document()))


def test_a_copy_comes_back_byte_by_byte_under_its_digest(client: TestClient) -> None:
    digest = hashlib.sha256(PDF).hexdigest()

    sent = client.put(FILE, content=PDF, headers=HEADERS)
    read = client.get(FILE)

    assert sent.status_code == 200, sent.text
    assert (sent.json()["file_sha256"], sent.headers["ETag"]) == (digest, '"2"')
    assert read.content == PDF
    assert read.headers["Content-Type"] == "application/pdf"
    assert read.headers["ETag"] == f'"{digest}"'
    assert client.get(FILE, headers={"If-None-Match": f'"{digest}"'}).status_code == 304


def test_the_same_copy_is_sent_twice(client: TestClient) -> None:
    client.put(FILE, content=PDF, headers=HEADERS)

    again = client.put(FILE, content=PDF, headers={**HEADERS, "If-Match": '"2"'})

    assert again.status_code == 200


@pytest.mark.parametrize(
    ("content", "headers", "status"),
    [
        (PDF, {"Content-Type": "text/html"}, 415),
        (PDF, {"Content-Type": "image/png"}, 422),
        (b"", {}, 422),
        (b"%PDF-" + b"0" * MAX_FILE_BYTES, {}, 413),
        (PDF, {"If-Match": '"7"'}, 412),
        (PDF, {"If-Match": ""}, 428),
    ],
)
def test_another_body_is_refused_and_nothing_is_kept(
    client: TestClient, content: bytes, headers: dict[str, str], status: int
) -> None:
    response = client.put(FILE, content=content, headers={**HEADERS, **headers})

    assert response.status_code == status, response.text
    assert client.get(FILE).status_code == 404


def test_a_number_cannot_end_like_the_address_of_a_copy(client: TestClient) -> None:
    body = plain_json(make_document(number="DEMO/file"))

    response = client.post("/v1/documents", json=body)

    assert response.json()["errors"][0]["pointer"] == "/number"
