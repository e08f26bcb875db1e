"""What pages say, read without a browser."""

import json
import re
from html import unescape
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from service.database import Database
from service.errors import InvalidInput
from service.pages.question import search_question, shown_in
from service.pages.words import SI, US
from service.wording import banned_words
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

    file = shop.get("/builder/kit/curve.csv", params={**SITUATION, "units": "si"}).content
    rows = file.decode("utf-8-sig").splitlines()

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


def test_no_page_uses_a_word_that_would_be_a_verdict(shop: TestClient) -> None:
    """The list is that of the answers of the API: public-law.md, section 11."""
    pages = [
        shop.get("/desk"),
        shop.get("/desk/kit", params=SITUATION),
        shop.get(f"/builder/parts/{MODIFIED_TWIN}"),
    ]

    texts = [re.sub(r"<[^>]+>", " ", page.text) for page in pages]
    assert [banned_words(unescape(text)) for text in texts] == [(), (), ()]


def test_the_papers_of_a_kit_are_the_paper_trail_of_the_api(shop: TestClient) -> None:
    question = {**SITUATION, "model_year": 1990}
    asked = shop.post("/v1/assessments", json=question)
    trail = shop.get(f"{asked.headers['Content-Location']}/paper-trail.pdf")

    page = shop.get("/builder/kit/paper-trail.pdf", params=SITUATION)

    assert page.content.startswith(b"%PDF")
    assert page.content == trail.content


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"deck_cut": "ten"}, "deck_cut"),
        ({"deck_cut": "0.5 in"}, "deck_cut"),
        ({"bored_to": "not measured"}, "bored_to"),
        ({"threads_lost": "some"}, "threads_lost"),
        ({"threads_lost": "99"}, "threads_lost"),
        ({"rail_gap": "not measured"}, "rail_gap"),
        ({"casting": "ninth"}, "casting"),
    ],
)
def test_what_was_machined_is_told_with_its_unit_or_named_as_wrong(
    shop: TestClient, wrong: dict[str, str], field: str
) -> None:
    """0.5 in is 12.7 mm, more than the 10 mm that a cut may have at the API."""
    page = shop.get("/desk/kit", params={**SITUATION, **wrong})

    assert page.status_code == 422
    assert f'href="#{field}"' in page.text


def test_a_cut_in_inches_is_the_cut_of_the_api_in_millimetres(shop: TestClient) -> None:
    """1 in is 25.4 mm exactly (NIST SP 811, appendix B.8)."""
    right = {
        "deck_cut_mm": 0.254,
        "head_mill_mm": "unknown",
        "new_head_gasket": {"compressed_mm": 0.7112},
        "intake_holes": {"pitches_lost": 2},
    }
    machined = {"right": right, "end_rail_gap_mm": 3.0, "casting_generation": "only"}
    question = {**SITUATION, "model_year": 1990, "engine": {"machined": machined}}
    answer = shop.post("/v1/assessments", json=question).json()
    told = {
        "deck_cut": "0.010 in",
        "head_mill": "not measured",
        "new_head_gasket": "0.028 in",
        "threads_lost": "2",
        "rail_gap": "3.0 mm",
        "casting": "only",
    }

    page = unescape(shop.get("/desk/kit", params={**SITUATION, **told}).text)

    assert answer["fit"]
    assert all(finding["reason"] in page for finding in answer["fit"])
    assert 'name="deck_cut" value="0.010 in"' in page


def test_a_goal_is_shown_in_the_units_of_the_page_and_means_the_same() -> None:
    """1 hp is 745.70 W, 1 lbf·ft 1.3558 N·m (NIST SP 811, appendix B.8)."""
    goal = {**SITUATION, "power_at_least": "300", "torque_at_least": "250", "torque_speed": "3000"}
    us = {**goal, "units": "us"}
    si = {**goal, "units": "si", "typed_in": "us"}

    limits = search_question(si, "USD")["limits"]

    assert limits == search_question(us, "USD")["limits"]
    assert limits["power_at_least_kw"] == pytest.approx(223.71, abs=0.01)
    assert limits["torque_at"][0]["torque_at_least_nm"] == pytest.approx(338.95, abs=0.01)
    assert shown_in(si, "power_at_least", SI) == "223.7"
    assert shown_in(us, "power_at_least", US) == "300"


def test_half_a_goal_is_told_beside_what_is_missing() -> None:
    with pytest.raises(InvalidInput) as caught:
        search_question({**SITUATION, "torque_at_least": "250"}, "USD")

    assert [one.pointer for one in caught.value.problems] == ["/torque_speed"]


def test_a_part_without_prices_is_still_told_to_machines(shop: TestClient) -> None:
    """schema.org: an Offer is where a Product's price stands; without one there is none."""
    page = shop.get(f"/builder/parts/{MODIFIED_TWIN}", params={"no_price": "yes"})

    data = linked_data(page.text)
    assert data["sku"] == MODIFIED_TWIN
    assert "offers" not in data
