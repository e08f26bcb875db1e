"""A served shop with one family, its factory parts and one other camshaft."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part
from service.database import Database
from service.kits.api import Assessor
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part
from tests.kits.assembled import level_torque

ADDRESS = "/v1/quotes"
QUESTION = {"family": FAMILY_KEY, "use": "road", "place": "us-ca", "model_year": 2000}
HOT_CAM = "CAM-HOT"
HOT_CAM_CENTS = 41_905
Json = dict[str, Any]


@contextmanager
def shop(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service; one level torque stands in for the simulation."""
    stock(database)
    with TestClient(app) as client:
        app.state.assessor = Assessor(database=app.state.database, run=level_torque)
        yield client


def stock(database: Database) -> None:
    """Take the family and the parts into the catalogue."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in make_kit_parts().values():
            add_part(session, part)
        add_part(session, make_part(Slot.CAMSHAFT, sku=HOT_CAM, price_cents=HOT_CAM_CENTS))
        save_family(session, make_family(), version=1)


def content(**changes: Any) -> Json:  # noqa: ANN401 - any JSON.
    return {
        "customer": {"reference": "PO-0007", "name": "Demo Customer"},
        "question": {**QUESTION, "parts": {"camshaft": HOT_CAM}},
        "valid_until": "2099-12-31",
        **changes,
    }


def create(client: TestClient, key: str | None = None, **changes: Any) -> Json:  # noqa: ANN401
    headers = {} if key is None else {"Idempotency-Key": key}
    answer = client.post(
        ADDRESS, json={"by": "Demo desk", "content": content(**changes)}, headers=headers
    )
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def move(client: TestClient, quote: Json, verb: str, status: int = 200, **body: Any) -> Json:  # noqa: ANN401
    """Make one move on the quote as it was last seen."""
    answer = client.post(
        f"{ADDRESS}/{quote['id']}/{verb}",
        json={"by": "Demo desk", **body},
        headers={"If-Match": f'"{quote["version"]}"'},
    )
    assert answer.status_code == status, answer.text
    return dict(answer.json())


def declare(client: TestClient, quote: Json) -> Json:
    return move(client, quote, "declaration", name="Demo Customer", text=quote["declaration_text"])


def issue(client: TestClient, quote: Json, **body: Any) -> Json:  # noqa: ANN401
    """Have the use declared, then issue; the made kit warns and blocks nothing."""
    return move(client, declare(client, quote), "issue", **body)
