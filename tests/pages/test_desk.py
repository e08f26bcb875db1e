"""What the desk is told goes along, and what it finds is told in full; read without a browser."""

import csv
import re
from collections.abc import Iterator, Mapping
from functools import partial
from html import unescape
from itertools import combinations
from typing import Any
from urllib.parse import parse_qsl

import pytest
from fastapi import Request
from fastapi.testclient import TestClient

from service.app import create_app
from service.database import Database
from service.pages.api import found
from service.pages.api.asking import searched
from service.schema import upgrade_schema
from service.searches.api import searcher
from service.searches.field import field_of
from service.settings import Settings
from service.surfaces.schemas import read_surfaces
from service.surfaces.store import put_surface
from tests.seed import SEED
from tests.served import fill, sqlite_url

SITUATION = {"family": "orrin-4-4", "model_year": "1990", "use": "road", "place": "us-ca"}


@pytest.fixture(scope="module")
def searchable(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """Serve the demo with the surface of its smallest family."""
    url = sqlite_url(tmp_path_factory.mktemp("desk") / "kitwright.db")
    database = Database.open(url, pool_size=2)
    upgrade_schema(database.engine)
    fill(database)
    with database.writing() as session:
        for fitted in read_surfaces((SEED / "surfaces.json").read_bytes()):
            if fitted.family == SITUATION["family"]:
                put_surface(session, fitted)
    database.close()
    settings = Settings(_env_file=None, database_url=url, job_worker=False)
    with TestClient(create_app(settings)) as client:
        yield client


WANTED = {
    **SITUATION,
    "aim": "mean_torque",
    "budget": "3000",
    "power_at_least": "215",
    "torque_at_least": "200",
    "torque_speed": "3000",
    "band_from": "2500",
    "band_to": "4000",
    "papers": "no_paper",
    "other_place": "us-federal",
}


def links(text: str, path: str) -> list[dict[str, str]]:
    """Return what the links of a page to one path say, in their order."""
    found = re.findall(rf'href="{re.escape(path)}\?([^"]*)"', text)
    return [dict(parse_qsl(unescape(each))) for each in found]


def test_what_was_typed_at_the_desk_goes_along_to_every_page_about_a_kit(
    searchable: TestClient,
) -> None:
    kits = searchable.get("/desk", params=WANTED)
    kit = links(kits.text, "/desk/kit")[0]
    shown = searchable.get("/desk/kit", params=kit).text
    quote = searchable.get("/desk/quotes/new", params=links(shown, "/desk/quotes/new")[0]).text
    goal = searchable.get("/desk/kit/goal", params=kit).text

    assert kits.status_code == 200
    assert kit | WANTED == kit
    assert WANTED in links(shown, "/desk")
    assert 'id="torque_speed" name="torque_speed" inputmode="numeric" value="3000"' in shown
    assert 'id="band_to" name="band_to" inputmode="numeric" value="4000"' in goal
    # Swapping is a form of its own: what stands in no field of it stands hidden.
    swap = shown.split("Swap a part")[1].split("</form>")[0]
    hidden = dict(re.findall(r'type="hidden" name="([a-z_]+)" value="([^"]*)"', swap))
    assert hidden | WANTED == hidden
    for text in (shown, quote):
        assert "papers for United States, federal rules too" in text
    assert "And in United States, federal rules?" in shown
    assert "Papers were asked for in United States, federal rules too" in quote


def test_the_list_shows_what_it_ranks_by_and_no_kit_twice(searchable: TestClient) -> None:
    asked = {
        "question": {**SITUATION, "model_year": 1990},
        "objective": {"aim": "mean_torque"},
        "most_alike": 1,
        "count": 20,
        "confirmed": 0,
    }
    ranking = searchable.post("/v1/searches", json=asked).json()["result"]["ranking"]
    params = {**SITUATION, "aim": "mean_torque", "units": "si"}

    first = searchable.get("/desk", params=params).text
    more = searchable.get("/desk", params=links(first, "/desk")[-1]).text

    listed = [page.split("</form>")[1] for page in (first, more)]
    shown = re.findall(r'data-head="Mean torque, N·m">([\d,]+)<', "".join(listed))
    assert shown == [f"{kit['mean_torque_nm']:,.0f}" for kit in ranking]
    for one, other in combinations(ranking, 2):
        assert sum(one["parts"][slot] != other["parts"][slot] for slot in one["parts"]) > 1


def test_what_comes_on_top_of_the_parts_of_a_kit_stands_in_the_list(
    searchable: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The smallest demo family needs neither: the search is made to answer that it does."""
    work = {"title": "Demo work", "sku": "DEMO-1", "price": {"amount": "81.00", "currency": "USD"}}

    def with_work(request: Request, question: Mapping[str, Any]) -> dict[str, Any]:
        result = searched(request, question)
        result["ranking"][0]["machining"] = [work]
        return result

    monkeypatch.setattr(found, "searched", with_work)

    page = searchable.get("/desk", params=SITUATION).text

    assert "On top: Demo work (DEMO-1), 81.00 USD" in page


def test_what_has_to_give_leads_to_the_kit_that_it_opens(searchable: TestClient) -> None:
    asked = {**SITUATION, "budget": "900", "power_at_least": "235"}

    page = searchable.get("/desk", params=asked).text

    opened = [searchable.get("/desk/kit", params=kit).text for kit in links(page, "/desk/kit")]
    assert len(opened) == 2
    prices = re.findall(r"(?:hp for) ([\d.]+ USD)", page)
    assert all(price in kit for price, kit in zip(prices, opened, strict=True))


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"budget": "500", "budget_in": "EUR"}, "are priced in USD"),
        ({"aim": "least_price"}, "Say what the kit has to reach for the lowest price"),
        ({"torque_at_least": "250"}, "Say at how many rev/min the pull is wanted."),
        ({"model_year": "1950"}, "Orrin 4.4 was built from 1987 to 1998."),
    ],
)
def test_a_question_is_refused_in_the_words_of_the_counter(
    searchable: TestClient, asked: dict[str, str], says: str
) -> None:
    """The years are those of the family in the seed catalogue."""
    page = searchable.get("/desk", params={**SITUATION, **asked})

    assert page.status_code == 422
    assert says in unescape(page.text)
    assert "`" not in page.text


def test_a_search_that_ran_out_says_which_part_is_proven(
    searchable: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(searcher, "field_of", partial(field_of, most=100))
    # Another year than the other tests ask about: what is listed already is not listed again.
    year = {"model_year": "1991"}

    page = searchable.get("/desk", params={**SITUATION, **year}).text
    asked = {"question": {**SITUATION, "model_year": 1991}, "confirmed": 0}
    proof = searchable.post("/v1/searches", json=asked).json()["result"]["proof"]

    assert not proof["complete"]
    assert "Not all was looked at." in page
    assert all(sku in page.split("Not all was looked at.")[1] for sku in proof["looked_at"])


def test_the_trade_off_is_listed_with_mean_torque_and_parts(searchable: TestClient) -> None:
    asked = {"question": {**SITUATION, "model_year": 1990}, "confirmed": 0}
    front = searchable.post("/v1/searches", json=asked).json()["result"]["front"]

    desk = searchable.get("/desk", params=SITUATION).text
    table = searchable.get("/desk/front", params=SITUATION).text
    file = searchable.get("/desk/front.csv", params={**SITUATION, "units": "si"})
    rows = list(csv.reader(file.content.decode("utf-8-sig").splitlines()))

    assert [row[3] for row in rows[1:]] == [f"{one['mean_torque_nm']:.1f}" for one in front]
    assert len(links(table, "/desk/kit")) == len(front)
    for one, row in zip(front, rows[1:], strict=True):
        assert all(line["sku"] in row[4] for line in one["price"]["lines"])
    # A picture is one stop of the Tab key, however many points it has.
    svg = re.findall(r"<svg.*?</svg>", desk, re.DOTALL)[0]
    assert svg.count("<a ") == svg.count('tabindex="-1"') > 0


@pytest.mark.parametrize("path", ["/desk", "/desk/kit", "/desk/compare", "/desk/front", "/shop"])
def test_a_page_with_something_on_it_has_the_strict_policy(
    searchable: TestClient, path: str
) -> None:
    """CSP Level 3 of the W3C: nothing is loaded but what a directive allows."""
    page = searchable.get(path, params={**SITUATION, "kit": "camshaft:O44-CAM-TOGGLE"})

    policy = page.headers["Content-Security-Policy"]
    assert page.status_code == 200
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"<[^>]+ (style|on[a-z]+)=", page.text)
