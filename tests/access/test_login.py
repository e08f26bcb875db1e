"""The way in for people: nothing that was typed is lost, and no other site gets in."""

import re
from collections.abc import Iterator
from html import unescape

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.access.keys import Scope
from service.access.store import add_access_key
from service.database import Database
from tests.pages.test_forms import Sent

WANTED = "/desk?family=orrin-4-4&model_year=ninety&budget=1500&units=si"
OWN = {"Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def key(database: Database) -> str:
    with database.writing() as session:
        return add_access_key(session, "demo-desk", [Scope.DESK])


@pytest.fixture
def client(app: FastAPI, key: str) -> Iterator[TestClient]:
    del key
    with TestClient(app, follow_redirects=False) as client:
        yield client


def fields(page: str) -> dict[str, str]:
    found = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page)
    return {name: unescape(value) for name, value in found}


def test_a_page_that_was_asked_for_comes_again_after_the_login(
    client: TestClient, key: str
) -> None:
    turned = client.get(WANTED)
    asked = client.get(turned.headers["Location"])
    entered = client.post("/login", data={**fields(asked.text), "key": key}, headers=OWN)

    assert (turned.status_code, asked.status_code, entered.status_code) == (303, 200, 303)
    assert entered.headers["Location"] == WANTED
    cookie = entered.headers["Set-Cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    again = client.get(WANTED)
    assert again.status_code == 422
    assert 'value="ninety"' in again.text


def test_a_form_that_was_sent_too_late_waits_for_the_login(client: TestClient, key: str) -> None:
    written = {"note": "Ring back <after> five & ask", "by": "Demo desk"}

    late = client.post("/desk/notes?of=7", data=written, headers=OWN)
    wrong = client.post("/login", data={**fields(late.text), "key": "kw_wrong"}, headers=OWN)
    entered = client.post("/login", data={**fields(wrong.text), "key": key}, headers=OWN)

    assert (late.status_code, wrong.status_code, entered.status_code) == (401, 401, 200)
    assert Sent(entered.text).data == {name: [text] for name, text in written.items()}
    assert 'action="/desk/notes?of=7"' in entered.text


def test_lines_typed_for_an_import_and_ticks_of_one_name_wait_for_the_login_too(
    client: TestClient, key: str
) -> None:
    """HTML, section 4.10.22: multipart/form-data, and one name for several ticks."""
    typed = {"lines": "sku,title\r\nNEW-1,One", "kind": "parts", "uses": ["road", "marine"]}
    chosen = {"file": ("parts.csv", b"sku", "text/csv")}

    late = client.post("/shop/import?units=si", data=typed, files=chosen, headers=OWN)
    entered = client.post("/login", data={**fields(late.text), "key": key}, headers=OWN)

    kept = Sent(entered.text).data
    assert (late.status_code, entered.status_code) == (401, 200)
    assert kept == {"lines": [typed["lines"]], "kind": ["parts"], "uses": typed["uses"]}
    assert 'action="/shop/import?units=si"' in entered.text


def test_a_stranger_cannot_have_more_kept_than_a_request_may_hold(
    client: TestClient, app: FastAPI
) -> None:
    long = "x" * (app.state.settings.max_body_bytes + 1)

    late = client.post("/desk/notes", data={"note": long}, headers=OWN)

    assert late.status_code == 401
    assert fields(late.text)["kept"] == ""


def test_a_part_of_a_page_that_is_asked_for_too_late_leads_to_the_login_and_back(
    client: TestClient,
) -> None:
    """htmx follows HX-Redirect with the whole page (its reference of headers)."""
    here = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{WANTED}"}

    turned = client.get("/desk/kit?family=x", headers=here)

    assert turned.status_code == 401
    asked = client.get(turned.headers["HX-Redirect"])
    assert fields(asked.text)["to"] == WANTED


@pytest.mark.parametrize("to", ["https://example.org/", "//example.org", "/\\example.org", "x"])
def test_the_way_in_leads_to_no_other_site(client: TestClient, key: str, to: str) -> None:
    """RFC 2606: example.org is nobody's."""
    entered = client.post("/login", data={"key": key, "to": to}, headers=OWN)

    assert entered.headers["Location"] == "/desk"


def test_a_login_that_another_site_sends_is_refused(client: TestClient, key: str) -> None:
    """Fetch Metadata: Sec-Fetch-Site."""
    entered = client.post("/login", data={"key": key}, headers={"Sec-Fetch-Site": "cross-site"})

    assert entered.status_code == 403
    assert "Set-Cookie" not in entered.headers


def test_the_cookie_of_pages_opens_no_address_of_the_api(client: TestClient, key: str) -> None:
    client.post("/login", data={"key": key}, headers=OWN)

    assert client.get("/desk").status_code == 200
    assert client.get("/v1/quotes").status_code == 401


def test_a_browser_forgets_its_key_when_told_to(client: TestClient, key: str) -> None:
    client.post("/login", data={"key": key}, headers=OWN)
    assert client.get("/desk").status_code == 200

    assert client.post("/login/end", headers=OWN).status_code == 303

    assert client.get("/desk").status_code == 303


def test_a_key_for_something_else_is_told_so(client: TestClient, database: Database) -> None:
    with database.writing() as session:
        other = add_access_key(session, "demo-window", [Scope.STOREFRONT])
    client.post("/login", data={"key": other}, headers=OWN)

    turned = client.get("/desk")

    assert turned.status_code == 403
    assert "demo-window" in turned.text
