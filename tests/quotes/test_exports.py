"""Quotes and price lists as files for spreadsheet programs, read back by others."""

import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from service.database import Database
from service.quotes.lists import QuoteFilter
from service.quotes.store import quotes as store
from service.tabular import unguarded
from tests.quotes.made import ADDRESS, create, issue, shop

Json = dict[str, Any]
PRICES = "/v1/price-lists/demo-2026"
REFERENCE = "=cmd()"
EXPORTS = (f"{ADDRESS}/export", f"{ADDRESS}/1/export", f"{PRICES}/export")
MADE: Json = {
    "customer": {"reference": REFERENCE, "name": "Demo Größe"},
    "lines": [
        {"kind": "labour", "title": "00123", "quantity": "2.5", "unit_price": {"amount": "110.00"}},
        {"kind": "freight", "title": "Ferry", "unit_price": {"amount": "40.05"}},
    ],
    "discount_percent": "3",
}
LIST: Json = {
    "key": "demo-2026",
    "title": "Demo prices",
    "currency": "USD",
    "valid_from": "2026-01-01",
    "valid_to": None,
    "items": [
        {
            "item": "00123",
            "title": None,
            "breaks": [
                {"from_quantity": 1, "unit_price": {"amount": "379.00", "currency": "USD"}},
                {"from_quantity": 10, "unit_price": {"amount": "360.50", "currency": "USD"}},
            ],
            "core_deposit": {"amount": "50.00", "currency": "USD"},
            "unit_cost": None,
        },
        {
            "item": "1E5",
            "title": "-Milling",
            "breaks": [{"from_quantity": 1, "unit_price": {"amount": "0.05", "currency": "USD"}}],
            "core_deposit": None,
            "unit_cost": {"amount": "0.01", "currency": "USD"},
        },
    ],
}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def rows(answer: Response) -> list[Json]:
    """Read a file as text by column, as a program that knows no types would."""
    assert answer.status_code == 200, answer.text
    assert answer.headers["Content-Length"] == str(len(answer.content))
    assert "no-store" in answer.headers["Cache-Control"]
    if answer.headers["Content-Type"].startswith("text/csv"):
        text = answer.content.decode("utf-8-sig")
        found = [dict(row) for row in csv.DictReader(io.StringIO(text, newline=""))]
        return [{key: unguarded(value) for key, value in row.items()} for row in found]
    sheet = openpyxl.load_workbook(io.BytesIO(answer.content)).active
    head, *lines = sheet.iter_rows()
    names = [cell.value for cell in head]
    return [{name: _shown(cell) for name, cell in zip(names, line, strict=True)} for line in lines]


def _shown(cell: Any) -> str:  # noqa: ANN401 - openpyxl has no types.
    if cell.value is None:
        return ""
    if cell.number_format == "#,##0.00":
        return f"{cell.value:.2f}"
    return str(cell.value).removesuffix(" 00:00:00")


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_search_is_exported_whole_and_as_the_list_shows_it(
    client: TestClient, ending: str
) -> None:
    for _ in range(2):
        create(client, **MADE)
    issued = issue(client, create(client, **MADE))
    listed = client.get(ADDRESS, params={"state": "draft"}).json()["items"]

    found = rows(client.get(f"{ADDRESS}/export.{ending}", params={"state": "draft"}))

    assert [row["quote"] for row in found] == [str(each["id"]) for each in listed]
    for row, each in zip(found, listed, strict=True):
        assert (row["total"], row["currency"]) == (each["total"]["amount"], "USD")
        assert (row["customer_reference"], row["customer_name"]) == (REFERENCE, "Demo Größe")
        assert (row["state"], row["revision"]) == ("draft", "0")
        assert row["valid_until"] == "2099-12-31"
        assert row["created_at_utc"][:16].replace(" ", "T") == each["created_at"][:16]
    (row,) = rows(client.get(f"{ADDRESS}/export.{ending}", params={"state": "issued"}))
    assert (row["quote"], row["revision"]) == (str(issued["id"]), "1")


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_the_lines_of_a_quote_are_those_of_its_bill_and_add_up_to_its_total(
    client: TestClient, ending: str
) -> None:
    for quote in (create(client, **MADE), issue(client, create(client, **MADE))):
        *lines, total = rows(client.get(f"{ADDRESS}/{quote['id']}/export.{ending}"))

        bill = quote["bill"]
        assert [line["amount"] for line in lines] == [
            line["amount"]["amount"] for line in bill["lines"]
        ]
        assert [line["title"] for line in lines] == [line["title"] for line in bill["lines"]]
        assert lines[-1]["amount"].startswith("-")
        assert (total["kind"], total["amount"]) == ("total", bill["total"]["amount"])
        assert sum(Decimal(line["amount"]) for line in lines) == Decimal(total["amount"])
        assert not {"margin", "unit_cost", "price_source"} & total.keys()


@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_a_price_list_put_together_from_its_file_is_the_same_list(
    client: TestClient, ending: str
) -> None:
    client.put(PRICES, json=LIST)

    found = rows(client.get(f"{PRICES}/export.{ending}"))

    again: Json = {"items": []}
    for row in found:
        again |= {
            "key": row["price_list"],
            "title": row["price_list_title"],
            "currency": row["currency"],
            "valid_from": row["valid_from"],
            "valid_to": row["valid_to"] or None,
        }
        if not again["items"] or again["items"][-1]["item"] != row["item"]:
            again["items"].append({"item": row["item"], "title": row["title"] or None})
            again["items"][-1]["breaks"] = []
        entry = again["items"][-1]
        for name in ("core_deposit", "unit_cost"):
            entry[name] = {"amount": row[name], "currency": "USD"} if row[name] else None
        price = {"amount": row["unit_price"], "currency": "USD"}
        entry["breaks"].append({"from_quantity": int(row["from_quantity"]), "unit_price": price})
    assert again == LIST


def test_a_price_list_that_is_held_already_is_not_sent_again(client: TestClient) -> None:
    client.put(PRICES, json=LIST)
    first = client.get(f"{PRICES}/export.xlsx")

    held = {"If-None-Match": first.headers["ETag"]}

    assert client.get(f"{PRICES}/export.xlsx", headers=held).status_code == 304
    assert client.get(f"{PRICES}/export.csv", headers=held).status_code == 200
    assert client.get(f"{PRICES}/export.xlsx").content == first.content


@pytest.mark.parametrize("address", EXPORTS)
def test_another_format_is_refused_by_name(client: TestClient, address: str) -> None:
    create(client)
    client.put(PRICES, json=LIST)

    (problem,) = client.get(f"{address}.ods").json()["errors"]

    assert "'csv' or 'xlsx'" in problem["detail"]


def test_all_quotes_are_read_in_pieces_none_left_out_and_none_twice(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = [create(client)["id"] for _ in range(5)]
    for size in (1, 2, 5, 6):
        monkeypatch.setattr(store, "PIECE", size)
        with database.reading() as session:
            found = [each.id for each in store.every_quote(session, QuoteFilter())]
        assert found == made[::-1]


def test_the_pages_of_quotes_lead_to_the_same_files(client: TestClient) -> None:
    create(client, **MADE)
    client.put(PRICES, json=LIST)
    search = "?units=us&state=draft"

    pages = client.get(f"/desk/quotes{search}").text + client.get("/desk/quotes/1").text

    for address in (*EXPORTS,):
        for ending in ("csv", "xlsx"):
            own = f"{address.replace('/v1/', '/desk/')}.{ending}"
            assert f'href="{own}' in pages
            assert rows(client.get(own)) == rows(client.get(f"{address}.{ending}"))
    assert rows(client.get("/desk/quotes/export.csv?state=issued")) == []
