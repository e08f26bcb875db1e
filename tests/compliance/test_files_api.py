"""Copies of papers. First bytes: ISO 32000-1, 7.5.2 and PNG third edition, 5.2."""

import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from service.cli import app as cli
from service.compliance.files import MAX_FILE_BYTES, FileRefused, FileType, document_file
from service.compliance.store import (
    add_document,
    attach_file,
    find_documents_about,
    load_document,
)
from service.database import Database
from service.revision import load_catalog_revision
from service.settings import get_settings
from tests.factories import make_document
from tests.wire import plain_json

DOCUMENT = "/v1/documents/DEMO-EO-17"
FILE = f"{DOCUMENT}/file"
PDF = b"%PDF-1.7\n%demo\n\x00\xff"
HEADERS = {"Content-Type": "application/pdf", "If-Match": '"1"'}


@pytest.fixture
def client(client: TestClient) -> TestClient:
    """A started service with one paper on file."""
    client.post("/v1/documents", json=plain_json(make_document()))
    return client


@pytest.fixture
def named_database(
    monkeypatch: pytest.MonkeyPatch, database_url: str, database: Database
) -> Iterator[Database]:
    """The database that commands find in the environment."""
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", database_url)
    get_settings.cache_clear()
    yield database
    get_settings.cache_clear()


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


def test_a_digest_sent_as_json_is_no_copy_on_file(client: TestClient) -> None:
    """Only a file that was sent here counts, and only for the paper it was sent for."""
    digest = hashlib.sha256(PDF).hexdigest()
    other = plain_json(make_document(number="DEMO-2", file_sha256=digest))
    client.post("/v1/documents", json=other)

    def counts() -> list[bool]:
        return [item["copy_on_file"] for item in client.get("/v1/documents").json()["items"]]

    assert counts() == [False, False]
    client.put(FILE, content=PDF, headers=HEADERS)
    assert counts() == [False, True]
    assert client.get("/v1/documents/DEMO-2/file").status_code == 404
    sent = client.put("/v1/documents/DEMO-2/file", content=PDF, headers=HEADERS)
    assert (sent.json()["copy_on_file"], sent.headers["ETag"]) == (True, '"2"')
    assert counts() == [True, True]


def test_another_digest_in_the_record_ends_the_copy_until_it_is_sent(client: TestClient) -> None:
    client.put(FILE, content=PDF, headers=HEADERS)
    patch = {"Content-Type": "application/merge-patch+json", "If-Match": '"2"'}

    changed = client.patch(DOCUMENT, json={"file_sha256": "0" * 64}, headers=patch)

    assert changed.json()["copy_on_file"] is False
    assert client.get(FILE).status_code == 404


def test_papers_are_judged_by_the_copies_that_were_sent(database: Database) -> None:
    """A copy that arrives is a new revision of the catalogue: kept answers are not reused."""
    copy = document_file(PDF, FileType.PDF)
    reference = make_document().scope[0].part_references[0]
    with database.writing() as session:
        add_document(session, make_document(number="DEMO-3", file_sha256=copy.sha256))
        before = find_documents_about(session, {reference}), load_catalog_revision(session)
        attach_file(session, "DEMO-3", copy, lambda version: version)
        after = find_documents_about(session, {reference}), load_catalog_revision(session)

    assert [paper.file_sha256 for paper in before[0]] == [None]
    assert [paper.file_sha256 for paper in after[0]] == [copy.sha256]
    assert after[1] > before[1]


@pytest.mark.parametrize(
    ("content", "media_type"),
    [
        (PDF, FileType.PDF),
        (b"\x89PNG\r\n\x1a\n demo", FileType.PNG),
        (b"\xff\xd8\xff demo", FileType.JPEG),
        (b"%PDF-".ljust(MAX_FILE_BYTES, b"0"), FileType.PDF),
    ],
)
def test_a_copy_of_each_type_and_of_the_largest_size_is_taken(
    content: bytes, media_type: FileType
) -> None:
    assert document_file(content, media_type).content == content


def test_a_copy_past_the_largest_size_is_refused() -> None:
    with pytest.raises(FileRefused, match=str(MAX_FILE_BYTES)):
        document_file(b"%PDF-".ljust(MAX_FILE_BYTES + 1, b"0"), FileType.PDF)


def test_the_copies_of_a_folder_are_kept_or_none(tmp_path: Path, named_database: Database) -> None:
    folder = tmp_path / "copies"
    folder.mkdir()
    with named_database.writing() as session:
        add_document(session, make_document(number="DEMO 7/12"))
    (folder / "DEMO 7%2F12.pdf").write_bytes(PDF)
    (folder / "DEMO-NONE.pdf").write_bytes(PDF)
    (folder / "notes.txt").write_bytes(PDF)

    def has_copy() -> bool:
        with named_database.reading() as session:
            return load_document(session, "DEMO 7/12").copy_on_file

    refused = CliRunner().invoke(cli, ["attach-copies", str(folder)])
    assert "DEMO-NONE" in str(refused.exception)
    assert "has to end in" in str(refused.exception)
    assert not has_copy()
    (folder / "DEMO-NONE.pdf").unlink()
    (folder / "notes.txt").unlink()
    assert CliRunner().invoke(cli, ["attach-copies", str(folder)]).output == "1 copies kept\n"
    assert has_copy()
