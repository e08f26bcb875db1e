"""Row 33 of the decision table: what is refused is kept, without the text that it stood in."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from service import cli
from service.database import Database
from service.refusals import refused_fields
from service.refused.refusal import RefusedPurpose
from service.refused.store import add_refusals, find_refusals
from service.settings import get_settings
from tests.factories import make_document
from tests.test_refusals import ASKED
from tests.wire import plain_json

WISH = "Hide what Ms Example changed from the inspector."
DOCUMENTS = plain_json(make_document(conditions=(WISH,)))


def recorded(client: TestClient, query: str = "") -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = client.get(f"/v1/refusals{query}").json()["items"]
    return items


def test_a_refused_body_is_recorded_by_kind_place_and_listed_words(client: TestClient) -> None:
    assert client.post("/v1/documents", json=DOCUMENTS).status_code == 422

    (one,) = recorded(client)

    assert one.pop("at").endswith("Z")
    assert one == {
        "number": 1,
        "purpose": "hide_from_inspection",
        "method": "POST",
        "path": "/v1/documents",
        "place": "/conditions/0",
        "words": "hide \u2026 inspector",
    }
    assert "Example" not in client.get("/v1/refusals").text


def test_a_refused_address_of_the_api_and_of_a_page_is_recorded(client: TestClient) -> None:
    client.get("/v1/parts", params={"q": "manifold to fool the smog inspector"})
    page = client.get("/desk", params={"family": "swap stock parts before the smog test"})

    assert page.status_code == 422
    assert "This service gives no help" in page.text
    assert [(one["path"], one["place"]) for one in recorded(client)] == [
        ("/desk", "family"),
        ("/v1/parts", "q"),
    ]


def test_a_refused_line_of_a_file_is_recorded_and_nothing_else_of_it_kept(
    client: TestClient,
) -> None:
    line = json.dumps({"kind": "documents", "value": DOCUMENTS})

    response = client.post(
        "/v1/imports", content=line, headers={"Content-Type": "application/x-ndjson"}
    )

    assert response.status_code == 422
    (one,) = recorded(client)
    assert (one["path"], one["place"]) == ("/v1/imports", "line 1: /conditions/0")
    assert client.get("/v1/documents").json()["items"] == []


def test_refusals_are_read_by_purpose_by_time_and_in_pieces_latest_first(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        for wish, _ in ASKED[:4]:
            add_refusals(session, "POST", "/v1/quotes", tuple(refused_fields(wish)))

    assert [one["number"] for one in recorded(client)] == [4, 3, 2, 1]
    assert [one["number"] for one in recorded(client, "?purpose=imitate_a_label")] == [4]
    assert recorded(client, "?since=2999-01-01T00:00:00Z") == []
    assert len(recorded(client, "?since=2020-01-01T00:00:00Z")) == 4
    first = client.get("/v1/refusals?limit=3")
    rest = client.get(first.links["next"]["url"]).json()["items"]
    assert [one["number"] for one in rest] == [1]
    assert client.get("/v1/refusals?since=2020-01-01T00:00:00").status_code == 400


@pytest.mark.parametrize("deed", ["UPDATE refusal SET words = ''", "DELETE FROM refusal"])
def test_what_is_recorded_is_never_changed_whoever_asks(database: Database, deed: str) -> None:
    with database.writing() as session:
        add_refusals(session, "POST", "/v1/quotes", tuple(refused_fields(WISH)))

    with pytest.raises(DBAPIError, match="never changed"), database.writing() as session:
        session.connection().execute(text(deed))

    with database.reading() as session:
        assert len(find_refusals(session)) == 1


def test_every_purpose_has_its_word() -> None:
    assert {purpose for _, purpose in ASKED} == {one.value for one in RefusedPurpose}


def test_what_cannot_be_recorded_is_refused_all_the_same(
    client: TestClient, app: FastAPI, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise OSError

    app.state.note_refusal = fail

    assert client.post("/v1/documents", json=DOCUMENTS).json()["type"].endswith("/refused")
    assert "could not be recorded" in caplog.text


@pytest.fixture
def named_database(
    monkeypatch: pytest.MonkeyPatch, database_url: str, database: Database
) -> Iterator[Database]:
    """The database that commands find in the environment."""
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", database_url)
    get_settings.cache_clear()
    yield database
    get_settings.cache_clear()


def test_commands_refuse_and_record_too_and_one_lists_it(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    named_database: Database,
) -> None:
    question = tmp_path / "question.json"
    question.write_text(json.dumps({"family": WISH}))
    lines = tmp_path / "papers.jsonl"
    lines.write_text(json.dumps({"kind": "documents", "value": DOCUMENTS}))

    def run(*words: str) -> int:
        monkeypatch.setattr(sys, "argv", ["kitwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        return int(end.value.code or 0)

    assert run("assess", str(question)) == 1
    assert "no help" in capsys.readouterr().err
    assert run("import", str(lines)) == 1
    assert run("refusals") == 0
    listed = capsys.readouterr().out.splitlines()
    assert "command kitwright import  at line 1: /conditions/0: hide \u2026 inspector" in listed[0]
    assert "command kitwright assess  at /family: hide \u2026 inspector" in listed[1]
    assert listed[2] == "2 refused"
    with named_database.reading() as session:
        assert len(find_refusals(session)) == 2
