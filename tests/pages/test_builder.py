"""What builders are told, read without a browser."""

import re
from html import unescape
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.access.api import KeyRing
from service.access.keys import Scope
from service.access.store import add_access_key
from service.database import Database
from tests.pages.test_pages import SITUATION, linked_data, shop

__all__ = ["shop"]

FRAMED = {**SITUATION, "embed": "yes"}


def test_a_builders_page_is_the_same_assessment_with_or_without_prices(shop: TestClient) -> None:
    kit = {**SITUATION, "camshaft": "O44-CAM-TOGGLE"}
    question = {**SITUATION, "model_year": 1990, "parts": {"camshaft": "O44-CAM-TOGGLE"}}
    answer = shop.post("/v1/assessments", json=question).json()
    total = answer["price"]["totals"][0]["amount"]

    priced = unescape(shop.get("/builder/kit", params=kit).text)
    bare = unescape(shop.get("/builder/kit", params={**kit, "no_price": "yes"}).text)

    assert f"about {answer['score']['peak_power_hp']:.0f} hp" in priced
    assert all(finding["reason"] in bare for finding in answer["fit"])
    assert all(one["sentence"] in bare for one in answer["jurisdiction_note"]["statements"])
    assert total in priced
    assert total not in bare
    # Above the fold: before any figure.
    assert bare.index(answer["cautions"][0]) < bare.index('class="figure"')


def test_only_parts_that_keep_the_outside_are_offered_where_that_is_asked(
    shop: TestClient,
) -> None:
    listed = shop.get("/v1/parts", params={"family": "orrin-4-4", "limit": 100}).json()["items"]
    other = {part["sku"] for part in listed if part["exterior"]["differences"]}

    every = shop.get("/builder/kit", params=SITUATION).text
    kept = shop.get("/builder/kit", params={**SITUATION, "keeps_stock_exterior": "yes"}).text

    assert other
    assert all(f'value="{sku}"' in every for sku in other)
    assert not any(f'value="{sku}"' in kept for sku in other)


def test_a_builders_page_is_framed_by_the_storefronts_that_the_shop_names_alone(
    shop: TestClient, app: FastAPI
) -> None:
    """CSP Level 3, frame-ancestors; RFC 2606: `.example` is nobody's."""
    closed = shop.get("/builder/kit", params={**SITUATION, "embed": "yes"})
    settings = app.state.settings.model_copy(update={"embed_in": "https://store.example"})
    app.state.settings = settings

    framed = shop.get("/builder/kit", params={**SITUATION, "embed": "yes"})
    plain = shop.get("/builder/kit", params=SITUATION)

    policies = [one.headers["Content-Security-Policy"] for one in (closed, framed, plain)]
    assert ["frame-ancestors 'none'" in policy for policy in policies] == [True, False, True]
    assert "frame-ancestors https://store.example;" in policies[1]
    assert "<nav" not in framed.text
    assert "<nav" in plain.text


def test_a_kit_says_the_same_to_readers_machines_and_callers_of_the_api(shop: TestClient) -> None:
    """schema.org: an Offer whose `includesObject` names the goods; Rec. 20: KWT is a kilowatt."""
    kit = {**SITUATION, "camshaft": "O44-CAM-TOGGLE"}
    question = {**SITUATION, "model_year": 1990, "parts": {"camshaft": "O44-CAM-TOGGLE"}}
    answer = shop.post("/v1/assessments", json=question).json()
    part: Any = linked_data(shop.get("/builder/parts/O44-CAM-TOGGLE").text)["offers"]

    data: Any = linked_data(shop.get("/builder/kit", params=kit).text)

    (offer,) = data["offers"]
    (total,) = answer["price"]["totals"]
    goods = [one["typeOfGood"]["sku"] for one in offer["includesObject"]]
    power = data["additionalProperty"]
    assert (offer["price"], offer["priceCurrency"]) == (total["amount"], total["currency"])
    assert goods == [line["sku"] for line in answer["price"]["lines"]] == ["O44-CAM-TOGGLE"]
    assert offer["price"] == part["price"]
    assert power["unitCode"] == "KWT"
    assert [power[key] for key in ("minValue", "value", "maxValue")] == [
        answer["score"][f"peak_power{bound}_kw"] for bound in ("_low", "", "_high")
    ]
    bare = shop.get("/builder/kit", params={**kit, "no_price": "yes"}).text
    assert "ld+json" not in bare


def test_a_builder_begins_with_the_engine_and_comes_back_to_it_from_an_error(
    shop: TestClient,
) -> None:
    start = shop.get("/builder", params=SITUATION).text
    wrong = unescape(shop.get("/builder/kit", params={**SITUATION, "model_year": "old"}).text)

    assert 'action="/builder/kit"' in start
    assert 'value="orrin-4-4" selected' in start
    back = re.search(r'href="(/builder\?[^"]*)"', wrong)
    assert back
    assert 'value="old"' in shop.get(back[1]).text
    assert 'href="/shop' in shop.get("/shop/change/parts/NONE").text


@pytest.fixture
def locked(shop: TestClient, app: FastAPI, database: Database) -> TestClient:
    """Keys were made, and the shop names a storefront."""
    with database.writing() as session:
        add_access_key(session, "demo-desk", [Scope.DESK])
    app.state.key_ring = KeyRing(database)
    changed = {"embed_in": "https://store.example"}
    app.state.settings = app.state.settings.model_copy(update=changed)
    shop.follow_redirects = False
    return shop


def test_a_frame_of_the_storefront_needs_no_key_and_leads_nowhere_that_does(
    locked: TestClient,
) -> None:
    """A browser sends no SameSite=Strict cookie into another site's frame (RFC 6265bis, 5.2)."""
    page = locked.get("/builder/kit", params=FRAMED)
    part = locked.get("/builder/parts/O44-CAM-TOGGLE", params={"embed": "yes"})
    wrong = locked.get("/builder/kit", params={**FRAMED, "model_year": "old"})

    assert [one.status_code for one in (page, part, wrong)] == [200, 200, 422]
    for one in (page, part, wrong):
        assert "frame-ancestors https://store.example;" in one.headers["Content-Security-Policy"]
        assert "set-cookie" not in one.headers
        for link in re.findall(r'(?:href|action)="(/(?!files)[^"]*)"', unescape(one.text)):
            there = urlsplit(link)
            assert there.path.startswith("/builder")
            assert "embed" in parse_qs(there.query) or 'name="embed" value="yes"' in one.text
    file = re.search(r'href="(/builder/kit/curve.csv[^"]*)"', unescape(page.text))
    assert file
    assert locked.get(file[1]).status_code == 200


@pytest.mark.parametrize(
    ("method", "path", "query"),
    [
        ("GET", "/builder/kit", SITUATION),
        ("GET", "/desk/kit", FRAMED),
        ("GET", "/desk", {"embed": "yes"}),
        ("GET", "/builders", {"embed": "yes"}),
        ("POST", "/builder/kit", FRAMED),
    ],
)
def test_a_frame_opens_nothing_else(
    locked: TestClient, method: str, path: str, query: dict[str, str]
) -> None:
    answer = locked.request(method, path, params=query)

    assert answer.status_code in (303, 401)


def test_no_frame_is_opened_where_the_shop_names_no_storefront(
    locked: TestClient, app: FastAPI
) -> None:
    app.state.settings = app.state.settings.model_copy(update={"embed_in": ""})

    assert locked.get("/builder/kit", params=FRAMED).status_code == 303
