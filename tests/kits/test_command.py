"""`kitwright assess` and `kitwright demo`, on a database file of their own."""

import json
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Self

import pytest
from typer.testing import CliRunner

from service import cli
from service.commands import assess as command
from service.database import Database
from service.engine.curve import OperatingPoint, Task
from service.settings import get_settings
from service.wording import banned_words
from tests.kits.assembled import level_torque
from tests.seed import QUAY_BIG, SEED
from tests.served import fill

QUESTION = {
    "family": QUAY_BIG,
    "parts": {"camshaft": "Q76-CAM-BOWLINE"},
    "use": "road",
    "place": "us-ca",
    "model_year": 1997,
}


class LevelPool:
    """Takes the place of the pool of threads: one level torque, nothing simulated."""

    def __init__(self, _workers: int | None) -> None:
        pass

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_failure: object) -> None:
        pass

    def map(self, function: object, tasks: Iterable[Task]) -> list[OperatingPoint]:
        del function
        return level_torque(lambda _: pytest.fail("Nothing is simulated here."), tasks)


@pytest.fixture
def installation(
    tmp_path: Path, sqlite_template: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """An empty folder with migrated tables, named by the environment."""
    file = tmp_path / "kitwright.db"
    shutil.copy(sqlite_template, file)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", f"sqlite:///{file}")
    get_settings.cache_clear()
    yield tmp_path
    get_settings.cache_clear()


@pytest.fixture
def question(installation: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo catalogue in the database, and a question about it in a file."""
    database = Database.open(f"sqlite:///{installation / 'kitwright.db'}", pool_size=1)
    fill(database)
    database.close()
    monkeypatch.setattr(command, "ThreadPoolExecutor", LevelPool)
    file = installation / "question.json"
    file.write_text(json.dumps(QUESTION))
    return file


def said(*words: str, typed: str | None = None) -> str:
    """Run a command and return what it prints."""
    result = CliRunner().invoke(cli.app, words, input=typed)
    assert result.exception is None, result.output
    return result.stdout


def test_a_question_from_a_file_is_answered_for_people_and_for_machines(question: Path) -> None:
    """The table and the JSON state the same peak and the same price."""
    for_people = said("assess", str(question))
    for_machines = json.loads(said("assess", str(question), "--json"))

    peak = for_machines["peaks"]["power"]
    assert f"{peak['power_kw']:.0f} kW ({peak['power_hp']:.0f} hp)" in for_people
    assert for_machines["price"]["totals"][0]["amount"] in for_people
    # Long sentences are folded for people; the words stay.
    in_one_line = " ".join(for_people.split())
    assert all(caution in in_one_line for caution in for_machines["cautions"])
    assert for_machines["request"]["parts"] == QUESTION["parts"]


def test_a_question_can_come_from_standard_input(question: Path) -> None:
    from_file = said("assess", str(question), "--json")

    assert said("assess", "-", "--json", typed=question.read_text()) == from_file


def test_a_wrong_field_is_told_in_one_line(
    question: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    question.write_text(json.dumps({**QUESTION, "model_year": 1950}))
    monkeypatch.setattr("sys.argv", ["kitwright", "assess", str(question)])

    with pytest.raises(SystemExit) as end:
        cli.main()

    assert end.value.code == 1
    told = capsys.readouterr().err.strip()
    assert "1989" in told
    assert "\n" not in told


def test_the_demo_sets_itself_up_and_prints_three_kits(installation: Path) -> None:
    """On the first three of its questions, to save time: two it names, and the best."""
    shutil.copytree(SEED, installation / "seed_data")
    questions = installation / "seed_data" / "questions.jsonl"
    first = questions.read_text().splitlines()[:3]
    questions.write_text("\n".join(first) + "\n")

    printed = said("demo")

    header = next(line for line in printed.splitlines() if "factory kit" in line)
    assert "factory outside, throat cut out" in header
    assert "best of 3" in header
    peaks = next(line for line in printed.splitlines() if line.startswith("peak power"))
    assert peaks.count(" kW (") == 3
    assert "Let the engine cool" in printed
    assert banned_words(printed) == ()


def test_the_demo_says_where_it_has_to_be_run(
    installation: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not (installation / "seed_data").exists()
    monkeypatch.setattr("sys.argv", ["kitwright", "demo"])

    with pytest.raises(SystemExit) as end:
        cli.main()

    assert end.value.code == 1
    assert "seed_data" in capsys.readouterr().err
