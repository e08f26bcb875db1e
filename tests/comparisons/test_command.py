"""`kitwright compare`, on a database file of its own; nothing is simulated."""

import json
from pathlib import Path

import pytest

from service import cli
from service.commands import compare as command
from tests.kits.test_command import LevelPool, installation, question, said

__all__ = ["installation", "question"]  # Fixtures of the neighbouring command.


@pytest.fixture
def files(question: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[str, str]:
    """The question of `kitwright assess`, and the same engine with another camshaft."""
    monkeypatch.setattr(command, "ThreadPoolExecutor", LevelPool)
    other = question.with_name("other.json")
    first = json.loads(question.read_text())
    other.write_text(json.dumps({**first, "parts": {"camshaft": "Q76-CAM-CARRICK"}}))
    return str(question), str(other)


def test_two_files_are_compared_for_people_and_for_machines(files: tuple[str, str]) -> None:
    for_people = said("compare", *files)
    for_machines = json.loads(said("compare", *files, "--json"))

    (changed,) = for_machines["changed"]
    assert f"{changed['a_sku']} -> {changed['b_sku']}" in for_people
    assert for_people.count("not told apart") == len(for_machines["speeds"]) + 4
    in_one_line = " ".join(for_people.split())
    for assumption in for_machines["assumptions"]:
        assert assumption["source"] in in_one_line


def test_a_kit_of_another_family_is_refused(
    files: tuple[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    other = Path(files[1])
    other.write_text(json.dumps({**json.loads(other.read_text()), "family": "orrin-4-4"}))
    monkeypatch.setattr("sys.argv", ["kitwright", "compare", *files])

    with pytest.raises(SystemExit) as end:
        cli.main()

    assert end.value.code == 1
    assert "one family" in capsys.readouterr().err
