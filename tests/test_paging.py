"""Links: RFC 8288. That cursors are opaque, signed and bound: common practice, no source."""

import re
from collections.abc import Iterator
from typing import Annotated

import pytest
from fastapi import APIRouter, Query
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from service.app import create_app
from service.bodies import ApiRoute
from service.paging import Page, PagingDep, read_cursor, write_cursor
from service.settings import Settings

router = APIRouter(prefix="/trial", route_class=ApiRoute)

# Three names for each price: ties in the sort key are where paging loses items.
ITEMS = sorted((price, f"P{price}-{name}") for price in range(4) for name in "abc")


@router.get("/items")
def list_trial_items(
    paging: PagingDep, min_price: Annotated[int, Query()] = 0
) -> Page[tuple[int, str]]:
    after = paging.after or (-1, "")
    found = [item for item in ITEMS if item[0] >= min_price and item > after]
    return paging.page(found[: paging.fetch_count], lambda item: item)


@router.get("/others")
def list_trial_others(paging: PagingDep) -> Page[str]:
    return paging.page([], lambda item: (item,))


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(create_app(Settings(_env_file=None), [router]))


def walk(client: TestClient, url: str) -> Iterator[tuple[int, str]]:
    while url:
        answer = client.get(url)
        yield from (tuple(item) for item in answer.json()["items"])
        link = re.fullmatch(r'<([^>]+)>; rel="next"', answer.headers.get("Link", ""))
        url = link[1] if link else ""


@pytest.mark.parametrize("limit", [1, 2, 5, 11, 12, 13, 200])
def test_following_the_links_yields_each_item_once_in_order(client: TestClient, limit: int) -> None:
    assert list(walk(client, f"/trial/items?limit={limit}")) == ITEMS


def test_the_link_keeps_the_filters(client: TestClient) -> None:
    walked = list(walk(client, "/trial/items?min_price=2&limit=2"))

    assert walked == [item for item in ITEMS if item[0] >= 2]


def test_the_body_and_the_link_name_the_same_cursor(client: TestClient) -> None:
    answer = client.get("/trial/items?limit=2")

    assert f"cursor={answer.json()['next_cursor']}" in answer.headers["Link"]


def test_the_last_page_has_no_next_one(client: TestClient) -> None:
    answer = client.get(f"/trial/items?limit={len(ITEMS)}")

    assert answer.json()["next_cursor"] is None
    assert "Link" not in answer.headers


def test_a_cursor_may_be_used_with_another_limit(client: TestClient) -> None:
    cursor = client.get("/trial/items?limit=5").json()["next_cursor"]

    rest = client.get(f"/trial/items?cursor={cursor}&limit=200").json()["items"]

    assert [tuple(item) for item in rest] == ITEMS[5:]


@pytest.mark.parametrize("url", ["/trial/items?min_price=1", "/trial/others"])
def test_a_cursor_of_another_list_is_a_400(client: TestClient, url: str) -> None:
    cursor = client.get("/trial/items?limit=5").json()["next_cursor"]

    answer = client.get(url, params={"cursor": cursor, "min_price": 1})

    assert answer.status_code == 400
    assert answer.json()["type"] == "/problems/bad-request"


@pytest.mark.parametrize("cursor", ["", "x", "é", "A" * 40, "!!!!", "AAAA" * 400])
def test_an_invented_cursor_is_a_400(client: TestClient, cursor: str) -> None:
    assert client.get("/trial/items", params={"cursor": cursor}).status_code == 400


@pytest.mark.parametrize("limit", ["0", "201", "-1", "many", "1.5"])
def test_a_limit_outside_1_to_200_is_a_422(client: TestClient, limit: str) -> None:
    answer = client.get("/trial/items", params={"limit": limit})

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "limit"


PLACES = st.lists(
    st.one_of(
        st.text(max_size=20),
        st.integers(-(2**53), 2**53),
        st.floats(allow_nan=False, allow_infinity=False),
    ),
    max_size=3,
).map(tuple)


@given(place=PLACES)
def test_a_cursor_gives_back_the_place_it_was_made_of(place: tuple[str | int | float, ...]) -> None:
    cursor = write_cursor(place, key=b"key", scope="list")

    assert read_cursor(cursor, key=b"key", scope="list") == place


@given(place=PLACES, position=st.integers(0, 200), bit=st.integers(0, 5))
def test_no_changed_cursor_is_taken(
    place: tuple[str | int | float, ...], position: int, bit: int
) -> None:
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    cursor = write_cursor(place, key=b"key", scope="list")
    # The last character may hold bits that stand for nothing; it is left alone.
    at = position % (len(cursor) - 1)
    changed = alphabet[alphabet.index(cursor[at]) ^ (1 << bit)]

    with pytest.raises(Exception, match="does not belong"):
        read_cursor(cursor[:at] + changed + cursor[at + 1 :], key=b"key", scope="list")


def test_a_cursor_of_another_key_is_refused() -> None:
    cursor = write_cursor(("a",), key=b"one", scope="list")

    with pytest.raises(Exception, match="does not belong"):
        read_cursor(cursor, key=b"two", scope="list")
