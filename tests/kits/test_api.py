"""Assessments over HTTP, on both databases; one level torque stands in for the simulation."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.catalog.slots import KIT_SLOTS, Fuel, Slot, UseClass
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part, save_part
from service.database import Database
from service.kits.api import Assessor
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part
from tests.kits.assembled import level_torque

ADDRESS = "/v1/assessments"
QUESTION = {"family": FAMILY_KEY, "use": "road", "place": "us-ca", "model_year": 2000}
HOT_CAM = "CAM-HOT"


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family, its factory parts and one other camshaft."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in make_kit_parts().values():
            add_part(session, part)
        add_part(session, make_part(Slot.CAMSHAFT, sku=HOT_CAM, price_cents=41_905))
        save_family(session, make_family(), version=1)
    with TestClient(app) as client:
        app.state.assessor = Assessor(database=app.state.database, run=level_torque)
        yield client


def problem(client: TestClient, **changes: Any) -> dict[str, Any]:  # noqa: ANN401 - any JSON.
    """Ask, be refused, and return the one field that was wrong."""
    answer = client.post(ADDRESS, json={**QUESTION, **changes})

    assert answer.status_code == 422
    assert answer.headers["Content-Type"] == "application/problem+json"
    (error,) = answer.json()["errors"]
    return dict(error)


def test_a_slot_not_named_takes_the_factory_part_and_says_so(client: TestClient) -> None:
    answer = client.post(ADDRESS, json={**QUESTION, "parts": {"camshaft": HOT_CAM}})

    assert answer.status_code == 200
    chosen = {line["sku"]: line["chosen"] for line in answer.json()["kit"]}
    assert len(chosen) == len(KIT_SLOTS)
    assert [sku for sku, by_caller in chosen.items() if by_caller] == [HOT_CAM]


def test_prices_are_decimal_text_and_sum_to_the_total(client: TestClient) -> None:
    """419.05 for the camshaft, by the test's own catalogue; factory parts cost nothing."""
    answer = client.post(ADDRESS, json={**QUESTION, "parts": {"camshaft": HOT_CAM}}).json()

    assert [line["price"]["amount"] for line in answer["price"]["lines"]] == ["419.05"]
    assert answer["price"]["totals"] == [{"amount": "419.05", "currency": "USD"}]


def test_the_same_question_has_the_same_bytes_and_the_same_tag(client: TestClient) -> None:
    first = client.post(ADDRESS, json=QUESTION)
    second = client.post(ADDRESS, json=QUESTION)

    assert first.content == second.content
    assert first.headers["ETag"] == second.headers["ETag"]


def test_the_same_question_in_other_words_is_the_same_question(client: TestClient) -> None:
    """Defaults written out, fields in another order."""
    first = client.post(ADDRESS, json=QUESTION)
    wordy = {"include_prices": True, **dict(reversed(QUESTION.items())), "band_share": 0.9}

    assert client.post(ADDRESS, json=wordy).headers["ETag"] == first.headers["ETag"]


def test_an_answer_can_be_read_again_at_its_address(client: TestClient) -> None:
    given = client.post(ADDRESS, json=QUESTION)

    again = client.get(given.headers["Content-Location"])

    assert again.status_code == 200
    assert again.content == given.content
    assert again.headers["ETag"] == given.headers["ETag"]


def test_an_answer_that_the_caller_has_is_not_sent_again(client: TestClient) -> None:
    """RFC 9110, section 13.1.2."""
    given = client.post(ADDRESS, json=QUESTION)

    again = client.get(
        given.headers["Content-Location"], headers={"If-None-Match": given.headers["ETag"]}
    )

    assert again.status_code == 304
    assert again.content == b""


def test_an_answer_that_was_never_given_is_a_404(client: TestClient) -> None:
    answer = client.get(f"{ADDRESS}/{'0' * 32}")

    assert answer.status_code == 404
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_a_key_of_another_form_is_refused(client: TestClient) -> None:
    assert client.get(f"{ADDRESS}/not-a-key").status_code == 422


def test_a_write_to_the_catalogue_changes_the_key(client: TestClient, database: Database) -> None:
    """The other camshaft is in neither kit: the key holds the catalogue, not the kit."""
    before = client.post(ADDRESS, json=QUESTION)
    with database.writing() as session:
        add_part(session, make_part(Slot.CAMSHAFT, sku="CAM-NEW"))

    after = client.post(ADDRESS, json=QUESTION)

    assert after.headers["ETag"] != before.headers["ETag"]
    assert (
        after.json()["provenance"]["catalog_revision"]
        > before.json()["provenance"]["catalog_revision"]
    )


def test_an_earlier_answer_stays_readable_after_the_catalogue_changed(
    client: TestClient, database: Database
) -> None:
    before = client.post(ADDRESS, json=QUESTION)
    with database.writing() as session:
        add_part(session, make_part(Slot.CAMSHAFT, sku="CAM-NEW"))

    again = client.get(before.headers["Content-Location"])

    assert again.content == before.content


def test_an_unknown_family_is_named_as_the_field_that_is_wrong(client: TestClient) -> None:
    error = problem(client, family="no-such-family")

    assert (error["pointer"], error["code"]) == ("/family", "unknown")
    assert "no-such-family" in error["detail"]


def test_an_unknown_part_is_named_with_its_slot(client: TestClient) -> None:
    error = problem(client, parts={"camshaft": "NO-SUCH-CAM"})

    assert (error["pointer"], error["code"]) == ("/parts/camshaft", "unknown")
    assert "NO-SUCH-CAM" in error["detail"]


def test_an_unknown_slot_is_a_422(client: TestClient) -> None:
    assert problem(client, parts={"turbocharger": HOT_CAM})["pointer"].startswith("/parts")


def test_a_part_in_the_wrong_slot_names_the_slot_it_goes_into(client: TestClient) -> None:
    error = problem(client, parts={"injectors": HOT_CAM})

    assert (error["pointer"], error["code"]) == ("/parts/injectors", "wrong_slot")
    assert "camshaft" in error["detail"]


@pytest.mark.parametrize("year", [1995, 2005])
def test_a_year_outside_the_family_names_the_years(client: TestClient, year: int) -> None:
    """The factory's family was built from 1996 to 2004."""
    error = problem(client, model_year=year)

    assert error["pointer"] == "/model_year"
    assert "1996" in error["detail"]
    assert "2004" in error["detail"]


def test_a_fuel_that_the_calibration_is_not_written_for_is_refused(client: TestClient) -> None:
    error = problem(client, engine={"fuel": Fuel.PROPANE.value})

    assert error["pointer"] == "/engine/fuel"
    assert "gasoline" in error["detail"]


def test_a_test_of_a_day_to_come_is_refused(client: TestClient) -> None:
    told = {"device": "egr", "result": "passed", "method": "Demo", "by_whom": "Demo"}

    error = problem(client, device_tests=[{**told, "tested_on": "2091-01-01"}])

    assert (error["pointer"], error["code"]) == ("/device_tests/0/tested_on", "yet_to_come")


@pytest.mark.parametrize(
    ("changes", "pointer", "limit"),
    [
        ({"band_share": 0.4}, "/band_share", "0.5"),
        ({"capacity_share": 0.95}, "/capacity_share", "0.9"),
        ({"weather": {"pressure_kpa": 20.0}}, "/weather/pressure_kpa", "50"),
        ({"weather": {"temperature_c": 80.0}}, "/weather/temperature_c", "60"),
        ({"engine": {"octane_aki": 30.0}}, "/engine/octane_aki", "60"),
    ],
)
def test_a_number_outside_its_limit_names_the_limit(
    client: TestClient, changes: dict[str, Any], pointer: str, limit: str
) -> None:
    error = problem(client, **changes)

    assert error["pointer"] == pointer
    assert limit in error["detail"]


def test_a_field_that_nobody_knows_is_named(client: TestClient) -> None:
    assert problem(client, colour="red")["pointer"] == "/colour"


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e999"])
def test_what_is_no_number_in_json_is_refused(client: TestClient, number: str) -> None:
    """RFC 8259, section 6: NaN and Infinity are not permitted."""
    body = (
        f'{{"family": "{FAMILY_KEY}", "use": "road", "place": "us-ca", "model_year": 2000, '
        f'"band_share": {number}}}'
    )

    answer = client.post(ADDRESS, content=body, headers={"Content-Type": "application/json"})

    assert answer.status_code in {400, 422}
    assert answer.headers["Content-Type"] == "application/problem+json"


def test_a_number_written_as_text_is_no_number(client: TestClient) -> None:
    assert problem(client, model_year="2000")["pointer"] == "/model_year"


def test_an_unknown_place_still_has_an_answer(client: TestClient) -> None:
    """No profile covers it, and the note says so."""
    answer = client.post(ADDRESS, json={**QUESTION, "place": "nowhere"})

    assert answer.status_code == 200
    assert "not_covered" in answer.text


def test_the_use_asked_for_comes_back(client: TestClient) -> None:
    answer = client.post(ADDRESS, json={**QUESTION, "use": UseClass.MARINE.value})

    assert answer.json()["request"]["use"] == "marine"


def test_a_price_that_changed_is_not_answered_from_what_was_kept(
    client: TestClient, database: Database
) -> None:
    asked = {**QUESTION, "parts": {"camshaft": HOT_CAM}}
    client.post(ADDRESS, json=asked)
    with database.writing() as session:
        dearer = replace(make_part(Slot.CAMSHAFT, sku=HOT_CAM), price_cents=50_000)
        save_part(session, dearer, version=1)

    total = client.post(ADDRESS, json=asked).json()["price"]["totals"]

    assert total == [{"amount": "500.00", "currency": "USD"}]
