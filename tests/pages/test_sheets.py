"""Work sheets at the desk: made, filled in and flagged on pages without a script."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from service.database import Database
from tests.install.made import demo_shop

OWN = {"Sec-Fetch-Site": "same-origin"}
NEW = "/desk/sheets/new"
KIT = {
    "family": "orrin-4-4",
    "use": "road",
    "place": "us-ca",
    "model_year": "1990",
    "intake_manifold": "O44-MANIFOLD-WAGTAIL",
}
BOAT = {
    "family": "quay-7-6",
    "use": "marine",
    "place": "us-marine",
    "model_year": "2003",
    "intake_manifold": "Q76-MANIFOLD-BITTERN",
}
Form = dict[str, str]


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with demo_shop(app, database) as client:
        yield client


def send(client: TestClient, address: str, form: Form) -> Response:
    return client.post(address, data=form, headers=OWN, follow_redirects=False)


def hidden(page: Response) -> Form:
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page.text)
    return {name: unescape(value) for name, value in fields}


def field_of(page: str, check: str, place: str) -> str:
    """The name of the field of a place of a check, found by its labels as a reader finds it."""
    part = page.split(f"<legend>{check}</legend>")[1].split("</fieldset>", maxsplit=1)[0]
    name = re.search(rf'<label for="(reading-[0-9-]+)">{place}</label>', part)
    assert name is not None
    return name[1]


def test_a_sheet_is_made_from_the_page_of_a_kit_once_and_filled_in(client: TestClient) -> None:
    kit = client.get("/desk/kit", params=KIT)
    link = re.search(r'href="(/desk/sheets/new[^"]+)">Make the work sheet', kit.text)
    assert link is not None
    asked = client.get(unescape(link[1]))
    form = {**hidden(asked), "by": "Demo desk"}
    made, again = send(client, NEW, form), send(client, NEW, form)
    here = made.headers["Location"]
    assert again.headers["Location"] == here

    page = client.get(here)
    assert "Tightening: intake manifold" in page.text
    assert "lbf·ft" in page.text
    # .040 in between coils: the limits are .050 and .060 in (row V5, common practice).
    coils = field_of(page.text, "Valve spring, left to coil bind at full lift", "Cylinder 1")
    unit = f"unit-{coils.split('-')[1]}"
    typed = {**hidden(page), coils: "0.040", unit: "in", "by": "Demo fitter"}
    told = send(client, f"{here.partition('?')[0]}/readings", typed)

    assert told.status_code == 303
    page = client.get(told.headers["Location"])
    assert "0.04 in: OUT OF RANGE, stop; Demo fitter" in page.text
    alarm = page.text.split("Out of range: stop")[1].split("</div>")[0]
    assert "Valve spring, left to coil bind at full lift" in alarm
    kept = client.get("/v1/work-sheets/1/readings").json()["readings"]
    assert [(one["place"], one["value"], one["unit"]) for one in kept] == [
        ("cylinder 1", 0.04, "in")
    ]
    assert "Work sheet 1" in client.get("/desk/sheets").text


@pytest.mark.parametrize(
    "text", ["12 lbf·ft, 120 lbf·in", "12 ft-lb / 120 in-lbs", "120 in lb (12 lb ft)"]
)
def test_a_torque_that_the_caller_was_told_is_said_at_its_joint(
    client: TestClient, text: str
) -> None:
    """Common practice quotes the two as if equal: a foot has twelve inches, so that it is 144."""
    told = {**KIT, "torque_intake_manifold": text}
    kit = client.get("/desk/kit", params=told)
    assert "144 lbf·in" in kit.text

    page = client.get(send(client, NEW, {**told, "by": "Demo desk"}).headers["Location"]).text

    joint = page.split("Tightening: intake manifold</h2>")[1].split("</section>")[0]
    assert "16.3 N·m (12.0 lbf·ft, 144 lbf·in) beside 13.6 N·m (10.0 lbf·ft, 120 lbf·in)" in joint
    wrong = client.get("/desk/kit", params={**told, "torque_intake_manifold": "12 spoons"})
    assert wrong.status_code == 422
    assert "12 spoons" in unescape(wrong.text)


def test_a_reading_that_is_no_number_comes_back_as_it_was_typed(client: TestClient) -> None:
    here = send(client, NEW, {**KIT, "by": "Demo desk"}).headers["Location"].partition("?")[0]
    page = client.get(here)
    hood = field_of(page.text, "Highest point to hood, cover or deck above", "Found")
    edge = field_of(page.text, "Edge of each valve to its pocket", "Cylinder 2")
    typed = {**hidden(page), hood: "plenty", edge: "0.060", "by": "Demo fitter"}

    told = send(client, f"{here}/readings", typed)

    assert told.status_code == 422
    assert f'id="{hood}-wrong"' in told.text
    assert 'value="plenty"' in told.text
    assert 'value="0.060"' in told.text
    assert client.get("/v1/work-sheets/1/readings").json()["readings"] == []


def test_a_vessel_is_asked_about_fire_and_gets_no_sheet_while_that_is_open(
    client: TestClient,
) -> None:
    """46 CFR 25.35-1: a road intake on a boat asks for flame control again."""
    asked = client.get(NEW, params=BOAT)
    assert "Which backfire flame control" in asked.text
    assert "46 CFR 25.35-1" in asked.text

    told = send(client, NEW, {**BOAT, "by": "Demo desk"})

    assert told.status_code == 422
    assert client.get("/v1/work-sheets").json()["items"] == []


EVIDENCE = {
    **BOAT,
    "sku": "Q76-MANIFOLD-BITTERN",
    "number": "DEMO-MS-0999",
    "issuer": "Demo issuer",
    "issued_on": "2026-01-15",
    "shows": "Demo: arrester marked to SAE J-1928, flame-tight on this flange.",
    "checked_by": "Demo fitter",
    "covers_internal_change": "yes",
}
COPY = ("demo.pdf", b"%PDF-1.7 demo", "application/pdf")


def test_the_sheet_of_a_vessel_is_made_once_its_questions_are_answered_on_the_page(
    client: TestClient,
) -> None:
    """46 CFR 25.35-1: acceptable are arresters marked to SAE J-1928 or UL 1111."""
    address = "/shop/safety-evidence"
    bare = client.post(address, data=EVIDENCE, headers=OWN, follow_redirects=False)
    assert bare.status_code == 422
    assert 'id="copy-wrong"' in bare.text
    assert 'value="DEMO-MS-0999"' in bare.text
    silent = client.post(address, data={**EVIDENCE, "shows": ""}, files={"copy": COPY}, headers=OWN)
    assert 'id="shows-wrong"' in silent.text

    filed = client.post(
        address, data=EVIDENCE, files={"copy": COPY}, headers=OWN, follow_redirects=False
    )

    assert filed.status_code == 303, filed.text
    asked = client.get(filed.headers["Location"])
    assert "Answered by DEMO-MS-0999" in asked.text
    made = send(client, NEW, {**BOAT, "by": "Demo desk"})
    assert made.status_code == 303, made.text
    sheet = client.get("/v1/work-sheets/1").json()["sheet"]
    assert any("DEMO-MS-0999" in line for line in sheet["safety_questions"])
    assert client.get("/v1/documents/DEMO-MS-0999").json()["checked_by"] == "Demo fitter"
