"""The papers that an issued quote rests on can be had as they were on its day."""

import hashlib
import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.access.rights import scopes_for
from service.database import Database
from tests.factories import make_document
from tests.quotes.made import ADDRESS, create, issue, shop
from tests.wire import plain_json

PAPER = "/v1/documents/DEMO-EO-17"
OLD, NEW = b"%PDF-1.7 as it was on the day", b"%PDF-1.7 as it came later"


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def send_copy(client: TestClient, content: bytes, version: int) -> None:
    headers = {"Content-Type": "application/pdf", "If-Match": f'"{version}"'}
    assert client.put(f"{PAPER}/file", content=content, headers=headers).status_code == 200


def test_a_copy_that_was_replaced_since_is_still_where_the_quote_says(client: TestClient) -> None:
    assert client.post("/v1/documents", json=plain_json(make_document())).status_code == 201
    send_copy(client, OLD, version=1)
    quote = issue(client, create(client))
    send_copy(client, NEW, version=2)

    (named,) = client.get(f"{ADDRESS}/{quote['id']}/revisions/1").json()["copies"]
    told = client.get(named["url"])
    page = client.get(f"/desk/quotes/{quote['id']}").text
    link = re.search(r'href="(/desk/copies/[^"]+)"', page)

    assert (named["number"], named["sha256"]) == ("DEMO-EO-17", hashlib.sha256(OLD).hexdigest())
    assert (told.content, told.headers["Content-Type"]) == (OLD, "application/pdf")
    assert link
    assert client.get(link[1]).content == OLD
    assert client.get(f"{PAPER}/file").content == NEW
    missing = client.get(f"/v1/document-copies/{'0' * 64}")
    assert (missing.status_code, client.get("/v1/document-copies/x").status_code) == (404, 422)
    assert "0" * 64 in missing.json()["detail"]
    assert scopes_for("GET", named["url"]) == scopes_for("GET", f"{PAPER}/file")
