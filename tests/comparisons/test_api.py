"""Comparisons over HTTP, on both databases; one level torque stands in for the simulation."""

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part
from service.database import Database
from service.kits.api import Assessor
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part
from tests.kits.assembled import level_torque

ADDRESS = "/v1/comparisons"
KIT = {"family": FAMILY_KEY, "use": "road", "place": "us-ca", "model_year": 2000}
HOT_CAM = "CAM-HOT"
QUESTION: dict[str, Any] = {"a": KIT, "b": {"parts": {"camshaft": HOT_CAM}}}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family, its factory parts and one other camshaft."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in make_kit_parts().values():
            add_part(session, part)
        add_part(session, make_part(Slot.CAMSHAFT, sku=HOT_CAM))
        save_family(session, make_family(), version=1)
    with TestClient(app) as client:
        app.state.assessor = Assessor(database=app.state.database, run=level_torque)
        yield client


def pointer_of_problem(client: TestClient, question: dict[str, Any]) -> str:
    answer = client.post(ADDRESS, json=question)

    assert answer.status_code == 422
    assert answer.headers["Content-Type"] == "application/problem+json"
    (error,) = answer.json()["errors"]
    return str(error["pointer"])


def test_the_answer_names_what_changed_and_every_speed_has_a_verdict(client: TestClient) -> None:
    answer = client.post(ADDRESS, json=QUESTION)

    assert answer.status_code == 200
    body = answer.json()
    assert [(each["slot"], each["b_sku"]) for each in body["changed"]] == [("camshaft", HOT_CAM)]
    assert {each["verdict"] for each in body["speeds"]} == {"not_told_apart"}


def test_an_answer_is_kept_and_can_be_read_again_at_its_address(client: TestClient) -> None:
    given = client.post(ADDRESS, json=QUESTION)

    again = client.post(ADDRESS, json=QUESTION)
    read = client.get(given.headers["Content-Location"])

    assert given.content == again.content == read.content
    assert given.headers["ETag"] == again.headers["ETag"] == read.headers["ETag"]


def test_a_kept_answer_is_not_simulated_again(client: TestClient, app: FastAPI) -> None:
    first = client.post(ADDRESS, json=QUESTION)
    app.state.assessor = Assessor(
        database=app.state.database, run=lambda *_: pytest.fail("It was simulated again.")
    )

    assert client.post(ADDRESS, json=QUESTION).content == first.content


def test_what_the_caller_has_is_not_sent_again(client: TestClient) -> None:
    """RFC 9110, section 13.1.2."""
    given = client.post(ADDRESS, json=QUESTION)

    again = client.get(
        given.headers["Content-Location"], headers={"If-None-Match": given.headers["ETag"]}
    )

    assert again.status_code == 304


def test_a_write_to_the_catalogue_changes_the_key(client: TestClient, database: Database) -> None:
    before = client.post(ADDRESS, json=QUESTION)
    with database.writing() as session:
        add_part(session, make_part(Slot.CAMSHAFT, sku="CAM-NEW"))

    assert client.post(ADDRESS, json=QUESTION).headers["ETag"] != before.headers["ETag"]


def test_a_comparison_that_was_never_made_is_a_404(client: TestClient) -> None:
    assert client.get(f"{ADDRESS}/{'0' * 32}").status_code == 404


def test_a_wrong_part_is_named_by_the_kit_it_stands_in(client: TestClient) -> None:
    wrong = {"parts": {"camshaft": "NO-SUCH-CAM"}}

    assert pointer_of_problem(client, {**QUESTION, "b": wrong}) == "/b/parts/camshaft"
    assert pointer_of_problem(client, {**QUESTION, "a": {**KIT, **wrong}}) == "/a/parts/camshaft"


@pytest.mark.parametrize(
    ("band", "pointer"),
    [
        ({"band_low_rpm": 500.0}, "/band_low_rpm"),
        ({"band_high_rpm": 19_000.0}, "/band_high_rpm"),
        ({"band_low_rpm": 4000.0, "band_high_rpm": 3000.0}, "/band_high_rpm"),
    ],
)
def test_a_band_outside_the_speeds_compared_names_its_field(
    client: TestClient, band: dict[str, float], pointer: str
) -> None:
    assert pointer_of_problem(client, {**QUESTION, **band}) == pointer


def test_a_field_that_nobody_knows_is_named(client: TestClient) -> None:
    assert pointer_of_problem(client, {**QUESTION, "c": {}}) == "/c"
