"""Surfaces over HTTP, and assessments that are read off them, on both databases."""

from collections.abc import Iterator
from dataclasses import replace
from threading import Event
from typing import Any

import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.app import open_assessor
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part
from service.database import Database
from service.engine.uncertainty import BOUND_WIDTH
from service.surfaces.api import CatalogueWatch
from service.surfaces.store import put_surface
from tests.factories import FAMILY_KEY, make_family
from tests.kits.assembled import level_torque
from tests.surfaces.made import LONG_RUNNERS, all_parts, made_surface

ADDRESS = f"/v1/surfaces/{FAMILY_KEY}"
QUESTION = {
    "family": FAMILY_KEY,
    "use": "road",
    "place": "us-ca",
    "model_year": 2000,
    "tier": "surface",
}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family and its parts; no surface yet."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in all_parts():
            add_part(session, part)
        save_family(session, make_family(), version=1)
    with TestClient(app) as client:
        app.state.own_assessor = app.state.assessor
        app.state.assessor = open_assessor(app.state.database, level_torque)
        yield client


@pytest.fixture
def fitted(client: TestClient, database: Database) -> TestClient:
    """The same with the family's surface."""
    keep(database)
    return client


def keep(database: Database, **changes: Any) -> None:  # noqa: ANN401 - any field of a surface.
    with database.writing() as session:
        put_surface(session, replace(made_surface(), **changes))


def ask(client: TestClient, **changes: Any) -> dict[str, Any]:  # noqa: ANN401 - any JSON.
    answer = client.post("/v1/assessments", json={**QUESTION, **changes})
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_a_surface_tells_its_errors_its_range_and_its_model(fitted: TestClient) -> None:
    answer = fitted.get(ADDRESS)

    body, errors = answer.json(), made_surface().errors
    assert answer.status_code == 200
    assert body["errors"]["torque_median"] == pytest.approx(errors.torque_median)
    assert body["model_version"] == made_surface().model_version
    assert body["is_of_this_version"] is True
    (length,) = [each for each in body["range"] if each["name"] == "runner_length"]
    assert length["unit"] == "m"
    assert length["low"] < length["high"]
    assert fitted.get("/v1/surfaces").json() == [body]


def test_what_the_caller_holds_already_is_not_sent_again(
    fitted: TestClient, database: Database
) -> None:
    etag = fitted.get(ADDRESS).headers["ETag"]
    assert fitted.get(ADDRESS, headers={"If-None-Match": etag}).status_code == 304

    keep(database, model_version="another")

    answer = fitted.get(ADDRESS, headers={"If-None-Match": etag})
    assert answer.status_code == 200
    assert answer.json()["is_of_this_version"] is False


def test_a_family_without_a_surface_is_a_404_that_names_the_refit(client: TestClient) -> None:
    answer = client.get(ADDRESS)

    assert answer.status_code == 404
    assert f"POST {ADDRESS}/refits" in answer.json()["detail"]


def test_a_refit_is_a_job(client: TestClient) -> None:
    answer = client.post(f"{ADDRESS}/refits")

    assert answer.status_code == 202
    assert answer.json()["kind"] == "surface_fit"
    job = client.get(answer.headers["Location"]).json()
    assert job["id"] == answer.json()["id"]
    assert client.post(f"{ADDRESS}/refits").json()["id"] == job["id"]


def test_a_refit_of_no_family_is_a_404(client: TestClient) -> None:
    assert client.post("/v1/surfaces/nobody/refits").status_code == 404


def test_a_kit_inside_is_read_off_the_surface_and_says_so(fitted: TestClient) -> None:
    answer = ask(fitted, parts={"intake_manifold": LONG_RUNNERS})

    assert answer["provenance"]["tier"] == "surface"
    assert answer["provenance"]["surface"]["used"] is True
    assert answer["provenance"]["surface"]["outside_fitted_range"] == []
    assert answer["restriction_ladder"] is None
    assert len({round(point["torque_nm"], 3) for point in answer["curve"]}) > 1
    assert all(point["converged"] is None for point in answer["curve"])


def test_the_bounds_hold_the_error_of_the_surface_too(fitted: TestClient) -> None:
    """Independent errors add as squares."""
    answer = ask(fitted)

    (first, *_), own = answer["curve"], made_surface().own_error
    half_width = first["torque_high_nm"] / first["torque_nm"] - 1.0
    expected = np.hypot(made_surface().input_errors[0], BOUND_WIDTH * own[0])
    assert half_width == pytest.approx(expected, rel=1e-3)
    assert half_width > made_surface().input_errors[0]
    assert any(each.startswith("surface: ") for each in answer["basis"]["assumptions"])


def test_without_the_word_a_kit_is_simulated(fitted: TestClient) -> None:
    answer = ask(fitted, tier="simulation")

    assert answer["provenance"]["tier"] != "surface"
    assert answer["provenance"]["surface"] is None
    assert answer["restriction_ladder"] is not None


def test_a_kit_outside_is_simulated_and_told_in_what_and_by_how_much(fitted: TestClient) -> None:
    answer = ask(
        fitted,
        engine={"compression_ratio": 14.0, "bore_mm": 110.0, "rev_limit_rpm": 8000.0},
        weather={"temperature_c": 50.0},
    )

    use = answer["provenance"]["surface"]
    outside = {each["name"]: each for each in use["outside_fitted_range"]}
    assert set(outside) >= {"compression_ratio", "temperature", "bore", "rev_limit_rpm"}
    assert outside["compression_ratio"]["value"] == 14.0
    assert outside["compression_ratio"]["low"] <= 9.2 <= outside["compression_ratio"]["high"]
    assert outside["bore"]["low"] == outside["bore"]["high"] == pytest.approx(0.108)
    assert use["used"] is False
    assert "simulated" in use["reason"]
    assert answer["provenance"]["tier"] != "surface"
    assert answer["restriction_ladder"] is not None


def test_a_surface_of_another_model_is_not_used_and_a_refit_is_taken_in(
    client: TestClient, database: Database
) -> None:
    keep(database, model_version="of last year")

    use = ask(client)["provenance"]["surface"]

    assert use["used"] is False
    assert "earlier model" in use["reason"]
    (job,) = client.get("/v1/jobs?kind=surface_fit").json()["items"]
    assert job["state"] in ("queued", "running")


def test_an_answer_does_not_wait_until_it_is_seen_whether_a_refit_is_due(
    app: FastAPI, client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(database, model_version="of last year")
    watched, answered = Event(), Event()

    def look(_: CatalogueWatch) -> None:
        answered.wait(30.0)
        watched.set()

    monkeypatch.setattr(CatalogueWatch, "look", look)
    app.state.assessor = replace(app.state.own_assessor, run=level_torque, is_compiled=lambda: True)

    ask(client)

    assert not watched.is_set()
    answered.set()
    assert watched.wait(30.0)


def test_weather_outside_the_range_orders_no_refit(fitted: TestClient) -> None:
    """The catalogue lies inside: a refit would give the same surface."""
    assert ask(fitted, weather={"temperature_c": 50.0})["provenance"]["surface"]["used"] is False

    assert fitted.get("/v1/jobs?kind=surface_fit").json()["items"] == []


def test_no_surface_is_a_problem_that_names_the_refit(client: TestClient) -> None:
    answer = client.post("/v1/assessments", json=QUESTION)

    assert answer.status_code == 422
    assert f"POST {ADDRESS}/refits" in answer.json()["detail"]


def test_a_refit_ends_the_answers_from_the_old_surface(
    fitted: TestClient, database: Database
) -> None:
    before = ask(fitted)

    keep(database, input_errors=(0.3, 0.3, 0.3))

    first, again = before["curve"][0], ask(fitted)["curve"][0]
    assert again["torque_nm"] == first["torque_nm"]
    assert again["torque_high_nm"] > first["torque_high_nm"]


def test_a_part_that_leaves_the_range_has_a_refit_taken_in(fitted: TestClient) -> None:
    held = fitted.get(f"/v1/parts/{LONG_RUNNERS}")
    spec = {**held.json()["spec"], "runner_length_mm": 700.0}

    changed = fitted.patch(
        f"/v1/parts/{LONG_RUNNERS}",
        json={"spec": spec},
        headers={
            "If-Match": held.headers["ETag"],
            "Content-Type": "application/merge-patch+json",
        },
    )

    assert changed.status_code == 200, changed.text
    (job,) = fitted.get("/v1/jobs?kind=surface_fit").json()["items"]
    assert job["state"] in ("queued", "running")


def test_reading_the_catalogue_or_changing_a_price_takes_no_refit_in(fitted: TestClient) -> None:
    held = fitted.get(f"/v1/parts/{LONG_RUNNERS}")
    fitted.patch(
        f"/v1/parts/{LONG_RUNNERS}",
        json={"lead_time_days": 3},
        headers={
            "If-Match": held.headers["ETag"],
            "Content-Type": "application/merge-patch+json",
        },
    )

    assert fitted.get("/v1/jobs?kind=surface_fit").json()["items"] == []
