"""Jobs done beside the requests of one process, as the embedded default has it; simulated."""

import shutil
from http import HTTPStatus
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.database import Database
from service.settings import Settings
from tests.jobs.test_worker import wait_until
from tests.seed import QUAY_BIG
from tests.served import READY_WITHIN_S, fill, sqlite_url

QUESTION = {"family": QUAY_BIG, "use": "road", "place": "us-ca", "model_year": 1997}
SWEEP = [{**QUESTION, "model_year": year} for year in range(1989, 2001)]


@pytest.fixture
def settings(tmp_path: Path, sqlite_template: Path) -> Settings:
    url = sqlite_url(tmp_path / "kw.db")
    shutil.copy(sqlite_template, tmp_path / "kw.db")
    database = Database.open(url, pool_size=1)
    fill(database)
    database.close()
    return Settings(_env_file=None, database_url=url)


def test_nobody_has_to_start_a_worker_and_a_short_job_passes_a_long_one(
    settings: Settings,
) -> None:
    with TestClient(create_app(settings)) as client:
        wait_until(lambda: client.get("/readyz").status_code == HTTPStatus.OK, READY_WITHIN_S)
        sweep = client.post("/v1/simulations", json=SWEEP).headers["Location"]
        one = client.post("/v1/simulations", json=QUESTION, headers={"Prefer": "wait=60"})
        state = client.get(sweep).json()["state"]

    assert one.status_code == 200
    assert one.json()["items"][0]["kit"]["curve"][-1]["converged"]
    assert state == "running"

    # The process ended in the middle of the sweep: it waits for the next, with what it found.
    with TestClient(create_app(settings.model_copy(update={"job_worker": False}))) as client:
        job = client.get(sweep).json()
    assert (job["state"], job["attempts"]) == ("queued", 0)
    assert job["progress"] > 0.0
