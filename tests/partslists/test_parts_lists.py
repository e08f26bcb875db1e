"""The parts list by itself, over HTTP and on the desk's page."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.catalog.store.parts import load_part, save_part
from service.database import Database
from tests.install.made import demo_shop

KIT = {"family": "orrin-4-4", "use": "road", "place": "us-ca"}
MANIFOLD = {"intake_manifold": "O44-MANIFOLD-WAGTAIL"}
ASKED = {**KIT, "model_year": "1990", **MANIFOLD}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with demo_shop(app, database) as client:
        yield client


def assessed(client: TestClient) -> str:
    question = {**KIT, "model_year": 1990, "parts": MANIFOLD}
    return str(client.post("/v1/assessments", json=question).headers["Content-Location"])


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(text.lstrip("\ufeff").splitlines()))


def test_the_list_is_that_of_its_assessment_and_not_sent_twice(client: TestClient) -> None:
    address = assessed(client)
    found = client.get(f"{address}/parts-list")

    assert found.json() == client.get(address).json()["parts_list"]
    again = client.get(f"{address}/parts-list", headers={"If-None-Match": found.headers["ETag"]})
    assert again.status_code == 304


def test_the_file_has_a_row_for_every_article_with_what_would_do_as_well(
    client: TestClient,
) -> None:
    """Orrin's intake has twelve bolts; of M8 x 45 the demo has none on the shelf."""
    address = assessed(client)
    listed: dict[str, Any] = client.get(f"{address}/parts-list").json()
    found = {row["sku"]: row for row in rows(client.get(f"{address}/parts-list.csv").text)}

    assert found.keys() == {line["sku"] for line in listed["lines"]}
    bolts = found["SHOP-BOLT-M8-45"]
    assert (bolts["count"], bolts["on_shelf"], bolts["instead"]) == (
        "12",
        "no",
        "SHOP-BOLT-M8-45-COLLAR",
    )
    assert [row["price"] for row in found.values()] == [
        line["price"]["amount"] for line in listed["lines"]
    ]


def test_a_title_that_a_spreadsheet_would_reckon_with_is_kept_from_it(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        stored = load_part(session, "O44-GASKET-FESCUE")
        save_part(session, replace(stored.value, title="=1+1"), version=stored.version)

    found = rows(client.get(f"{assessed(client)}/parts-list.csv").text)
    assert "'=1+1" in {row["title"] for row in found}


def test_what_the_shop_does_not_list_stands_first_on_the_page_and_in_its_file(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        stored = load_part(session, "O44-GASKET-FESCUE")
        other = replace(stored.value, families=("quay-5-3",))
        save_part(session, other, version=stored.version)

    page = client.get("/desk/kit", params=ASKED).text
    missing = "gaskets, orrin side twelve bolt"
    listed = page.partition("What does it take to be bolted on?")[2]
    assert listed.index("The shop does not list") < listed.index(missing)
    assert listed.index(missing) < listed.index("SHOP-BOLT-M8-45")
    assert "no; SHOP-BOLT-M8-45-COLLAR would do" in page
    file = rows(client.get("/desk/kit/parts-list.csv", params=ASKED).text)
    assert [row["title"] for row in file if row["kind"] == "missing"] == [missing]
