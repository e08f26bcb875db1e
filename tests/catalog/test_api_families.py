import pytest
from fastapi.testclient import TestClient

from service.catalog.slots import Slot, UseClass
from tests.factories import FAMILY_KEY, make_family, make_part, make_rule, stock_sku
from tests.wire import part_json, plain_json

FAMILY = f"/v1/engine-families/{FAMILY_KEY}"
PATCH = {"Content-Type": "application/merge-patch+json", "If-Match": '"1"'}


@pytest.fixture(autouse=True)
def _stocked(client: TestClient) -> None:
    """A family and its camshaft, not yet named as the factory's."""
    client.post("/v1/engine-families", json=plain_json(make_family(stock_parts={})))
    client.post("/v1/parts", json=part_json(make_part(Slot.CAMSHAFT)))


def test_a_family_is_read_back_as_it_was_sent(client: TestClient) -> None:
    body = plain_json(make_family(key="orrin-4-4", stock_parts={}))

    created = client.post("/v1/engine-families", json=body)

    assert created.status_code == 201
    assert created.headers["Location"] == "/v1/engine-families/orrin-4-4"
    assert created.headers["ETag"] == '"1"'
    read = client.get(created.headers["Location"])
    assert body.items() <= read.json().items()
    assert (
        client.get(
            created.headers["Location"], headers={"If-None-Match": read.headers["ETag"]}
        ).status_code
        == 304
    )


def test_a_second_family_with_the_same_key_is_a_409(client: TestClient) -> None:
    body = plain_json(make_family(stock_parts={}, title="Other"))

    assert client.post("/v1/engine-families", json=body).status_code == 409
    assert client.get(FAMILY).json()["title"] == "Quay 7.6"


def test_a_family_with_a_factory_part_that_is_not_there_is_a_422(client: TestClient) -> None:
    body = plain_json(make_family(key="new", stock_parts={Slot.CAMSHAFT: "NOBODY"}))

    response = client.post("/v1/engine-families", json=body)

    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == ["/stock_parts/camshaft"]


def test_factory_parts_are_named_once_they_are_there(client: TestClient) -> None:
    patch = {"stock_parts": {"camshaft": stock_sku(Slot.CAMSHAFT)}}

    response = client.patch(FAMILY, json=patch, headers=PATCH)

    assert response.status_code == 200
    assert response.json()["stock_parts"] == patch["stock_parts"]
    assert response.headers["ETag"] == '"2"'


def test_a_factory_part_cannot_leave_the_family_that_names_it(client: TestClient) -> None:
    client.post("/v1/engine-families", json=plain_json(make_family(key="other", stock_parts={})))
    patch = {"stock_parts": {"camshaft": stock_sku(Slot.CAMSHAFT)}}
    client.patch(FAMILY, json=patch, headers=PATCH)

    response = client.patch("/v1/parts/QUAY-CAMSHAFT", json={"families": ["other"]}, headers=PATCH)

    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == ["/families"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"If-Match": '"7"'}, 412),
        ({"If-Match": "*"}, 428),
        ({}, 428),
    ],
)
def test_a_change_is_for_the_version_that_was_read(
    client: TestClient, headers: dict[str, str], status: int
) -> None:
    headers = {"Content-Type": "application/merge-patch+json", **headers}

    assert client.patch(FAMILY, json={"title": "X"}, headers=headers).status_code == status
    assert client.get(FAMILY).json()["title"] == "Quay 7.6"


def test_the_key_of_a_family_is_fixed(client: TestClient) -> None:
    response = client.patch(FAMILY, json={"key": "other"}, headers=PATCH)

    assert response.status_code == 422
    assert [e["code"] for e in response.json()["errors"]] == ["fixed"]


def test_families_are_listed_by_key_in_pieces_and_by_use(client: TestClient) -> None:
    boat = make_family(key="boat", stock_parts={}, use_classes=(UseClass.MARINE,))
    client.post("/v1/engine-families", json=plain_json(boat))

    first = client.get("/v1/engine-families?limit=1")
    second = client.get(first.links["next"]["url"])

    assert [item["key"] for item in first.json()["items"]] == ["boat"]
    assert [item["key"] for item in second.json()["items"]] == [FAMILY_KEY]
    assert second.json()["next_cursor"] is None
    assert [item["key"] for item in client.get("/v1/engine-families?use=road").json()["items"]] == [
        FAMILY_KEY
    ]


def test_a_rule_is_made_read_listed_and_changed(client: TestClient) -> None:
    body = plain_json(make_rule())

    created = client.post("/v1/shop-rules", json=body)
    again = client.post("/v1/shop-rules", json=body)
    address = created.headers["Location"]
    changed = client.patch(address, json={"severity": "blocks"}, headers=PATCH)

    assert [created.status_code, again.status_code, changed.status_code] == [201, 409, 200]
    assert client.get(address).json() == {
        **body,
        "severity": "blocks",
        "version": 2,
        "updated_at": changed.json()["updated_at"],
    }
    assert [r["key"] for r in client.get("/v1/shop-rules").json()["items"]] == [body["key"]]


def test_a_rule_about_a_part_that_is_not_there_is_a_422(client: TestClient) -> None:
    body = {**plain_json(make_rule()), "when": {"skus": ["NOBODY"]}}

    response = client.post("/v1/shop-rules", json=body)

    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == ["/when/skus/0"]


def test_taking_away_the_other_part_of_a_rule_is_a_422(client: TestClient) -> None:
    address = client.post("/v1/shop-rules", json=plain_json(make_rule())).headers["Location"]

    response = client.patch(address, json={"other": None}, headers=PATCH)

    assert response.status_code == 422
    assert [e["pointer"] for e in response.json()["errors"]] == ["/other"]
