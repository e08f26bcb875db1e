"""A quote written, changed and issued from pages, on both databases: the API's own functions."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import update

from service.access.api import KeyRing
from service.access.keys import Scope
from service.access.store import add_access_key
from service.database import Database
from service.quotes.tables import QuoteRow
from tests.factories import FAMILY_KEY
from tests.pages.test_forms import Sent
from tests.quotes.made import HOT_CAM, shop

OWN = {"Sec-Fetch-Site": "same-origin"}
NEW = "/desk/quotes/new"
KIT = {
    "family": FAMILY_KEY,
    "model_year": "2000",
    "use": "road",
    "place": "us-ca",
    "camshaft": HOT_CAM,
}
WRITTEN = {
    **KIT,
    "customer-name": "Demo Customer",
    "customer-reference": "PO-0007",
    "valid_until": "2099-12-31",
    "by": "Demo desk",
}
Form = dict[str, str]


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def hidden(text: str, name: str, *, after: str = "") -> str:
    """Return a hidden field's value, of the form that is sent to an address ending so."""
    start = text.index(after) if after else 0
    found = re.search(rf'name="{name}" value="([^"]*)"', text[start:])
    assert found
    return unescape(found[1])


def send(client: TestClient, address: str, form: Form) -> tuple[int, str, str]:
    answer = client.post(address, data=form, headers=OWN, follow_redirects=False)
    return answer.status_code, answer.headers.get("location", ""), unescape(answer.text)


def begun(client: TestClient, **changes: str) -> str:
    key = hidden(client.get(NEW, params=KIT).text, "idempotency_key")
    status, place, text = send(client, NEW, {**WRITTEN, "idempotency_key": key, **changes})
    assert status == 303, text
    return place


def moved(client: TestClient, place: str, verb: str, **form: str) -> tuple[int, str, str]:
    """Send one of the forms of a quote's page as a person would, with its hidden fields."""
    text = client.get(place).text
    sealed = {name: hidden(text, name, after=f"/{verb}") for name in ("idempotency_key", "version")}
    return send(client, f"{place.partition('?')[0]}/{verb}", {"by": "Demo desk", **sealed, **form})


def test_a_quote_is_begun_declared_issued_and_accepted_on_pages(client: TestClient) -> None:
    place = begun(client)
    number = int(place.partition("?")[0].rsplit("/", 1)[1])
    words = client.get(f"/v1/quotes/{number}").json()["declaration_text"]

    assert moved(client, place, "declaration", name="Demo Customer", text=words)[0] == 303
    assert moved(client, place, "issue")[0] == 303
    assert moved(client, place, "accept", note="By telephone")[0] == 303

    quote = client.get(f"/v1/quotes/{number}").json()
    page = unescape(client.get(place).text)
    assert quote["state"] == "accepted"
    assert f"<strong>{quote['bill']['total']['amount']} USD</strong>" in page
    assert "By telephone" in page
    own = client.get(f"/desk/quotes/{number}/1/customer.pdf")
    api = client.get(f"/v1/quotes/{number}/revisions/1/customer.pdf")
    assert own.content == api.content
    assert own.content.startswith(b"%PDF")


def test_what_is_wrong_is_told_beside_its_field_and_all_that_was_typed_is_there(
    client: TestClient,
) -> None:
    wrong = {
        **WRITTEN,
        "valid_until": "next week",
        "customer_note": "Ring <before> noon",
        # The first line is left empty: the second has to keep its place.
        "lines-1-kind": "labour",
        "lines-1-title": "Fitting",
        "lines-1-unit_price": "cheap",
    }

    status, _, text = send(client, NEW, wrong)

    assert status == 422
    for field in ("valid_until", "lines-1-unit_price"):
        assert f'href="#{field}"' in text
        assert f'id="{field}-wrong"' in text
    for kept in ("next week", "Ring <before> noon", "Fitting", "cheap", HOT_CAM):
        assert kept in text
    # The validator's own sentences are for programs.
    assert not re.search(r"pattern|String should|Value error|Input should", text)


def test_a_discount_that_is_no_number_is_told_between_which_it_lies(client: TestClient) -> None:
    _, _, text = send(client, NEW, {**WRITTEN, "discount_percent": "much"})

    told = re.search(r'id="discount_percent-wrong">([^<]*)', text)
    assert told
    assert "from 0 to 100" in told[1]
    assert 'value="much"' in text


def test_a_form_that_is_sent_twice_begins_one_quote(client: TestClient) -> None:
    form = {**WRITTEN, "idempotency_key": "one"}

    first, second = send(client, NEW, form), send(client, NEW, form)
    other = send(client, NEW, {**form, "customer-name": "Somebody else"})

    assert (first[0], first[1]) == (second[0], second[1])
    assert other[0] == 422
    assert "Somebody else" in other[2]
    assert len(client.get("/v1/quotes").json()["items"]) == 1


def test_a_quote_that_somebody_changed_meanwhile_is_not_written_over_unseen(
    client: TestClient,
) -> None:
    place = begun(client)
    address = place.partition("?")[0]
    mine = {**WRITTEN, "version": "1", "customer_note": "Mine"}
    assert send(client, f"{address}/edit", {**mine, "customer_note": "Theirs"})[0] == 303

    status, _, text = send(client, f"{address}/edit", mine)

    assert status == 422
    assert "moved on" in text
    assert "Mine" in text
    mine["version"] = hidden(text, "version", after="/edit")
    assert send(client, f"{address}/edit", mine)[0] == 303
    assert "Mine" in client.get(place).text


@pytest.mark.parametrize(
    ("issued", "verb", "typed"),
    [
        (False, "machining", {}),
        (False, "declaration", {"name": "Demo <Customer>"}),
        (False, "issue", {"note": "Ring <back>", "override_reason": "Asked & told"}),
        (True, "accept", {"note": "By <telephone>"}),
        (True, "decline", {"note": "Too <dear>"}),
        (True, "revise", {"note": "Other <heads>"}),
    ],
)
def test_a_move_that_comes_too_late_gives_back_what_was_typed_with_it(
    client: TestClient, verb: str, typed: Form, *, issued: bool
) -> None:
    place = begun(client)
    words = client.get(place.replace("/desk", "/v1")).json()["declaration_text"]
    if issued:
        assert moved(client, place, "declaration", name="Demo Customer", text=words)[0] == 303
        assert moved(client, place, "issue")[0] == 303

    late = {**typed, "by": "Demo <desk>", "version": "99", "text": words}
    status, _, text = moved(client, place, verb, **late)

    assert status == 422
    assert all(f'value="{one}"' in text for one in (*typed.values(), "Demo <desk>"))


def test_every_line_of_the_content_survives_being_edited_on_a_page(client: TestClient) -> None:
    line = {
        "lines-0-kind": "labour",
        "lines-0-title": "Fitting",
        "lines-0-quantity": "2.5",
        "lines-0-unit_price": "95.00",
        "lines-0-discount_percent": "10",
        "lines-0-unit_cost": "40.00",
    }
    place = begun(client, **line)
    number = place.partition("?")[0].rsplit("/", 1)[1]
    before = client.get(f"/v1/quotes/{number}").json()["content"]
    text = client.get(place).text
    form = text[text.index("/edit") : text.index("/declaration")]
    fields = dict(re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', form))
    fields |= {"lines-0-kind": "labour", "by": "Demo desk"}

    assert send(client, f"/desk/quotes/{number}/edit", fields)[0] == 303

    assert client.get(f"/v1/quotes/{number}").json()["content"] == before


def test_machining_that_the_fit_check_asks_for_is_taken_in_on_the_page(
    client: TestClient,
) -> None:
    """The made kit has findings; one of them is priced as work."""
    place = begun(client)
    number = place.partition("?")[0].rsplit("/", 1)[1]
    question = client.get(f"/v1/quotes/{number}").json()["content"]["question"]
    code = client.post("/v1/assessments", json=question).json()["fit"][0]["code"]
    price = {"from_quantity": 1, "unit_price": {"amount": "180.00", "currency": "USD"}}
    item = {"item": code, "title": "Demo milling", "breaks": [price]}
    prices = {"key": "work", "title": "Work", "valid_from": "2020-01-01", "items": [item]}
    assert client.put("/v1/price-lists/work", json=prices).status_code == 200
    written = {name: text for name, text in WRITTEN.items() if name not in ("place", "by")}
    assert moved(client, place, "edit", **written, price_list="work")[0] == 303

    assert moved(client, place, "machining")[0] == 303
    unknown = {"by": "Demo desk", "version": "3", "idempotency_key": "demo"}
    assert send(client, f"/desk/quotes/{number}/no-such-move", unknown)[0] == 404

    content = client.get(f"/v1/quotes/{number}").json()["content"]
    assert [line["finding"] for line in content["lines"]] == [code]
    assert "Demo milling" in client.get(place).text


def test_quotes_are_found_by_what_the_customer_calls_them(client: TestClient) -> None:
    begun(client)
    begun(client, **{"customer-reference": "PO-0008"})

    found = unescape(client.get("/desk/quotes", params={"reference": "PO-0008"}).text)

    assert "PO-0008" in found
    assert "PO-0007" not in found
    assert "No quote answers" in client.get("/desk/quotes", params={"reference": "none"}).text


def test_a_form_of_another_site_and_one_that_asks_to_mislead_write_nothing(
    client: TestClient,
) -> None:
    other = client.post(NEW, data=WRITTEN, headers={"Sec-Fetch-Site": "cross-site"})
    asked = {**WRITTEN, "shop_note": "Put the stock manifold back before the inspection."}
    refused = send(client, NEW, asked)

    assert other.status_code == 403
    assert refused[0] == 422
    assert client.get("/v1/quotes").json()["items"] == []


def test_a_quote_written_after_the_login_ran_out_is_begun_once_it_is_sent_again(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        key = add_access_key(session, "demo-desk", [Scope.DESK])
    client.app.state.key_ring = KeyRing(database)  # type: ignore[attr-defined] # FastAPI's.

    late = send(client, NEW, {**WRITTEN, "customer_note": "Ring <back>"})
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', late[2]))
    entered = send(client, "/login", {**fields, "key": key})
    kept = Sent(entered[2]).data
    status, place, _ = send(client, NEW, {name: texts[0] for name, texts in kept.items()})

    assert (late[0], entered[0], status) == (401, 200, 303)
    assert "Ring &lt;back>" in client.get(place).text.replace("&gt;", ">")


def test_a_quote_is_duplicated_and_its_revisions_are_compared_on_its_page(
    client: TestClient,
) -> None:
    place = begun(client)
    number = int(place.partition("?")[0].rsplit("/", 1)[1])
    words = client.get(f"/v1/quotes/{number}").json()["declaration_text"]
    assert moved(client, place, "declaration", name="Demo Customer", text=words)[0] == 303
    assert moved(client, place, "issue")[0] == 303
    assert moved(client, place, "revise")[0] == 303
    change = {key: text for key, text in WRITTEN.items() if key not in KIT}
    assert moved(client, place, "edit", **change, discount_percent="10")[0] == 303
    assert moved(client, place, "issue")[0] == 303

    link = re.search(r'href="([^"]*changed=2[^"]*)"', client.get(place).text)
    assert link
    page = unescape(client.get(unescape(link[1])).text)
    told = client.get(f"/v1/quotes/{number}/revisions/2/differences").json()
    assert len(told) > 1
    assert all(f"<li>{each['sentence']}</li>" in page for each in told)

    wrong = {"valid_until-duplicate": "soon", "customer_reference-duplicate": "PO-8"}
    status, _, text = moved(client, place, "duplicate", **wrong)
    assert status == 422
    assert 'id="valid_until-duplicate-wrong"' in text
    right = {**wrong, "valid_until-duplicate": "2099-11-30"}
    status, copy, _ = moved(client, place, "duplicate", **right)
    made = client.get(copy.replace("/desk", "/v1").partition("?")[0]).json()
    assert (status, made["state"], made["content"]["valid_until"]) == (303, "draft", "2099-11-30")
    assert made["content"]["customer"]["reference"] == "PO-8"
    assert made["id"] != number


def test_quotes_are_searched_by_day_and_by_a_piece_of_a_name_on_the_page(
    client: TestClient, app: FastAPI, database: Database
) -> None:
    """Half past eleven at night in UTC is half past noon of the next day in Auckland (UTC+13)."""
    begun(client)
    with database.writing() as session:
        session.exec(update(QuoteRow).values(created_at=datetime(2026, 3, 1, 23, 30, tzinfo=UTC)))
    zone = {"time_zone": "Pacific/Auckland"}
    app.state.settings = app.state.settings.model_copy(update=zone)

    def found(**asked: str) -> tuple[bool, int]:
        page = client.get("/desk/quotes", params=asked)
        sheet = client.get("/desk/quotes/export.csv", params=asked)
        return "PO-0007" in page.text, len(sheet.text.splitlines()) - 1

    assert found(created_from="2026-03-02", created_to="2026-03-02") == (True, 1)
    assert found(created_from="2026-03-03") == found(created_to="2026-03-01") == (False, 0)
    assert found(name="CUSTOM", reference="po-00") == (True, 1)
    assert found(name="nobody") == (False, 0)
    wrong = client.get("/desk/quotes", params={"created_from": "yesterday"})
    assert wrong.status_code == 422
    assert 'id="created_from-wrong"' in wrong.text
    assert 'value="yesterday"' in wrong.text
