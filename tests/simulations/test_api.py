"""Simulations and their jobs over HTTP, on both databases; nothing is simulated for real."""

import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Thread
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlmodel import select

from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part
from service.database import Database
from service.jobs.kinds import Pool
from service.jobs.worker import Worker
from service.kits.api import Assessor
from service.kits.tables import AssessmentRow
from service.simulations.simulation import MOST_KITS
from service.workers import job_kinds
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part
from tests.jobs.counting import added, count_order
from tests.kits.assembled import level_torque
from tests.simulations.level import LevelExecutor

ADDRESS = "/v1/simulations"
QUESTION: dict[str, Any] = {
    "family": FAMILY_KEY,
    "use": "road",
    "place": "us-ca",
    "model_year": 2000,
}
HOT_CAM = "CAM-HOT"
HOT = {**QUESTION, "parts": {"camshaft": HOT_CAM}}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family, its factory parts and one other camshaft."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in make_kit_parts().values():
            add_part(session, part)
        add_part(session, make_part(Slot.CAMSHAFT, sku=HOT_CAM))
        save_family(session, make_family(), version=1)
    with TestClient(app) as client:
        app.state.assessor = Assessor(database=app.state.database, run=level_torque)
        yield client


@pytest.fixture
def worker(client: TestClient, database: Database) -> Worker:
    assert client
    assessor = Assessor(database=database, run=level_torque)
    pool = Pool(executor=LevelExecutor(), width=2)
    return Worker(database=database, kinds=job_kinds(assessor), pool=pool)


@contextmanager
def working(worker: Worker) -> Iterator[None]:
    """Let a worker run beside the requests."""
    thread = Thread(target=worker.run)
    thread.start()
    try:
        yield
    finally:
        worker.stopping.set()
        worker.wake.set()
        thread.join()


def problem(answer: Response, status: int) -> dict[str, Any]:
    assert answer.status_code == status, answer.text
    assert answer.headers["Content-Type"] == "application/problem+json"
    return dict(answer.json())


def curve_of(client: TestClient, question: dict[str, Any]) -> Any:  # noqa: ANN401 - any JSON.
    return client.post("/v1/assessments", json=question).json()["curve"]


def test_a_sweep_is_taken_in_as_a_job_and_read_when_it_is_done(
    client: TestClient, worker: Worker
) -> None:
    taken = client.post(ADDRESS, json=[QUESTION, HOT])

    assert taken.status_code == 202
    assert taken.headers["Retry-After"]
    job = client.get(taken.headers["Location"]).json()
    assert (job["state"], job["item_count"], job["result_url"]) == ("queued", 2, None)
    assert client.get(f"{ADDRESS}/{job['id']}").json()["items"] == []

    assert worker.work_once()

    job = client.get(taken.headers["Location"]).json()
    assert (job["state"], job["progress"], job["attempts"]) == ("done", 1.0, 1)
    simulation = client.get(job["result_url"]).json()
    assert simulation["kit_count"] == 2
    assert [item["position"] for item in simulation["items"]] == [0, 1]
    assert simulation["items"][1]["kit"]["request"]["parts"] == {"camshaft": HOT_CAM}
    # There is one way to compute an answer: the curve is that of the assessment.
    assert simulation["items"][1]["kit"]["curve"] == curve_of(client, HOT)
    url = simulation["items"][1]["kit"]["assessment_url"]
    assert client.get(url).json()["curve"] == curve_of(client, HOT)


def test_what_was_assessed_already_is_answered_at_once_without_a_worker(
    client: TestClient,
) -> None:
    curve = curve_of(client, QUESTION)

    answer = client.post(ADDRESS, json=QUESTION)

    assert answer.status_code == 200
    assert answer.json()["state"] == "done"
    assert answer.json()["items"][0]["kit"]["curve"] == curve
    assert client.get(answer.headers["Content-Location"]).json() == answer.json()


def test_the_same_kits_are_one_job_however_often_they_are_asked_for(
    client: TestClient, worker: Worker
) -> None:
    first = client.post(ADDRESS, json=[QUESTION, HOT])
    again = client.post(ADDRESS, json=[QUESTION, HOT])
    other = client.post(ADDRESS, json=[HOT, QUESTION])
    assert first.headers["Location"] == again.headers["Location"] != other.headers["Location"]

    worker.work_once()
    done = client.post(ADDRESS, json=[QUESTION, HOT])

    assert done.status_code == 200
    assert done.headers["Content-Location"] == f"{ADDRESS}/{first.json()['id']}"


def test_a_model_of_another_version_does_not_answer_from_what_is_kept(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    curve_of(client, QUESTION)
    assert client.post(ADDRESS, json=QUESTION).status_code == 200

    monkeypatch.setattr("service.kits.api.KERNEL_VERSION", "another")

    assert client.post(ADDRESS, json=QUESTION).status_code == 202


def test_a_caller_who_waits_gets_the_result_itself(client: TestClient, worker: Worker) -> None:
    with working(worker):
        answer = client.post(ADDRESS, json=[QUESTION, HOT], headers={"Prefer": "wait=30"})

    assert answer.status_code == 200
    assert answer.headers["Preference-Applied"] == "wait=30"
    assert len(answer.json()["items"]) == 2


def test_a_caller_who_waits_in_vain_gets_the_job(client: TestClient) -> None:
    answer = client.post(ADDRESS, json=QUESTION, headers={"Prefer": "respond-async, wait=0"})

    assert answer.status_code == 202
    assert answer.headers["Preference-Applied"] == "wait=0"
    assert answer.headers["Location"]


@pytest.mark.parametrize("prefer", ["wait=soon", "=;,", "handling=lenient", ""])
def test_a_preference_that_says_nothing_here_is_ignored(client: TestClient, prefer: str) -> None:
    """RFC 7240, section 2: a server may ignore any preference."""
    answer = client.post(ADDRESS, json=QUESTION, headers={"Prefer": prefer})

    assert answer.status_code == 202
    assert "Preference-Applied" not in answer.headers


def test_a_kit_that_cannot_be_put_together_is_named_by_its_place_in_the_list(
    client: TestClient,
) -> None:
    wrong = {**QUESTION, "parts": {"camshaft": "NO-SUCH-CAM"}}

    (error,) = problem(client.post(ADDRESS, json=[QUESTION, wrong]), 422)["errors"]
    assert (error["pointer"], error["code"]) == ("/1/parts/camshaft", "unknown")
    (error,) = problem(client.post(ADDRESS, json=wrong), 422)["errors"]
    assert error["pointer"] == "/parts/camshaft"
    (error,) = problem(client.post(ADDRESS, json=[{**QUESTION, "use": 1}]), 422)["errors"]
    assert error["pointer"] == "/0/use"
    assert client.get("/v1/jobs").json()["items"] == []


@pytest.mark.parametrize("count", [0, MOST_KITS + 1])
def test_too_few_or_too_many_kits_are_refused_with_the_limit(
    client: TestClient, count: int
) -> None:
    refused = problem(client.post(ADDRESS, json=[QUESTION] * count), 422)

    assert str(MOST_KITS if count else 1) in refused["detail"]


def test_a_kit_whose_part_left_meanwhile_is_told_and_the_others_go_on(
    client: TestClient, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.simulations.api._check", lambda *_: None)
    wrong = {**QUESTION, "parts": {"camshaft": "NO-SUCH-CAM"}}
    job_id = client.post(ADDRESS, json=[wrong, QUESTION]).json()["id"]

    worker.work_once()

    first, second = client.get(f"{ADDRESS}/{job_id}").json()["items"]
    assert (first["kit"], second["problem"]) == (None, None)
    assert "NO-SUCH-CAM" in first["problem"]["detail"]
    assert second["kit"]["curve"]


def test_a_sweep_goes_on_where_an_earlier_attempt_stopped(
    client: TestClient, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    years = [{**QUESTION, "model_year": year} for year in range(1996, 2003)]
    job_id = client.post(ADDRESS, json=years).json()["id"]
    keep, assessed = Assessor.keep, []

    def keep_and_stop_at_the_third(self: Assessor, key: str, assessment: Any) -> Any:  # noqa: ANN401
        assessed.append(assessment.request.model_year)
        if len(assessed) == 3:
            worker.stopping.set()
        return keep(self, key, assessment)

    monkeypatch.setattr(Assessor, "keep", keep_and_stop_at_the_third)
    worker.work_once()
    job = client.get(f"/v1/jobs/{job_id}").json()
    assert (job["state"], job["attempts"]) == ("queued", 0)
    assert len(client.get(f"{ADDRESS}/{job_id}").json()["items"]) == 3

    worker.stopping.clear()
    worker.work_once()

    assert assessed == list(range(1996, 2003))
    assert client.get(f"/v1/jobs/{job_id}").json()["state"] == "done"


def test_what_an_earlier_version_found_stays_readable(
    client: TestClient, database: Database
) -> None:
    """As if that version had known one block less and one field more."""
    curve = curve_of(client, QUESTION)
    address = client.post(ADDRESS, json=QUESTION).headers["Content-Location"]
    with database.writing() as session:
        row = session.exec(select(AssessmentRow)).one()
        older = json.loads(row.body)
        del older["provenance"]
        older["band"]["was_dropped_since"] = 1
        row.body = json.dumps(older).encode()

    (item,) = client.get(address).json()["items"]

    assert item["kit"]["curve"] == curve
    assert item["kit"]["band"]["was_dropped_since"] == 1


def test_a_long_sweep_is_read_in_pieces(client: TestClient, worker: Worker) -> None:
    years = [{**QUESTION, "model_year": year} for year in range(1996, 2001)]
    job_id = client.post(ADDRESS, json=years).json()["id"]
    worker.work_once()

    seen: list[int] = []
    address: str | None = f"{ADDRESS}/{job_id}?limit=2"
    while address:
        page = client.get(address)
        seen += [item["kit"]["request"]["model_year"] for item in page.json()["items"]]
        address = page.links["next"]["url"] if "next" in page.links else None

    assert seen == list(range(1996, 2001))


def test_a_cursor_that_posting_gave_is_good_where_the_result_is_read(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.simulations.api.DEFAULT_LIMIT", 1)
    for question in (QUESTION, HOT):
        curve_of(client, question)

    answer = client.post(ADDRESS, json=[QUESTION, HOT])
    rest = client.get(
        answer.headers["Content-Location"], params={"cursor": answer.json()["next_cursor"]}
    )

    assert [item["position"] for item in rest.json()["items"]] == [1]
    assert client.get(answer.links["next"]["url"]).json() == rest.json()


def test_a_job_that_did_not_change_is_a_304(client: TestClient, worker: Worker) -> None:
    job = client.get(client.post(ADDRESS, json=QUESTION).headers["Location"])
    held = {"If-None-Match": job.headers["ETag"]}
    address = f"/v1/jobs/{job.json()['id']}"
    assert client.get(address, headers=held).status_code == 304

    worker.work_once()

    changed = client.get(address, headers=held)
    assert changed.status_code == 200
    assert "Retry-After" not in changed.headers


def test_jobs_are_listed_newest_first_by_filter_and_in_pieces(
    client: TestClient, database: Database
) -> None:
    counted = [added(database, count_order()).id for _ in range(3)]
    client.post(ADDRESS, json=QUESTION)

    of_kind = client.get("/v1/jobs?kind=count&limit=2")
    rest = client.get(of_kind.links["next"]["url"])

    ids = [job["id"] for page in (of_kind, rest) for job in page.json()["items"]]
    assert ids == counted[::-1]
    assert client.get("/v1/jobs?state=done").json()["items"] == []
    assert "state" in problem(client.get("/v1/jobs?state=lost"), 422)["detail"]
    problem(client.get(f"/v1/jobs?cursor={of_kind.json()['next_cursor']}"), 400)


def test_a_job_that_waits_is_cancelled_at_once_and_then_it_is_a_409(client: TestClient) -> None:
    address = client.post(ADDRESS, json=QUESTION).headers["Location"]

    cancelled = client.delete(address)

    assert (cancelled.status_code, cancelled.json()["state"]) == (200, "cancelled")
    assert "cancelled" in problem(client.delete(address), 409)["detail"]
    assert client.post(ADDRESS, json=QUESTION).headers["Location"] != address


@pytest.mark.parametrize("path", ["", "/events"])
def test_a_job_that_nobody_knows_is_a_404(client: TestClient, path: str) -> None:
    assert "4711" in problem(client.get(f"/v1/jobs/4711{path}"), 404)["detail"]
    problem(client.delete("/v1/jobs/4711"), 404)
    problem(client.get(f"{ADDRESS}/4711"), 404)
    problem(client.get(f"/v1/jobs/first{path}"), 422)
    problem(client.get(f"/v1/jobs/{2**31}{path}"), 422)


def test_a_job_of_another_kind_is_no_simulation(client: TestClient, database: Database) -> None:
    problem(client.get(f"{ADDRESS}/{added(database, count_order()).id}"), 404)


def events(answer: Response) -> list[dict[str, Any]]:
    """Read a stream by the rules of the HTML standard, section 9.2.6."""
    found = []
    for block in answer.text.split("\n\n"):
        fields = dict(line.split(": ", 1) for line in block.splitlines() if line[:1] != ":")
        if fields:
            found.append({**json.loads(fields["data"]), "id": fields["id"], "as": fields["event"]})
    return found


def test_the_stream_replays_what_was_missed_and_ends_with_the_job(
    client: TestClient, worker: Worker
) -> None:
    address = client.post(ADDRESS, json=[QUESTION, HOT]).headers["Location"]
    worker.work_once()

    whole = client.get(f"{address}/events")
    rest = client.get(f"{address}/events", headers={"Last-Event-ID": "3"})

    assert whole.headers["Content-Type"].startswith("text/event-stream")
    assert [event["as"] for event in events(whole)] == ["queued", *["running"] * 3, "done"]
    assert [event["id"] for event in events(whole)] == ["1", "2", "3", "4", "5"]
    assert events(rest) == events(whole)[3:]
    assert events(whole)[-1]["progress"] == 1.0
    # Polling tells the same: the version is the number of the last event.
    job = client.get(address).json()
    assert (job["version"], job["finished_at"]) == (5, events(whole)[-1]["at"])


@pytest.mark.parametrize("last", ["soon", "-1", "²", ""])
def test_a_last_event_that_cannot_be_read_starts_from_the_first(
    client: TestClient, last: str
) -> None:
    address = client.post(ADDRESS, json=QUESTION).headers["Location"]
    client.delete(address)

    answer = client.get(f"{address}/events", headers={b"Last-Event-ID": last.encode()})

    assert [event["id"] for event in events(answer)] == ["1", "2"]


def test_who_has_the_last_event_of_a_job_is_told_not_to_come_back(client: TestClient) -> None:
    address = client.post(ADDRESS, json=QUESTION).headers["Location"]
    client.delete(address)

    for last in ("2", "999"):
        answer = client.get(f"{address}/events", headers={"Last-Event-ID": last})
        assert (answer.status_code, answer.content) == (204, b"")


def test_a_stream_that_is_open_shows_the_job_go_on(client: TestClient, worker: Worker) -> None:
    address = client.post(ADDRESS, json=[QUESTION, HOT]).headers["Location"]
    with ThreadPoolExecutor(1) as threads:
        stream = threads.submit(client.get, f"{address}/events")
        with working(worker):
            seen = events(stream.result(timeout=30.0))

    assert [event["as"] for event in seen][-1] == "done"
    assert [int(event["id"]) for event in seen] == list(range(1, len(seen) + 1))


def test_a_stream_ends_when_the_service_stops(client: TestClient, app: FastAPI) -> None:
    address = client.post(ADDRESS, json=QUESTION).headers["Location"]
    with ThreadPoolExecutor(1) as threads:
        stream = threads.submit(client.get, f"{address}/events")
        app.state.stopping.set()

        assert [event["as"] for event in events(stream.result(timeout=30.0))] == ["queued"]
