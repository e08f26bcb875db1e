"""Searches over HTTP, on both databases."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from math import pi
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from service.app import open_assessor
from service.catalog.interfaces import Interface, InterfaceKind
from service.catalog.parts import Part
from service.catalog.rules import RuleKind, RuleQuantity, RuleSeverity, Selector, ShopRule
from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part, load_part, save_part
from service.catalog.store.rules import add_rule
from service.catalog.supplies import AdaptersSpec, MachiningSpec
from service.database import Database
from service.kits.power import curve_speeds_rpm
from service.searches.answer import RankedKit
from service.searches.api.searcher import Searcher
from service.searches.confirming import Yardstick, confirmation
from service.searches.question import Aim, Limits, Objective, SearchRequest, TorqueAt
from service.surfaces.store import put_surface
from tests.factories import FAMILY_KEY, make_family, make_part
from tests.kits.assembled import level_torque
from tests.searches.made import plain_question
from tests.surfaces.made import HOT_CAM, LONG_RUNNERS, all_parts, made_surface

ADDRESS = "/v1/searches"
QUESTION = {"family": FAMILY_KEY, "use": "road", "place": "us-ca", "model_year": 2000}
RANKED: TypeAdapter[RankedKit] = TypeAdapter(RankedKit)
KITS = 4
"""Two manifolds with two camshafts."""


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family, its parts and its surface."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in all_parts():
            add_part(session, fed(part))
        save_family(session, make_family(), version=1)
        put_surface(session, made_surface())
    with TestClient(app) as client:
        app.state.assessor = open_assessor(app.state.database, level_torque)
        app.state.searcher = Searcher.beside(app.state.assessor)
        yield client


def fed(part: Part) -> Part:
    """Injectors large enough for the made surface's 400 kW; all else as it is."""
    spec: Any = part.spec
    return (
        replace(part, spec=replace(spec, static_flow_lb_per_h=90.0))
        if (part.slot is Slot.INJECTORS)
        else part
    )


def ask(client: TestClient, **changes: Any) -> dict[str, Any]:  # noqa: ANN401 - any JSON.
    answer = client.post(ADDRESS, json={"question": QUESTION, **changes})
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def refused(client: TestClient, **changes: Any) -> dict[str, str]:  # noqa: ANN401 - any JSON.
    """Pointer and code of every field that is refused."""
    answer = client.post(ADDRESS, json={"question": QUESTION, **changes})
    assert answer.status_code == 422, answer.text
    return {each["pointer"]: each["code"] for each in answer.json()["errors"]}


def test_every_kit_is_looked_at_and_ranked(client: TestClient) -> None:
    found = ask(client)

    result = found["result"]
    assert result["proof"]["complete"] is True
    assert result["proof"]["combinations"] == KITS
    assert result["proof"]["fitting"] == len(result["ranking"])
    values = [kit["value"] for kit in result["ranking"]]
    assert values == sorted(values, reverse=True)
    assert [kit["position"] for kit in result["ranking"]] == list(range(1, len(values) + 1))
    assert client.get(f"{ADDRESS}/{found['id']}").json() == found


def test_a_ranked_kit_has_the_figures_of_its_assessment_by_surface(client: TestClient) -> None:
    for kit in ask(client)["result"]["ranking"]:
        question = {**kit["assessment"], "tier": "surface"}

        told = client.post("/v1/assessments", json=question).json()

        assert told["fits"] is True
        assert told["score"]["peak_power_kw"] == pytest.approx(
            kit["score"]["peak_power_kw"], rel=5e-4
        )
        assert told["score"]["peak_power_low_kw"] == pytest.approx(
            kit["score"]["peak_power_low_kw"], rel=5e-4
        )
        assert told["score"]["street_legal_flag"] == kit["score"]["street_legal_flag"]
        assert told["paperwork"]["outcome"] == kit["paperwork"]
        assert told["price"] == kit["price"]
        assert [each["code"] for each in told["fit"]] == [each["code"] for each in kit["fit"]]


def test_a_kit_that_needs_machining_shows_it_with_its_price(
    client: TestClient, database: Database
) -> None:
    """A millimetre off the heads is .86 mm of offset at the intake (G1): past .020 in (G18)."""
    work = make_part(
        sku="QUAY-WORK",
        title="Machine the manifold",
        factory_part=False,
        spec=MachiningSpec(finding="intake.needs_machining"),
        provides=(),
        needs=(),
        price_cents=26_500,
    )
    with database.writing() as session:
        add_part(session, work)
    engine = {"compression_ratio": 9.2, "machined": {"right": {"head_mill_mm": 1.0}}}

    milled = ask(client, question={**QUESTION, "engine": engine})["result"]["ranking"]
    plain = ask(client)["result"]["ranking"]

    assert {kit["machining"][0]["price"]["amount"] for kit in milled} == {"265.00"}
    assert [kit["price"] for kit in milled] == [kit["price"] for kit in plain]
    assert {len(kit["machining"]) for kit in plain} == {0}
    told = client.post("/v1/assessments", json={**milled[0]["assessment"], "tier": "surface"})
    assert told.json()["parts_list"]["machining"] == milled[0]["machining"]


def test_a_kit_that_goes_together_by_an_adapter_is_ranked_with_it(
    client: TestClient, database: Database
) -> None:
    """The manifold with long runners is given another throttle flange, then a plate for it."""
    wide = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="quay-wide-throttle")
    single = Interface(kind=InterfaceKind.THROTTLE_FLANGE, code="quay-single")
    plate = make_part(
        sku="QUAY-PLATE",
        factory_part=False,
        spec=AdaptersSpec(thickness_mm=20.0),
        needs=(wide,),
        provides=(single,),
        price_cents=9_400,
    )
    with database.writing() as session:
        stored = load_part(session, LONG_RUNNERS)
        others = (one for one in stored.value.provides if one.kind is not wide.kind)
        save_part(session, replace(stored.value, provides=(*others, wide)), version=stored.version)
    assert ask(client)["result"]["proof"]["fitting"] == KITS // 2

    with database.writing() as session:
        add_part(session, plate)
    ranking = ask(client)["result"]["ranking"]

    assert len(ranking) == KITS
    for kit in ranking:
        by_plate = kit["parts"]["intake_manifold"] == LONG_RUNNERS
        assert [one["price"]["amount"] for one in kit["adapters"]] == ["94.00"] * by_plate


def test_supplies_are_no_part_of_a_search(client: TestClient) -> None:
    assert refused(client, fixed={"gaskets": "ANY"}) == {"/fixed/gaskets": "unknown"}


def test_fixed_allowed_and_excluded_parts_are_kept_to(client: TestClient) -> None:
    fixed = ask(client, fixed={"camshaft": HOT_CAM})["result"]["ranking"]
    allowed = ask(client, allowed={"intake_manifold": [LONG_RUNNERS]})["result"]["ranking"]
    excluded = ask(client, excluded=[HOT_CAM])["result"]["ranking"]

    assert {kit["parts"]["camshaft"] for kit in fixed} == {HOT_CAM}
    assert {kit["parts"]["intake_manifold"] for kit in allowed} == {LONG_RUNNERS}
    assert HOT_CAM not in {kit["parts"]["camshaft"] for kit in excluded}


def test_when_nothing_fits_the_limits_in_the_way_are_named(client: TestClient) -> None:
    found = ask(client, limits={"power_at_least_kw": 900.0, "keeps_stock_exterior": True})

    result = found["result"]
    assert result["ranking"] == []
    assert ["power_at_least_kw"] in [each["limits"] for each in result["openings"]]
    assert result["openings_count"] == len(result["openings"])
    for opening in result["openings"]:
        assert opening["best"]["position"] == 1


def test_a_kit_that_is_named_is_told_why_it_is_not_first(client: TestClient) -> None:
    best = ask(client)["result"]["ranking"][0]["parts"]

    first = ask(client, compared=best)["result"]["compared"]
    short = ask(client, compared=best, limits={"power_at_least_kw": 900.0})["result"]["compared"]

    assert (first["position"], first["goes_together"], first["fit"]) == (1, True, [])
    assert short["broken_limits"] == ["power_at_least_kw"]
    assert short["position"] is None


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"fixed": {"camshaft": "NO-SUCH"}}, {"/fixed/camshaft": "unknown"}),
        ({"excluded": ["NO-SUCH"]}, {"/excluded/0": "unknown"}),
        (
            {"fixed": {"camshaft": HOT_CAM}, "excluded": [HOT_CAM]},
            {"/fixed/camshaft": "slot_empty"},
        ),
        (
            {"limits": {"torque_at": [{"speed_rpm": 9000.0, "torque_at_least_nm": 1.0}]}},
            {"/limits/torque_at/0/speed_rpm": "outside_speeds"},
        ),
        ({"objective": {"aim": "least_price"}}, {"/objective/aim": "no_target"}),
        ({"objective": {"aim": "weighted"}}, {"/objective/weights": "missing"}),
        ({"limits": {"places": ["atlantis"]}}, {"/limits/places/0": "unknown"}),
        (
            {"torque_range": {"low_rpm": 4000.0, "high_rpm": 3000.0}},
            {"/torque_range/low_rpm": "range"},
        ),
    ],
)
def test_what_no_catalogue_could_answer_is_refused_by_its_field(
    client: TestClient, changes: dict[str, Any], expected: dict[str, str]
) -> None:
    assert refused(client, **changes) == expected


@pytest.mark.parametrize("amount", [2500, 2500.0, "2500.001", "-1", "10000000.01"])
def test_money_is_decimal_text_and_never_a_number(client: TestClient, amount: object) -> None:
    limits = {"price_at_most": {"amount": amount, "currency": "USD"}}

    assert list(refused(client, limits=limits)) == ["/limits/price_at_most/amount"]


def test_the_rest_of_a_ranking_is_read_piece_by_piece(client: TestClient) -> None:
    found = ask(client, count=1)
    seen: list[dict[str, Any]] = []
    cursor: str | None = ""
    while cursor is not None:
        address = f"{found['ranking_url']}?limit=1" + (f"&cursor={cursor}" if cursor else "")
        page = client.get(address).json()
        seen += page["items"]
        cursor = page["next_cursor"]

    assert seen == ask(client, count=100)["result"]["ranking"]


def test_a_rerun_tells_what_changed_and_why(client: TestClient, database: Database) -> None:
    before = ask(client)
    with database.writing() as session:
        cam = load_part(session, HOT_CAM)
        dearer = replace(cam.value, price_cents=cam.value.price_cents + 10_000)
        save_part(session, dearer, version=cam.version)

    stale = client.get(before["ranking_url"])
    again = client.post(f"{ADDRESS}/{before['id']}/reruns")

    assert stale.status_code == 409
    assert again.status_code == 201
    since = again.json()["since_then"]
    assert since["repeats"] == before["id"]
    (line,) = since["catalogue"]
    assert line.startswith(f"{HOT_CAM} changed: price")
    assert client.get(f"{ADDRESS}/{before['id']}").json()["result"] == before["result"]


def test_the_first_kits_wait_to_be_simulated(client: TestClient) -> None:
    found = ask(client, confirmed=2)

    assert found["confirmation"]["state"] == "running"
    assert client.get(found["confirmation"]["simulation_url"]).status_code == 200


def test_the_first_kits_are_confirmed_at_once_where_they_were_simulated(
    client: TestClient,
) -> None:
    first = ask(client, confirmed=0)["result"]["ranking"][:2]
    for kit in first:
        assert client.post("/v1/assessments", json=kit["assessment"]).status_code == 200

    confirmation = ask(client, confirmed=2)["confirmation"]

    assert confirmation["state"] == "done"
    assert [kit["position"] for kit in confirmation["kits"]] == [1, 2]
    assert {kit["simulated_position"] for kit in confirmation["kits"]} == {1, 2}


def test_a_search_that_is_not_there_is_not_found(client: TestClient) -> None:
    assert client.get(f"{ADDRESS}/999").status_code == 404


def test_a_family_without_a_surface_is_told_how_to_get_one(
    app: FastAPI, database: Database
) -> None:
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in all_parts():
            add_part(session, part)
        save_family(session, make_family(), version=1)
    with TestClient(app) as client:
        answer = client.post(ADDRESS, json={"question": QUESTION})

    assert answer.status_code in (409, 422)
    assert "refits" in answer.json()["detail"]


def test_a_new_price_needs_no_curve_again(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    ask(client)
    with database.writing() as session:
        cam = load_part(session, HOT_CAM)
        save_part(session, replace(cam.value, price_cents=1), version=cam.version)
    monkeypatch.setattr("service.searches.api.memory.surface_curves", None)

    assert ask(client)["result"]["proof"]["fitting"] == KITS


NO_CAMS = ShopRule(
    key="no-cams",
    kind=RuleKind.LIMITS,
    severity=RuleSeverity.BLOCKS,
    when=Selector(slot=Slot.CAMSHAFT),
    quantity=RuleQuantity.SEAT_DURATION_DEG,
    at_most=1.0,
    reason="The cam grinder is away.",
    remedy="Wait for the grinder.",
)


def test_a_rule_that_empties_the_catalogue_is_named_with_what_it_would_take(
    client: TestClient, database: Database
) -> None:
    with database.writing() as session:
        add_rule(session, NO_CAMS)

    for more in ({}, {"objective": {"aim": "power_per_money"}}, {"fixed": {"camshaft": HOT_CAM}}):
        result = ask(client, what_it_takes=True, **more)["result"]

        assert result["ranking"] == []
        (obstacle,) = result["obstacles"]
        (rule,) = obstacle["rules"]
        (gone,) = [one for one in result["proof"]["rules"] if one["name"] == rule]
        assert (gone["in_order"], obstacle["combinations"]) == (KITS, KITS)
        assert [each["code"] for each in obstacle["fit"]] == [rule]
        assert NO_CAMS.remedy in obstacle["fit"][0]["remedy"]
    situation: dict[str, Any] = {**QUESTION, "power_at_least": "200"}
    for page in ("/desk", "/desk/kit/goal"):
        assert NO_CAMS.remedy in client.get(page, params=situation).text


def test_a_value_of_the_engine_that_nothing_goes_with_is_refused_by_its_field(
    client: TestClient,
) -> None:
    engine = {"rev_limit_rpm": 9000.0}

    assert list(refused(client, question={**QUESTION, "engine": engine})) == [
        "/question/engine/rev_limit_rpm"
    ]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"parts": {"camshaft": "NO-SUCH"}}, "/question/parts/camshaft"),
        ({"model_year": 1930}, "/question/model_year"),
        (
            {"engine": {"machined": {"right": {}, "casting_generation": "none"}}},
            "/question/engine/machined/casting_generation",
        ),
    ],
)
def test_what_is_wrong_with_the_question_is_pointed_at_inside_it(
    client: TestClient, changes: dict[str, Any], pointer: str
) -> None:
    assert list(refused(client, question={**QUESTION, **changes})) == [pointer]


APART = ShopRule(
    key="hot-cam-short-runners",
    kind=RuleKind.EXCLUDES,
    severity=RuleSeverity.BLOCKS,
    when=Selector(skus=(HOT_CAM,)),
    other=Selector(skus=(LONG_RUNNERS,)),
    reason="The idle hunts.",
    remedy="Take the other manifold.",
)


def test_a_named_kit_is_told_by_how_much_it_misses_whether_it_goes_together_or_not(
    client: TestClient, database: Database
) -> None:
    named = {"camshaft": HOT_CAM, "intake_manifold": LONG_RUNNERS}
    limits = {
        "power_at_least_kw": 900.0,
        "price_at_most": {"amount": "10.00", "currency": "USD"},
        "keeps_stock_exterior": True,
    }
    ranked = {tuple(k["parts"].values()): k for k in ask(client)["result"]["ranking"]}

    before = ask(client, compared=named, limits=limits)["result"]["compared"]
    with database.writing() as session:
        add_rule(session, APART)
    after = ask(client, compared=named, limits=limits)["result"]["compared"]

    kit = ranked[tuple(before["parts"].values())]
    assert (before["fit"], [one["code"] for one in after["fit"]]) == (
        [],
        [f"shop_rule.{APART.key}"],
    )
    for told in (before, after):
        missed = {one["limit"]: one for one in told["missed"]}
        assert told["broken_limits"] == list(missed)
        power, price = missed["power_at_least_kw"], missed["price_at_most"]
        assert power["measured"]["value"] == pytest.approx(kit["score"]["peak_power_kw"], rel=5e-4)
        assert power["wanted"] == {"value": 900.0, "unit": "kW"}
        assert f"{price['measured']['value']:.2f}" == kit["price"]["totals"][0]["amount"]
        assert all(one["remedy"] for one in told["missed"])


def test_a_rerun_names_the_rule_that_keeps_kits_apart_since(
    client: TestClient, database: Database
) -> None:
    before = ask(client)
    with database.writing() as session:
        add_rule(session, APART)

    since = client.post(f"{ADDRESS}/{before['id']}/reruns").json()["since_then"]

    assert since["catalogue"] == [f"The rule {APART.key} is new."]
    (gone,) = [one for one in since["moved"] if one["now"] is None]
    assert (gone["parts"]["camshaft"], gone["parts"]["intake_manifold"]) == (HOT_CAM, LONG_RUNNERS)
    (because,) = gone["because"]
    assert f"shop_rule.{APART.key}" in because


def test_a_rerun_on_another_surface_says_so_of_every_kit(
    client: TestClient, database: Database
) -> None:
    before = ask(client)
    with database.writing() as session:
        stronger = made_surface()
        put_surface(session, replace(stronger, fitted_at=stronger.fitted_at + timedelta(days=1)))

    since = client.post(f"{ADDRESS}/{before['id']}/reruns").json()["since_then"]

    assert since["catalogue"] == ["The surface changed."]


@pytest.mark.parametrize("aim", ["least_price", "peak_power"])
def test_a_rung_that_is_not_enough_is_nearer_to_the_goal_than_the_kit_in_hand(
    client: TestClient, aim: str
) -> None:
    """Torque where long runners have more of it and less power: power must not decide."""
    goal = {"torque_at": [{"speed_rpm": 2000.0, "torque_at_least_nm": 5000.0}]}

    result = ask(client, limits=goal, objective={"aim": aim}, what_it_takes=True)["result"]

    (hand,) = result["in_hand_misses"]
    (rung,) = result["what_it_takes"]
    assert rung["changes"] == {"intake_manifold": LONG_RUNNERS}
    assert rung["missed"][0]["measured"]["value"] > hand["measured"]["value"]
    assert rung["missed"][0]["wanted"] == {"value": 5000.0, "unit": "N·m"}


def test_there_is_no_ladder_from_a_kit_that_keeps_every_limit(client: TestClient) -> None:
    limits = {"power_at_least_kw": 100.0}

    result = ask(client, limits=limits, objective={"aim": "least_price"}, what_it_takes=True)

    assert result["result"]["in_hand_misses"] == []
    assert result["result"]["what_it_takes"] == []


def test_a_kit_that_misses_its_target_by_simulation_comes_after_those_that_do_not(
    client: TestClient,
) -> None:
    """A level torque makes its most power at the last speed: 400 N·m bring 251 kW at 6,000."""
    asked = SearchRequest(
        question=plain_question(),
        limits=Limits(
            power_at_least_kw=300.0, torque_at=(TorqueAt(speed_rpm=3000, torque_at_least_nm=500),)
        ),
        objective=Objective(aim=Aim.LEAST_PRICE),
    )
    first = [RANKED.validate_python(one) for one in ask(client)["result"]["ranking"][:2]]
    speeds = curve_speeds_rpm(6000.0)
    simulated = [
        {"kit": {"assessment_url": "", "curve": [at(rpm, torque) for rpm in speeds]}}
        for torque in (400.0, 600.0)
    ]
    none = Yardstick(peak_power=0.0, mean_torque=0.0, torque_low_rpm=2e3, torque_high_rpm=5e3)

    found = confirmation(asked, first, simulated, none, "")

    missing, enough = found.kits
    assert (missing.simulated_position, enough.simulated_position, found.swapped) == (2, 1, True)
    told = {one.limit: one.measured.value for one in missing.missed if one.measured}
    assert told["torque_at.3000"] == pytest.approx(400.0)
    assert told["power_at_least_kw"] == pytest.approx(400.0 * 6000.0 * pi / 30.0 / 1e3, abs=1e-3)
    assert enough.missed == ()


def at(rpm: float, torque: float) -> dict[str, float]:
    return {"speed_rpm": float(rpm), "torque_nm": torque}


def test_a_ranked_kit_tells_what_its_place_asks_and_its_peak_torque(client: TestClient) -> None:
    kit = ask(client)["result"]["ranking"][0]

    told = client.post("/v1/assessments", json={**kit["assessment"], "tier": "surface"}).json()

    assert kit["jurisdiction_outcome"] == told["jurisdiction_note"]["outcome"]
    assert kit["peak_torque_nm"] == pytest.approx(told["peaks"]["torque"]["torque_nm"], rel=5e-4)


def test_the_page_of_a_goal_says_how_near_a_change_comes_by_the_goals_own_measure(
    client: TestClient,
) -> None:
    goal = {"torque_at": [{"speed_rpm": 2000.0, "torque_at_least_nm": 5000.0}]}
    (rung,) = ask(client, limits=goal, what_it_takes=True)["result"]["what_it_takes"]
    situation: dict[str, Any] = {**QUESTION, "aim": "least_price", "units": "si"}
    torque = {"torque_at_least": "5000", "torque_speed": "2000"}

    told = client.get("/desk/kit/goal", params={**situation, **torque}).text
    there = client.get("/desk/kit/goal", params={**situation, "power_at_least": "100"}).text

    assert LONG_RUNNERS in told
    assert f"{rung['missed'][0]['measured']['value']:.0f} N·m of 5,000 N·m" in told
    assert "reaches that as it is" in there
