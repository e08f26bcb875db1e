"""The shop's pages: parts found, files taken in, jobs, surfaces, papers, rules."""

import csv
import json
import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.api import COOKIE, KeyRing
from service.access.keys import Scope
from service.access.store import add_access_key
from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.slots import Slot
from service.catalog.specs import CamshaftSpec, CylinderHeadsSpec
from service.compliance.store import find_documents
from service.database import Database
from service.jobs.store.claims import claim_job, record_progress
from service.pages.papers import papers_on_file
from service.searches.api.firings import rule_firings
from tests.pages.test_forms import OWN, Sent
from tests.seed import SEED, of, shop_rules
from tests.served import fill

KIT = {"family": "orrin-4-4", "model_year": 1990, "use": "road", "place": "us-ca"}


@pytest.fixture
def shop(database: Database, client: TestClient) -> TestClient:
    fill(database)
    return client


def numbers(text: str) -> list[str]:
    return re.findall(r'href="/shop/change/parts/([^?"]+)', text)


def test_all_parts_are_found_a_page_at_a_time_each_once(shop: TestClient) -> None:
    found: list[str] = []
    address: str | None = "/shop/parts?sort=price"
    while address:
        text = shop.get(address).text
        found += numbers(text)
        following = re.search(r'href="([^"]+)">The next parts', text)
        address = unescape(following[1]) if following else None

    prices = [shop.get(f"/v1/parts/{sku}").json()["price"]["amount"] for sku in found[::20]]
    exported = shop.get("/v1/exports/parts.jsonl").text.splitlines()
    assert sorted(found) == sorted(json.loads(line)["value"]["sku"] for line in exported)
    assert [float(price) for price in prices] == sorted(float(price) for price in prices)


def test_parts_are_found_by_slot_engine_and_words_as_the_api_finds_them(shop: TestClient) -> None:
    wanted = {"slot": "camshaft", "family": "quay-7-6", "q": "q76 cam"}

    text = shop.get("/shop/parts", params=wanted).text

    items = shop.get("/v1/parts", params={**wanted, "limit": 25}).json()["items"]
    assert items
    assert numbers(text) == [item["sku"] for item in items]


def test_a_word_that_is_none_of_those_offered_is_named(shop: TestClient) -> None:
    page = shop.get("/shop/parts", params={"slot": "carburettor"})

    assert page.status_code == 422
    assert 'href="#slot"' in page.text


def test_a_file_is_first_told_and_then_taken_in(shop: TestClient) -> None:
    exported = shop.get("/v1/exports/parts.csv").content.decode()
    changed = exported.replace("Flint", "Flintstone", 1)
    chosen = {"file": ("parts.csv", changed.encode(), "text/csv")}

    told = shop.post("/shop/import", data={"kind": "parts"}, files=chosen, headers=OWN)
    before = shop.get("/v1/exports/parts.csv").content.decode()
    taken = shop.post("/shop/import/take", data=Sent(told.text).data, headers=OWN)

    assert "Nothing has changed yet" in told.text
    assert "change <strong>1</strong>" in told.text
    assert before == exported
    assert "change <strong>1</strong>" in taken.text
    assert "The file was taken in" in taken.text
    assert shop.get("/v1/exports/parts.csv").content.decode() == changed


def test_what_is_wrong_in_a_file_is_told_by_line_and_column_and_nothing_is_taken(
    shop: TestClient,
) -> None:
    exported = shop.get("/v1/exports/parts.csv").content.decode()
    lines = "sku,title\nNEW-1,One\n=bad key,<b>Two</b>\n"
    form = {"kind": "parts", "file_format": "csv", "lines": lines}

    told = shop.post("/shop/import", data=form, headers=OWN)
    forced = shop.post("/shop/import/take", data=form, headers=OWN)

    assert (told.status_code, forced.status_code) == (422, 422)
    assert "2 lines have something wrong" in told.text
    row = r'scope="row" class="number">3</th><td[^>]*>sku</td><td[^>]*>=bad key'
    assert re.search(row, told.text)
    assert unescape(lines) in unescape(told.text)
    assert shop.get("/v1/exports/parts.csv").content.decode() == exported


@pytest.mark.parametrize(
    "form",
    [
        {"kind": "parts", "file_format": "csv", "packed": "not base64"},
        {"kind": "parts", "file_format": "csv"},
        {"kind": "spoons", "file_format": "csv", "lines": "sku"},
        {"kind": "parts", "file_format": "xml", "lines": "sku"},
    ],
)
def test_a_form_that_holds_no_file_is_told_so(client: TestClient, form: dict[str, str]) -> None:
    page = client.post("/shop/import/take", data=form, headers=OWN)

    assert page.status_code == 422
    assert 'role="alert"' in page.text


def test_lines_that_were_typed_say_their_kind_themselves(client: TestClient) -> None:
    lines = (SEED / "engine_families.jsonl").read_text().splitlines()
    families = [json.loads(line) for line in lines]
    for one in families:
        one["value"]["stock_parts"] = {}
    text = "\n".join(json.dumps(one) for one in families)

    told = client.post("/shop/import", data={"file_format": "jsonl", "lines": text}, headers=OWN)

    assert f"put <strong>{len(families)}</strong> new into the catalogue" in told.text


def test_a_job_is_shown_with_its_progress_and_can_be_stopped(
    shop: TestClient, database: Database
) -> None:
    for year in (1990, 1991):
        asked = {**KIT, "model_year": year}
        shop.post("/v1/simulations", json=asked, headers={"Prefer": "respond-async"})
    with database.writing() as session:
        claim = claim_job(session, {"simulation"}, lease_s=60.0)
        assert claim is not None
        record_progress(session, claim, 0.4, "kit 2 of 5")

    running = shop.get("/shop/jobs").text
    stopped = shop.post(f"/shop/jobs/{claim.job_id + 1}/stop", headers=OWN).text

    assert f'value="0.4" max="1" aria-label="Progress of job {claim.job_id}"' in running
    assert "2 of these are not done yet" in running
    assert 'hx-trigger="every 2s"' in running
    assert shop.get(f"/v1/jobs/{claim.job_id + 1}").json()["state"] == "cancelled"
    assert "was stopped" in stopped


def test_a_page_whose_jobs_are_over_does_not_ask_again(client: TestClient) -> None:
    assert "hx-trigger" not in client.get("/shop/jobs").text


@pytest.mark.parametrize(("days", "old"), [(0, False), (180, False), (181, True)])
def test_a_paper_that_nobody_looked_at_for_180_days_is_marked(
    database: Database, days: int, *, old: bool
) -> None:
    """The project's own rule: issue 8, and public-law.md, section 11."""
    fill(database)
    today = date(2026, 11, 25)
    with database.reading() as session:
        stored = find_documents(session)[0]
    checked = replace(stored.value, checked_on=today - timedelta(days=days))

    (found,) = papers_on_file([replace(stored, copy_on_file=True, value=checked)], today)

    assert bool(found.to_do) is old
    assert (found.stale_from is not None and found.stale_from <= today) is old
    assert f"{days} days ago" in found.looked_at


def test_a_paper_whose_conditions_nobody_checked_wants_a_look(database: Database) -> None:
    fill(database)
    with database.reading() as session:
        stored = find_documents(session)[0]
    condition = "Demo: only with the catalyst in its place."
    told = replace(stored.value, conditions=(condition,), checked_on=date(2026, 11, 25))

    unchecked, checked = (
        papers_on_file([replace(stored, copy_on_file=True, value=one)], date(2026, 11, 25))[0]
        for one in (
            replace(told, conditions_met=None),
            replace(told, conditions_met=True),
        )
    )

    assert any(condition in one for one in unchecked.to_do)
    assert checked.to_do == ()


def test_papers_with_something_to_do_stand_first_and_can_be_had_alone(shop: TestClient) -> None:
    every = shop.get("/v1/documents", params={"limit": 100}).json()["items"]

    page, alone = shop.get("/shop/papers").text, shop.get("/shop/papers?to_do=yes").text

    assert all(one["number"] in page for one in every)
    marks = re.findall(r'<tr( class="marked")?><th scope="row"', page)
    assert marks == sorted(marks, reverse=True)
    assert alone.count("<tr class") == alone.count('scope="row"')


def test_how_often_a_rule_speaks_is_what_counting_by_hand_gives(database: Database) -> None:
    """Shares by hand: of the camshafts over the limit, and of camshafts with heads not named."""
    fill(database)
    with database.reading() as session:
        found = {(one.key, one.family): one for one in rule_firings(session)}
    cams, heads = of("quay-5-3", Slot.CAMSHAFT), of("quay-5-3", Slot.CYLINDER_HEADS)
    rules = {rule.key: rule for rule in shop_rules()}
    needs, limit = rules["q53-strong-lobes-need-springs"], rules["any-long-event-weakens-booster"]
    assert needs.other is not None
    assert limit.at_most is not None

    strong = [part for part in cams if part.sku in needs.when.skus]
    soft = [part for part in heads if part.sku not in needs.other.skus]
    long = [
        part
        for part in cams
        if isinstance(part.spec, CamshaftSpec)
        and max(part.spec.intake.seat_duration_deg, part.spec.exhaust.seat_duration_deg)
        > limit.at_most
    ]

    one, other = found[needs.key, "quay-5-3"], found[limit.key, "quay-5-3"]
    assert strong
    assert soft
    assert long
    assert all(isinstance(part.spec, CylinderHeadsSpec) for part in soft)
    assert one.speaks * len(cams) * len(heads) == one.combinations * len(strong) * len(soft)
    assert other.speaks * len(cams) == other.combinations * len(long)
    assert (needs.key, "orrin-4-4") not in found


def test_how_often_a_built_in_rule_keeps_parts_apart_is_what_counting_by_hand_gives(
    database: Database,
) -> None:
    """Exhaust flanges of the Orrin 4.4: pairs of heads and manifolds that ask past each other."""
    fill(database)
    with database.reading() as session:
        found = {(one.key, one.family): one for one in rule_firings(session)}
    heads, manifolds = of("orrin-4-4", Slot.CYLINDER_HEADS), of("orrin-4-4", Slot.EXHAUST_MANIFOLD)
    kind = InterfaceKind.EXHAUST_PORT

    def codes(joints: Iterable[Interface]) -> set[str]:
        return {each.code for each in joints if each.kind is kind}

    apart = sum(
        bool(codes(manifold.needs) - codes(head.provides))
        for head in heads
        for manifold in manifolds
    )

    one = found["interface.exhaust_port", "orrin-4-4"]
    assert one.speaks * len(heads) * len(manifolds) == one.combinations * apart


def test_the_rules_page_tells_every_rule_with_its_share(shop: TestClient) -> None:
    text = unescape(shop.get("/shop/rules").text)

    for rule in shop_rules():
        assert rule.reason in text
    assert "orrin-4-4: never" in re.sub(r"</?strong>", "", text)
    assert "interface: exhaust port" in text


def test_a_surface_is_ordered_anew_as_a_job(shop: TestClient) -> None:
    page = shop.post("/shop/surfaces/orrin-4-4/fit", headers=OWN)

    assert "surface fit" in page.text
    assert shop.get("/v1/jobs").json()["items"][0]["state"] == "queued"


@pytest.mark.parametrize(
    "path", ["", "/parts", "/families", "/import", "/papers", "/jobs", "/surfaces", "/rules"]
)
def test_a_page_of_an_empty_shop_says_that_there_is_nothing(client: TestClient, path: str) -> None:
    page = client.get(f"/shop{path}")

    assert page.status_code == 200
    assert re.search(r"\bN[oo]|\bThere (is|are) none|is all|Nothing|Which file", page.text)


@pytest.mark.parametrize(
    "path",
    [
        "/shop/change/spoons/one",
        "/shop/new/spoons",
        "/shop/jobs?before=yesterday",
        "/shop/jobs?before=0",
        f"/shop/jobs?before={'9' * 5000}",
    ],
)
def test_an_address_that_means_nothing_is_answered_by_a_page(client: TestClient, path: str) -> None:
    answer = client.get(path)

    assert answer.status_code == 422
    assert answer.headers["content-type"].startswith("text/html")
    assert ("before is" in answer.text) == ("before" in path)


def test_flow_is_told_as_the_api_tells_it_and_in_litres_a_second(shop: TestClient) -> None:
    sku = "Q76-HEADS-FLINT"
    spec = shop.get(f"/v1/parts/{sku}").json()["spec"]

    page = shop.get(f"/builder/parts/{sku}").text
    us, si = (
        list(csv.reader(shop.get(f"/builder/parts/{sku}/flow.csv?units={units}").text.splitlines()))
        for units in ("us", "si")
    )

    points = [(port, one) for port in ("intake", "exhaust") for one in spec[port]["flow"]]
    assert [row[0] for row in us[1:]] == [port for port, _ in points]
    flows = [one["flow_cfm"] for _, one in points]
    assert [float(row[2]) for row in us[1:]] == pytest.approx(flows, abs=0.051)
    # 1 in = 25.4 mm, 1 ft = 0.3048 m (NIST SP 811, appendix B).
    for inch, metric, (_, one) in zip(us[1:], si[1:], points, strict=True):
        assert float(inch[1]) * 25.4 == pytest.approx(one["lift_mm"], abs=0.02)
        assert float(metric[1]) == pytest.approx(one["lift_mm"], abs=0.05)
        litres = one["flow_cfm"] * 0.3048**3 / 60 * 1000
        assert float(metric[2]) == pytest.approx(litres, abs=0.06)
    assert 'class="line line0"' in page
    assert 'class="line line1"' in page
    assert shop.get("/builder/parts/Q76-MANIFOLD-BITTERN/flow.csv").status_code == 404


def test_every_file_of_the_shop_opens_for_who_has_logged_in(
    shop: TestClient, database: Database
) -> None:
    """The key in a cookie opens no address of the API, so no page may lead to one."""
    with database.writing() as session:
        key = add_access_key(session, "demo-shop", [Scope.SHOP])
    app: Any = shop.app
    app.state.key_ring = KeyRing(database)
    shop.cookies.set(COOKIE, key)

    opened = set()
    for address in ("/shop/import", "/shop/papers", "/shop/jobs", "/shop"):
        links = [unescape(each) for each in re.findall(r'href="(/[^"]+)"', shop.get(address).text)]
        assert [each for each in links if each.startswith("/v1/")] == []
        for link in {each for each in links if re.match(r"/shop/export/|.*/copy$", each)}:
            answer = shop.get(link)
            assert answer.status_code == 200, link
            assert "attachment" in answer.headers["Content-Disposition"]
            opened.add(link.rpartition("/")[2])
    assert {"parts.csv", "documents.jsonl", "copy"} <= opened
