"""Prices that change or end under a quote, on both databases."""

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import delete

from service.database import Database
from service.quotes.tables import TaxRuleRow
from tests.quotes.made import ADDRESS, HOT_CAM, Json, create, declare, issue, move, shop
from tests.quotes.test_exports import rows
from tests.quotes.test_honesty import TAX, frozen, paper

PRICES = "/v1/price-lists/demo"


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def put_list(client: TestClient, amount: str = "400.00", **changes: Any) -> None:  # noqa: ANN401
    currency = changes.get("currency", "USD")
    money = {"amount": amount, "currency": currency}
    cost = {"amount": "300.00", "currency": currency}
    entry = {
        "item": HOT_CAM,
        "breaks": [{"from_quantity": 1, "unit_price": money}],
        "unit_cost": cost,
    }
    kept = client.get(PRICES)
    headers = {"If-Match": kept.headers["ETag"]} if kept.status_code == 200 else {}
    plain = {"key": "demo", "title": "Demo", "valid_from": "2026-01-01", "items": [entry]}
    answer = client.put(PRICES, json={**plain, **changes}, headers=headers)
    assert answer.status_code == 200, answer.text


def patched(client: TestClient, quote: Json, status: int = 200, **content: Any) -> Json:  # noqa: ANN401
    headers = {
        "If-Match": f'"{quote["version"]}"',
        "Content-Type": "application/merge-patch+json",
    }
    body = {"by": "Demo desk", "content": content} if content else {"by": "Demo desk"}
    answer = client.patch(f"{ADDRESS}/{quote['id']}", json=body, headers=headers)
    assert answer.status_code == status, answer.text
    return dict(answer.json())


def read(client: TestClient, number: int) -> Json:
    answer = client.get(f"{ADDRESS}/{number}")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def totals(client: TestClient, number: int) -> set[str]:
    """Return the total of a quote in every output of it, and what its lines come to there."""
    page = client.get(f"/desk/quotes/{number}").text
    desk_list = unescape(client.get("/desk/quotes").text)
    row = desk_list[desk_list.index(f">Quote {number}<") :]
    said = re.search(r'data-head="Total">([0-9.]+) USD', row)
    in_full = re.search(r"<strong>([0-9.]+) USD</strong>", page)
    assert said is not None
    assert in_full is not None
    (listed,) = [one for one in client.get(ADDRESS).json()["items"] if one["id"] == number]
    everything = rows(client.get(f"{ADDRESS}/export.csv"))
    (exported,) = [one for one in everything if one["quote"] == str(number)]
    *_, last = rows(client.get(f"{ADDRESS}/{number}/export.xlsx"))
    return {
        said[1],
        in_full[1],
        listed["total"]["amount"],
        exported["total"],
        last["amount"],
        read(client, number)["bill"]["total"]["amount"],
    }


ENDED = {"valid_to": "2026-02-01"}
OTHER_MONEY = {"currency": "CAD"}


@pytest.mark.parametrize("change", [ENDED, OTHER_MONEY], ids=["ended", "other currency"])
def test_a_price_list_that_ended_locks_no_quote(client: TestClient, change: Json) -> None:
    """What was issued is read in any case; a draft says what is in the way and is mended there."""
    put_list(client)
    issued = issue(client, create(client, price_list="demo"))
    revised = issue(client, create(client, price_list="demo"))
    revised = move(client, revised, "revisions", status=201)
    draft = declare(client, create(client, price_list="demo"))
    put_list(client, **change)

    later = move(client, issued, "revisions", status=201)
    body = {"by": "Demo desk", "valid_until": "2099-12-31"}
    copy = client.post(f"{ADDRESS}/{issued['id']}/duplicates", json=body)
    assert copy.status_code == 201, copy.text

    for each in (draft, revised, later, copy.json()):
        shown = read(client, each["id"])
        assert shown["bill"]["total"] == {"amount": "400.00", "currency": "USD"}
        assert shown["prices_changed"]["total"] is None
        assert [one["pointer"] for one in shown["prices_changed"]["problems"]] == ["/price_list"]
        assert totals(client, each["id"]) == {"400.00"}
        page = client.get(f"/desk/quotes/{each['id']}").text
        assert 'id="price_list-wrong"' in page
    assert "Total, USD 400.00" in paper(client, revised, "customer")
    refused = move(client, draft, "issue", status=422)
    assert refused["errors"][0]["pointer"] == "/price_list"
    mended = patched(client, later, price_list=None)
    assert mended["prices_changed"] is None
    assert move(client, mended, "issue")["bill"]["total"]["amount"] == "419.05"


def test_a_tax_rule_that_is_gone_locks_no_draft(client: TestClient, database: Database) -> None:
    client.put("/v1/tax-rules/demo", json=TAX)
    draft = create(client, tax_rules=["demo"])
    with database.writing() as session:
        session.exec(delete(TaxRuleRow))

    (problem,) = read(client, draft["id"])["prices_changed"]["problems"]

    assert problem["pointer"] == "/tax_rules"
    assert patched(client, draft, tax_rules=[])["prices_changed"] is None


def test_one_total_stands_for_a_draft_everywhere_until_new_prices_are_taken_in(
    client: TestClient,
) -> None:
    put_list(client)
    draft = declare(client, create(client, price_list="demo"))
    put_list(client, "410.00")

    assert totals(client, draft["id"]) == {"400.00"}
    changed = read(client, draft["id"])["prices_changed"]
    assert changed == {"total": {"amount": "410.00", "currency": "USD"}, "problems": []}
    page = client.get(f"/desk/quotes/{draft['id']}").text
    assert "comes to 410.00 USD" in page
    refused = move(client, draft, "issue", status=409)
    assert "400.00 USD" in refused["detail"]
    assert "410.00 USD" in refused["detail"]

    taken = patched(client, draft)

    assert taken["prices_changed"] is None
    assert taken["declaration"] == draft["declaration"]
    assert totals(client, draft["id"]) == {"410.00"}
    assert move(client, taken, "issue")["bill"]["total"]["amount"] == "410.00"
    assert totals(client, draft["id"]) == {"410.00"}


def test_new_prices_are_taken_in_at_the_desk(client: TestClient) -> None:
    put_list(client)
    draft = create(client, price_list="demo")
    put_list(client, "410.00")
    form = {"by": "Demo desk", "version": str(draft["version"]), "idempotency_key": "one"}

    answer = client.post(
        f"/desk/quotes/{draft['id']}/prices",
        data=form,
        headers={"Sec-Fetch-Site": "same-origin"},
        follow_redirects=False,
    )

    assert answer.status_code == 303, answer.text
    assert totals(client, draft["id"]) == {"410.00"}


def test_the_margin_of_what_was_issued_stays_that_of_its_day_and_off_paper(
    client: TestClient,
) -> None:
    """By hand: 400.00 less 300.00 is 100.00, a quarter of 400.00."""
    put_list(client)
    quote = issue(client, create(client, price_list="demo"))
    put_list(client, "410.00", items=[])

    margin = read(client, quote["id"])["margin"]

    assert margin["amount"] == {"amount": "100.00", "currency": "USD"}
    assert margin["percent"] == "25.0"
    assert [one["unit_cost_cents"] for one in frozen(client, quote)["frozen"]["items"]] == [30_000]
    for copy in ("customer", "shop"):
        assert "300.00" not in paper(client, quote, copy)
