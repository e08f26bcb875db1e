"""What a draft may not say, and what it is charged for parts that nobody priced."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.catalog.slots import Slot
from service.catalog.store.parts import add_part
from service.database import Database
from service.quotes.api import keeping
from tests.factories import make_part
from tests.quotes.made import ADDRESS, QUESTION, content, create, declare, move, shop

FREE_CAM, FREE_HEADS = "CAM-FREE", "HEADS-FREE"


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        with database.writing() as session:
            add_part(session, make_part(Slot.CAMSHAFT, sku=FREE_CAM, price_cents=0))
            add_part(session, make_part(Slot.CYLINDER_HEADS, sku=FREE_HEADS, price_cents=0))
        yield client


YEN = {"amount": "100.50", "currency": "JPY"}


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"valid_until": str(datetime.now(UTC).date() - timedelta(days=2))}, "/valid_until"),
        ({"question": {**QUESTION, "family": "nobody"}}, "/question/family"),
        # ISO 4217: the yen has no minor unit.
        (
            {
                "currency": "JPY",
                "question": QUESTION,
                "lines": [{"kind": "freight", "title": "By boat", "unit_price": YEN}],
            },
            "/currency",
        ),
    ],
)
def test_a_draft_that_could_never_be_issued_is_refused_where_it_says_so(
    client: TestClient, changes: dict[str, Any], pointer: str
) -> None:
    answer = client.post(ADDRESS, json={"by": "Demo desk", "content": content(**changes)})

    assert answer.status_code == 422
    assert [each["pointer"] for each in answer.json()["errors"]] == [pointer]
    assert client.get(ADDRESS).json()["items"] == []


def test_a_price_list_is_in_a_currency_that_cents_can_keep(client: TestClient) -> None:
    """ISO 4217: the Tunisian dinar has thousandths, the yen nothing below one."""
    for currency in ("TND", "JPY"):
        prices = {"key": "far", "title": "Far", "valid_from": "2026-01-01", "items": []}
        answer = client.put("/v1/price-lists/far", json={**prices, "currency": currency})
        assert [each["pointer"] for each in answer.json()["errors"]] == ["/currency"]


def test_a_part_that_nobody_priced_is_named_and_not_given_away(client: TestClient) -> None:
    kit = {**QUESTION, "parts": {"camshaft": FREE_CAM}}
    line = {"kind": "part", "sku": FREE_HEADS, "quantity": "2"}

    quote = create(client, question=kit, lines=[line])
    gift = {**line, "unit_price": {"amount": "0.00", "currency": "USD"}}
    given = create(client, question=kit, lines=[gift])

    assert quote["bill"]["lines"] == []
    for sku, count in ((FREE_CAM, 1), (FREE_HEADS, 2)):
        (told,) = [each for each in quote["not_priced"] if sku in each]
        assert told.startswith(f"{count} ")
    assert [each["sku"] for each in given["bill"]["lines"]] == [FREE_HEADS]


def test_bill_and_evidence_are_of_one_catalogue(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    draft = declare(client, create(client))
    assess = keeping.assess_draft

    def overtaken(*asked: Any) -> keeping.Assessed:  # noqa: ANN401 - passed on as they are.
        found = assess(*asked)
        with database.writing() as session:
            add_part(session, make_part(Slot.CAMSHAFT, sku="CAM-LATE"))
        return found

    with monkeypatch.context() as patched:
        patched.setattr("service.quotes.api.moves.assess_draft", overtaken)
        late = move(client, draft, "issue", status=503)
    issued = move(client, draft, "issue")

    assert "issue it again" in late["detail"]
    assert issued["state"] == "issued"
