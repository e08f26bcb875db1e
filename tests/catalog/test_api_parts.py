from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlmodel import func, select

from service.catalog.parts import PartStatus
from service.catalog.slots import KIT_SLOTS, Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part, put_parts
from service.catalog.tables import PartRow
from service.compliance.store import add_document
from service.database import Database
from tests.factories import FAMILY_KEY, make_document, make_family, make_kit_parts, make_part
from tests.wire import part_json

CAM = "/v1/parts/QUAY-CAMSHAFT"
PATCH = {"Content-Type": "application/merge-patch+json", "If-Match": '"1"'}


@pytest.fixture(autouse=True)
def _stocked(database: Database) -> None:
    """The factory kit of one family is in the catalogue."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in make_kit_parts().values():
            add_part(session, part)
        save_family(session, make_family(), version=1)


def errors_of(response: Response) -> set[tuple[str, str]]:
    return {(error["pointer"], error["code"]) for error in response.json()["errors"]}


def skus_of(response: Response) -> list[str]:
    return [item["sku"] for item in response.json()["items"]]


def pages_of(client: TestClient, address: str) -> Iterator[list[str]]:
    while True:
        response = client.get(address)
        yield skus_of(response)
        if "next" not in response.links:
            return
        address = response.links["next"]["url"]


def test_a_new_part_is_a_201_with_its_address_and_version(client: TestClient) -> None:
    body = part_json(make_part(Slot.CAMSHAFT, sku="CAM-2", price_cents=19_999))

    response = client.post("/v1/parts", json=body)

    assert response.status_code == 201
    assert response.headers["Location"] == "/v1/parts/CAM-2"
    assert response.headers["ETag"].startswith('"1-')
    answer = response.json()
    assert answer["price"] == {"amount": "199.99", "currency": "USD"}
    assert answer["version"] == 1
    assert answer["updated_at"].endswith("Z")
    assert body.items() <= answer.items()
    assert client.get("/v1/parts/CAM-2").json() == answer


def test_a_duplicate_sku_is_a_409_and_leaves_one_row(
    client: TestClient, database: Database
) -> None:
    response = client.post("/v1/parts", json=part_json(make_part(Slot.CAMSHAFT, title="Other")))

    assert response.status_code == 409
    assert response.headers["Content-Type"] == "application/problem+json"
    with database.reading() as session:
        assert session.exec(select(func.count()).where(PartRow.sku == "QUAY-CAMSHAFT")).one() == 1
    assert client.get(CAM).json()["title"] == "Factory camshaft"


def test_of_two_callers_who_create_the_same_part_at_once_one_succeeds(client: TestClient) -> None:
    body = part_json(make_part(Slot.CAMSHAFT, sku="CAM-2"))

    with ThreadPoolExecutor(4) as pool:
        statuses = list(
            pool.map(lambda _: client.post("/v1/parts", json=body).status_code, range(4))
        )

    assert sorted(statuses) == [201, 409, 409, 409]


def test_of_changes_to_the_same_version_at_once_one_succeeds(client: TestClient) -> None:
    def change(count: int) -> int:
        return client.patch(CAM, json={"stock_count": count}, headers=PATCH).status_code

    with ThreadPoolExecutor(4) as pool:
        statuses = list(pool.map(change, range(10, 14)))

    assert sorted(statuses) == [200, 412, 412, 412]


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"colour": "red"}, "/colour", "unknown_field"),
        ({"price": {"amount": 199.99}}, "/price/amount", "value_error"),
        ({"price": {"amount": 199}}, "/price/amount", "value_error"),
        ({"price": {"amount": "1e2"}}, "/price/amount", "value_error"),
        ({"price": {"amount": "-1.00"}}, "/price/amount", "value_error"),
        ({"price": {"amount": "1.999"}}, "/price/amount", "value_error"),
        (
            {"price": {"amount": "1.00", "currency": "usd"}},
            "/price/currency",
            "string_pattern_mismatch",
        ),
        ({"price_cents": 100}, "/price_cents", "unknown_field"),
        ({"stock_count": True}, "/stock_count", "int_type"),
        ({"stock_count": "3"}, "/stock_count", "int_type"),
        ({"factory_part": 1}, "/factory_part", "bool_type"),
        ({"sku": "A/B"}, "/sku", "string_pattern_mismatch"),
        ({"title": "nul\x00"}, "/title", "string_pattern_mismatch"),
        ({"families": []}, "/families", "too_short"),
        ({"families": ["nowhere"]}, "/families/0", "unknown_reference"),
        ({"superseded_by": "NOBODY"}, "/superseded_by", "unknown_reference"),
    ],
)
def test_a_value_outside_its_limits_is_a_422_that_points_at_it(
    client: TestClient, change: dict[str, Any], pointer: str, code: str
) -> None:
    body = {**part_json(make_part(Slot.CAMSHAFT, sku="CAM-2")), **change}

    response = client.post("/v1/parts", json=body)

    assert response.status_code == 422
    assert (pointer, code) in errors_of(response)
    assert client.get("/v1/parts/CAM-2").status_code == 404


@pytest.mark.parametrize(
    ("change", "pointer", "code"),
    [
        ({"bore_mm": True}, "/spec/bore_mm", "float_type"),
        ({"bore_mm": "80"}, "/spec/bore_mm", "float_type"),
        ({"bore_mm": 0}, "/spec/bore_mm", "greater_than"),
        ({"primary_bore_mm": 41.0}, "/spec/primary_bore_mm", "unknown_field"),
        ({"slot": "carburettor"}, "/spec", "union_tag_invalid"),
    ],
)
def test_a_wrong_value_of_a_spec_is_pointed_at_without_the_name_of_the_union(
    client: TestClient, change: dict[str, Any], pointer: str, code: str
) -> None:
    body = part_json(make_part(Slot.THROTTLE_BODY, sku="TB-2"))
    body["spec"].update(change)

    response = client.post("/v1/parts", json=body)

    assert response.status_code == 422
    assert errors_of(response) == {(pointer, code)}


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400"])
def test_a_number_that_is_none_is_a_422(client: TestClient, number: str) -> None:
    response = client.patch(CAM, content=f'{{"weight_g": {number}}}', headers=PATCH)

    assert response.status_code == 422
    assert ("/weight_g", "finite_number") in errors_of(response)


def test_an_answer_that_the_caller_holds_already_is_a_304(client: TestClient) -> None:
    held = client.get(CAM).headers["ETag"]

    response = client.get(CAM, headers={"If-None-Match": held})

    assert response.status_code == 304
    assert response.headers["ETag"] == held
    assert response.content == b""


def test_the_etag_follows_the_papers_that_the_answer_speaks_of(
    client: TestClient, database: Database
) -> None:
    """A part that is not the factory's own, and the demo paper that names its reference."""
    with database.writing() as session:
        put_parts(session, [make_part(sku="MAN-2", factory_part=False)])
    address = "/v1/parts/MAN-2"
    held = client.get(address)
    assert held.json()["street_legal_flag"] == "not_documented"
    with database.writing() as session:
        add_document(session, make_document())

    response = client.get(address, headers={"If-None-Match": held.headers["ETag"]})

    assert response.status_code == 200
    assert response.json()["street_legal_flag"] == "undetermined"
    assert response.json()["version"] == 1


def test_competition_use_is_never_flagged_for_the_street(client: TestClient) -> None:
    asked = f"use=competition&place=us-ca&model_year=1998&family={FAMILY_KEY}"

    answer = client.get(f"{CAM}?{asked}").json()
    listed = client.get(f"/v1/parts?{asked}").json()["items"]

    assert answer["street_legal_flag"] == "not_for_street_use"
    assert {item["street_legal_flag"] for item in listed} == {"not_for_street_use"}


def test_a_change_needs_the_version_and_a_stale_one_is_refused(client: TestClient) -> None:
    media_type = {"Content-Type": "application/merge-patch+json"}

    missing = client.patch(CAM, json={"title": "A"}, headers=media_type)
    first = client.patch(CAM, json={"title": "B"}, headers=PATCH)
    stale = client.patch(CAM, json={"title": "C"}, headers=PATCH)

    assert [missing.status_code, first.status_code, stale.status_code] == [428, 200, 412]
    assert client.get(CAM).json()["title"] == "B"


def test_the_etag_of_a_read_is_good_for_a_change(client: TestClient) -> None:
    headers = {**PATCH, "If-Match": client.get(CAM).headers["ETag"]}

    response = client.patch(CAM, json={"stock_count": 9}, headers=headers)

    assert response.status_code == 200
    assert response.json()["version"] == 2
    assert response.headers["ETag"] == client.get(CAM).headers["ETag"]


def test_a_patch_as_plain_json_is_a_415(client: TestClient) -> None:
    response = client.patch(CAM, json={"title": "A"}, headers={"If-Match": '"1"'})

    assert response.status_code == 415
    assert response.headers["Accept-Patch"] == "application/merge-patch+json"


def test_a_patch_reaches_into_the_spec_and_leaves_the_rest(client: TestClient) -> None:
    response = client.patch(CAM, json={"spec": {"intake": {"lobe_lift_mm": 7.9}}}, headers=PATCH)

    before = part_json(make_part(Slot.CAMSHAFT))["spec"]
    before["intake"]["lobe_lift_mm"] = 7.9
    assert response.json()["spec"] == before


def test_null_in_a_patch_puts_a_field_back_to_what_it_is_without_one(client: TestClient) -> None:
    response = client.patch(CAM, json={"stock_count": None, "exterior": None}, headers=PATCH)

    assert response.json()["stock_count"] == 0
    assert response.json()["exterior"]["assessed"] is False


@pytest.mark.parametrize(
    ("patch", "pointer", "code"),
    [
        ({"title": None}, "/title", "missing"),
        ({"sku": "OTHER"}, "/sku", "fixed"),
        ({"version": 5}, "/version", "unknown_field"),
        (
            {"spec": {"intake": {"lobe_lift_mm": 41}}},
            "/spec/intake/lobe_lift_mm",
            "less_than_equal",
        ),
        ({"spec": {"slot": "injectors"}}, "/spec/tappet", "unknown_field"),
        ({"families": ["nowhere"]}, "/families/0", "unknown_reference"),
        ({"status": "superseded"}, "/superseded_by", "inconsistent"),
    ],
)
def test_what_a_patch_leads_to_is_checked_as_a_whole(
    client: TestClient, patch: dict[str, Any], pointer: str, code: str
) -> None:
    response = client.patch(CAM, json=patch, headers=PATCH)

    assert response.status_code == 422
    assert (pointer, code) in errors_of(response)
    assert client.get(CAM).json()["version"] == 1


def test_a_patch_that_changes_nothing_keeps_the_version(client: TestClient) -> None:
    response = client.patch(CAM, json={"title": "Factory camshaft"}, headers=PATCH)

    assert response.json()["version"] == 1


def test_a_withdrawn_part_stays_readable(client: TestClient) -> None:
    assert client.post(f"{CAM}/withdraw").status_code == 428

    response = client.post(f"{CAM}/withdraw", headers={"If-Match": '"1"'})

    assert response.status_code == 200
    assert client.get(CAM).json()["status"] == "withdrawn"
    assert client.post(f"{CAM}/withdraw", headers={"If-Match": '"1"'}).status_code == 412


def test_a_superseded_part_names_its_successor(client: TestClient) -> None:
    client.post("/v1/parts", json=part_json(make_part(Slot.CAMSHAFT, sku="CAM-2")))

    response = client.post(f"{CAM}/supersede", json={"by": "CAM-2"}, headers={"If-Match": '"1"'})

    assert response.status_code == 200
    assert (response.json()["status"], response.json()["superseded_by"]) == ("superseded", "CAM-2")


def test_a_successor_has_to_be_another_part_that_exists(client: TestClient) -> None:
    for sku, code in (("NOBODY", "unknown_reference"), ("QUAY-CAMSHAFT", "own_successor")):
        response = client.post(f"{CAM}/supersede", json={"by": sku}, headers={"If-Match": '"1"'})

        assert response.status_code == 422
        assert errors_of(response) == {("/superseded_by", code)}


def test_an_unknown_sku_is_a_404_and_an_impossible_one_a_422(client: TestClient) -> None:
    assert client.get("/v1/parts/NOBODY").status_code == 404
    assert client.get("/v1/parts/%00").status_code == 422


@pytest.mark.parametrize(
    ("query", "skus"),
    [
        ("slot=camshaft", ["CAM-2", "QUAY-CAMSHAFT"]),
        ("slot=camshaft&in_stock=true", ["QUAY-CAMSHAFT"]),
        ("slot=camshaft&in_stock=false", ["CAM-2"]),
        ("status=withdrawn", ["CAM-2"]),
        ("max_price=149.00", ["CAM-2", "QUAY-AIR-INLET"]),
        ("max_price=148.99", ["CAM-2"]),
        ("max_price=148.99&currency=EUR", []),
        ("family=nowhere", []),
        ("q=heron", ["CAM-2"]),
        ("q=cam+factory", ["QUAY-CAMSHAFT"]),
    ],
)
def test_each_filter_of_the_list_leaves_the_parts_that_it_names(
    client: TestClient, database: Database, query: str, skus: list[str]
) -> None:
    other = make_part(
        Slot.CAMSHAFT,
        sku="CAM-2",
        title="Heron",
        maker_reference="H",
        price_cents=100,
        stock_count=0,
        status=PartStatus.WITHDRAWN,
    )
    with database.writing() as session:
        put_parts(session, [other])

    assert skus_of(client.get(f"/v1/parts?{query}")) == skus


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("slot=carburettor", "slot"),
        ("max_price=1e2", "max_price"),
        ("limit=0", "limit"),
        ("q=%00", "q"),
        ("model_year=1700", "model_year"),
    ],
)
def test_a_parameter_outside_its_limits_is_a_422_that_names_it(
    client: TestClient, query: str, pointer: str
) -> None:
    response = client.get(f"/v1/parts?{query}")

    assert response.status_code == 422
    assert {error["pointer"] for error in response.json()["errors"]} == {pointer}


def test_following_the_links_shows_every_part_once_in_the_order_asked_for(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        put_parts(session, [make_part(sku=f"TIE-{n}", price_cents=500) for n in range(5)])
    seen: list[str] = []

    for page in pages_of(client, "/v1/parts?sort=price&limit=3"):
        seen += page
        with database.writing() as session:
            put_parts(session, [make_part(sku=f"LATE-{len(seen)}", price_cents=500)])

    assert seen[:5] == [f"TIE-{n}" for n in range(5)]
    assert len(seen) == len(set(seen)) == 5 + len(KIT_SLOTS)


def test_a_cursor_of_another_list_is_a_400(client: TestClient) -> None:
    cursor = client.get("/v1/parts?limit=2").json()["next_cursor"]

    assert client.get(f"/v1/parts?slot=camshaft&cursor={cursor}").status_code == 400
