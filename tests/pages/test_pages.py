"""What pages say, read without a browser."""

import json
import re
from html import unescape
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from service.compliance.outcomes import banned_words
from service.database import Database
from tests.served import fill

MODIFIED_TWIN = "Q76-MANIFOLD-BITTERN"
SITUATION = {"family": "orrin-4-4", "model_year": "1990", "use": "road", "place": "us-ca"}


@pytest.fixture
def shop(database: Database, client: TestClient) -> TestClient:
    fill(database)
    return client


def linked_data(text: str) -> dict[str, object]:
    found = re.search(r'<script type="application/ld\+json">(.*?)</script>', text, re.DOTALL)
    assert found
    data: dict[str, object] = json.loads(found[1])
    return data


def test_a_part_says_the_same_to_readers_machines_and_callers_of_the_api(shop: TestClient) -> None:
    """schema.org: Product with an Offer whose price has a point and no sign of a currency."""
    page = shop.get(f"/builder/parts/{MODIFIED_TWIN}")

    part = shop.get(f"/v1/parts/{MODIFIED_TWIN}").json()
    data = linked_data(page.text)
    offer = data["offers"]
    assert isinstance(offer, dict)
    assert data["sku"] == part["sku"]
    assert data["mpn"] == part["maker_reference"]
    assert offer["price"] == part["price"]["amount"]
    assert offer["priceCurrency"] == part["price"]["currency"]
    assert f"{part['price']['amount']} {part['price']['currency']}" in page.text


def test_a_change_inside_is_told_where_the_outside_is_as_stock(shop: TestClient) -> None:
    """Appearance is never shown without what is declared of the inside."""
    inside = shop.get(f"/v1/parts/{MODIFIED_TWIN}").json()["exterior"]["internal_change"]
    kit = {"family": "quay-7-6", "model_year": "1997", "use": "road", "place": "us-ca"}

    pages = [
        shop.get(f"/builder/parts/{MODIFIED_TWIN}"),
        shop.get("/desk/kit", params={**kit, "intake_manifold": MODIFIED_TWIN}),
    ]

    assert inside
    assert all(inside in unescape(page.text) for page in pages)


def test_a_part_without_prices_shows_none_to_anybody(shop: TestClient) -> None:
    amount = shop.get(f"/v1/parts/{MODIFIED_TWIN}").json()["price"]["amount"]

    page = shop.get(f"/builder/parts/{MODIFIED_TWIN}", params={"no_price": "yes"})

    assert page.status_code == 200
    assert amount not in page.text


def test_a_part_that_is_not_there_is_a_page_that_says_so(shop: TestClient) -> None:
    page = shop.get("/builder/parts/NO-SUCH-PART")

    assert page.status_code == 404
    assert page.headers["content-type"].startswith("text/html")
    assert "NO-SUCH-PART" in page.text


def test_a_kit_is_the_assessment_of_the_api_in_either_unit(shop: TestClient) -> None:
    question = {**SITUATION, "model_year": 1990, "parts": {}}
    answer = shop.post("/v1/assessments", json=question).json()

    us = shop.get("/desk/kit", params=SITUATION).text
    si = shop.get("/desk/kit", params={**SITUATION, "units": "si"}).text

    assert f"{answer['score']['peak_power_hp']:.0f} hp" in us
    assert f"{answer['score']['peak_power_kw']:.0f} kW" in si
    assert all(caution in unescape(us) for caution in answer["cautions"])
    assert answer["jurisdiction_note"]["statements"][0]["sentence"] in unescape(us)
    assert answer["street_use"]["sentence"] in unescape(us)


def test_the_units_of_a_page_are_kept_by_its_links(shop: TestClient) -> None:
    text = unescape(shop.get("/desk/kit", params={**SITUATION, "units": "si"}).text)

    assert f'href="?{urlencode({**SITUATION, "units": "us"})}"' in text
    assert 'name="units" value="si"' in text
    assert 'href="/desk?units=si"' in text


def test_the_file_of_a_curve_holds_the_curve_of_the_api(shop: TestClient) -> None:
    question = {**SITUATION, "model_year": 1990, "parts": {}}
    curve = shop.post("/v1/assessments", json=question).json()["curve"]

    rows = shop.get("/desk/kit/curve.csv", params={**SITUATION, "units": "si"}).text.splitlines()

    assert rows[0].startswith('rev/min,"torque, N·m"')
    assert [row.split(",")[0] for row in rows[1:]] == [f"{one['speed_rpm']:.0f}" for one in curve]
    assert [row.split(",")[1] for row in rows[1:]] == [f"{one['torque_nm']:.1f}" for one in curve]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"model_year": "last year"}, "model_year"),
        ({"model_year": "1890"}, "model_year"),
        ({"family": "no-such"}, "family"),
        ({"camshaft": "NO-SUCH"}, "camshaft"),
    ],
)
def test_a_wrong_answer_is_told_beside_its_field(
    shop: TestClient, wrong: dict[str, str], field: str
) -> None:
    page = shop.get("/desk/kit", params={**SITUATION, **wrong})

    assert page.status_code == 422
    assert f'href="#{field}"' in page.text


def test_words_in_an_address_cannot_become_markup(shop: TestClient) -> None:
    page = shop.get("/desk", params={**SITUATION, "budget": '"><script>alert(1)</script>'})

    assert "<script>alert" not in page.text


def test_the_shop_sees_its_jobs_and_rules_as_the_api_tells_them(shop: TestClient) -> None:
    rules = shop.get("/v1/shop-rules", params={"limit": 100}).json()["items"]
    question = {**SITUATION, "model_year": 1990}
    taken = shop.post("/v1/simulations", json=question, headers={"Prefer": "respond-async"})
    job = shop.get("/v1/jobs").json()["items"][0]

    text = unescape(shop.get("/shop").text)

    assert taken.status_code == 202
    assert f'aria-label="Progress of job {job["id"]}"' in text
    assert job["state"] in text
    assert rules
    assert all(rule["reason"] in text for rule in rules)


def test_no_page_uses_a_word_that_would_be_a_verdict(shop: TestClient) -> None:
    """The list is that of the answers of the API: public-law.md, section 11."""
    pages = [
        shop.get("/desk"),
        shop.get("/desk/kit", params=SITUATION),
        shop.get(f"/builder/parts/{MODIFIED_TWIN}"),
    ]

    texts = [re.sub(r"<[^>]+>", " ", page.text) for page in pages]
    assert [banned_words(unescape(text)) for text in texts] == [(), (), ()]
