"""`kitwright simulate` and `kitwright worker`, on databases of their own."""

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from service import cli
from service.database import Database
from service.jobs.job import JobState
from service.kits.api import Assessor
from service.settings import get_settings
from service.simulations.api import take_in
from tests.jobs.counting import loaded
from tests.jobs.test_worker import wait_until
from tests.kits.assembled import question
from tests.seed import QUAY_BIG, families, of
from tests.served import READY_WITHIN_S, fill, sqlite_url
from tests.simulations.level import level_pool

INLINE_SIX = "orrin-4-4"
QUESTION = {"family": QUAY_BIG, "use": "road", "place": "us-ca", "model_year": 1997}
CAM = {**QUESTION, "parts": {"camshaft": "Q76-CAM-BOWLINE"}}
KITWRIGHT = str(Path(sys.executable).parent / "kitwright")
STOPS_WITHIN_S = 20.0


@pytest.fixture
def sweep(tmp_path: Path, sqlite_template: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A file of two kits, beside the demo catalogue; nothing is simulated."""
    shutil.copy(sqlite_template, tmp_path / "kw.db")
    database = Database.open(sqlite_url(tmp_path / "kw.db"), pool_size=1)
    fill(database)
    database.close()
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", sqlite_url(tmp_path / "kw.db"))
    monkeypatch.setattr("service.commands.simulate.open_pool", level_pool)
    get_settings.cache_clear()
    file = tmp_path / "kits.json"
    file.write_text(json.dumps([QUESTION, CAM]))
    yield file
    get_settings.cache_clear()


def ran(*words: str, typed: str | None = None) -> Result:
    return CliRunner().invoke(cli.app, words, input=typed)


def said(*words: str, typed: str | None = None) -> str:
    result = ran(*words, typed=typed)
    assert result.exception is None, result.output
    assert result.stderr == ""
    return result.stdout


def test_kits_of_a_file_are_simulated_for_people_and_for_machines(sweep: Path) -> None:
    for_people = said("simulate", str(sweep))
    for_machines = json.loads(said("simulate", str(sweep), "--json"))

    assert (for_machines["state"], for_machines["kit_count"]) == ("done", 2)
    first, second = (item["kit"] for item in for_machines["items"])
    assert second["request"]["parts"] == CAM["parts"]
    lines = for_people.splitlines()
    assert lines[1].startswith("factory kit")
    assert lines[2].startswith("Q76-CAM-BOWLINE")
    assert f"{first['peaks']['power']['power_kw']:.0f} kW" in lines[1]


def test_one_kit_can_come_from_standard_input(sweep: Path) -> None:
    assert sweep
    answer = json.loads(said("simulate", "-", "--json", typed=json.dumps(CAM)))

    assert [item["kit"]["request"]["parts"] for item in answer["items"]] == [CAM["parts"]]


def test_a_sweep_over_a_family_changes_one_part_of_the_factory_kit_at_a_time(sweep: Path) -> None:
    assert sweep
    answer = json.loads(said("simulate", "--family", INLINE_SIX, "--json"))

    factory, *others = (item["kit"]["request"]["parts"] for item in answer["items"])
    assert factory == {}
    assert all(len(parts) == 1 for parts in others)
    stock = families()[INLINE_SIX].stock_parts
    swapped = {sku for parts in others for sku in parts.values()}
    listed = {part.sku for slot in stock for part in of(INLINE_SIX, slot)}
    assert swapped == listed - set(stock.values())
    assert len(others) == len(swapped)


def test_a_sweep_that_is_stopped_goes_on_where_it_was(
    sweep: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped by the signal that a terminal sends, after the fifth kit."""
    assert sweep
    keep, kept = Assessor.keep, []

    def keep_and_interrupt_at_the_fifth(self: Assessor, key: str, assessment: Any) -> Any:  # noqa: ANN401
        kept.append(key)
        if len(kept) == 5:
            os.kill(os.getpid(), signal.SIGINT)
        return keep(self, key, assessment)

    monkeypatch.setattr(Assessor, "keep", keep_and_interrupt_at_the_fifth)

    stopped = ran("simulate", "--family", INLINE_SIX)
    assert "goes on from there" in str(stopped.exception)
    assert 5 <= len(kept) < 25
    assert len(said("simulate", "--family", INLINE_SIX).splitlines()) > 25

    # Every kit once, by the 25 parts of the family that the demo lists, factory kit included.
    assert len(kept) == len(set(kept)) == 25


def test_a_bar_is_drawn_on_a_terminal_only(sweep: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The variable is the one by which a terminal says that it is one (rich reads it)."""
    monkeypatch.setenv("TTY_COMPATIBLE", "1")

    result = ran("simulate", str(sweep), "--json")

    assert "job 1" in result.stderr
    assert json.loads(result.stdout)["state"] == "done"


@pytest.mark.parametrize("words", [(), ("kits.json", "--family", INLINE_SIX)])
def test_what_to_simulate_is_named_once(sweep: Path, words: tuple[str, ...]) -> None:
    assert sweep
    assert "--family" in str(ran("simulate", *words).exception)


def test_an_unknown_family_and_a_wrong_kit_are_told(sweep: Path) -> None:
    assert "no-such" in str(ran("simulate", "--family", "no-such").exception)
    sweep.write_text(json.dumps([QUESTION, {**QUESTION, "model_year": 1950}]))
    assert "1989" in str(ran("simulate", str(sweep)).exception)


@pytest.mark.parametrize("database_url", ["postgresql"], indirect=True)
def test_a_worker_process_that_is_asked_to_stop_gives_its_job_back(
    database: Database, database_url: str
) -> None:
    """The real command, the real simulation; a service manager sends SIGTERM."""
    fill(database)
    first = question(QUAY_BIG)
    years = [replace(first, model_year=first.model_year + place) for place in range(12)]
    job = take_in(database, years)
    environment = {**os.environ, "KITWRIGHT_DATABASE_URL": database_url}
    process = subprocess.Popen([KITWRIGHT, "worker"], env=environment)  # noqa: S603 - Ours.
    try:
        wait_until(lambda: loaded(database, job.id).progress > 0.0, READY_WITHIN_S)
        process.terminate()
        assert process.wait(STOPS_WITHIN_S) == 0
    finally:
        process.kill()
        process.wait()

    waiting = loaded(database, job.id)
    assert (waiting.state, waiting.attempts) == (JobState.QUEUED, 0)
    assert 0.0 < waiting.progress < 1.0
