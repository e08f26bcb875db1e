import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from service import cli
from service.catalog.search import PartFilter
from service.catalog.slots import KIT_SLOTS
from service.catalog.store.lists import find_parts
from service.database import Database
from service.exchange.report import FileFormat, Kind
from service.exchange.schemas import write_file
from service.settings import get_settings
from tests.factories import make_family, make_kit_parts, make_part

Run = Callable[..., int]


@pytest.fixture
def run(database_url: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Run]:
    """Run the command on this test's database, as the shell would; return its exit code."""
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", database_url)
    get_settings.cache_clear()

    def run_command(*words: str | Path) -> int:
        monkeypatch.setattr(sys, "argv", ["kitwright", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            cli.main()
        return int(end.value.code or 0)

    yield run_command
    get_settings.cache_clear()


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    """The parts in one file, the family that names them in another."""
    parts, family = tmp_path / "a_parts.jsonl", tmp_path / "b_family.jsonl"
    kit = make_kit_parts().values()
    parts.write_bytes(write_file(Kind.PARTS, FileFormat.JSON_LINES, kit))
    family.write_bytes(write_file(Kind.FAMILIES, FileFormat.JSON_LINES, [make_family()]))
    return [parts, family]


def count_parts(database: Database) -> int:
    with database.reading() as session:
        return len(find_parts(session, PartFilter()))


def test_several_files_are_read_as_one(
    run: Run, files: list[Path], database: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("import", *files) == 0
    assert capsys.readouterr().out == "10 created, 0 updated, 0 unchanged\n"
    assert count_parts(database) == len(KIT_SLOTS)


def test_a_dry_run_says_what_would_be_and_keeps_nothing(
    run: Run, files: list[Path], database: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("import", *files, "--dry-run") == 0
    assert "10 would be created" in capsys.readouterr().out
    assert count_parts(database) == 0


def test_problems_are_told_by_file_row_and_place_and_nothing_is_kept(
    run: Run, files: list[Path], database: Database, capsys: pytest.CaptureFixture[str]
) -> None:
    stray = make_part(sku="STRAY", families=("nowhere",))
    with files[0].open("ab") as file:
        file.write(write_file(Kind.PARTS, FileFormat.JSON_LINES, [stray]))

    assert run("import", *files) == 1

    told = capsys.readouterr().err
    assert f"{files[0]}:10: /families/0: " in told
    assert "(nowhere) [unknown_reference]" in told
    assert count_parts(database) == 0


@pytest.mark.parametrize("kind", [Kind.PARTS, Kind.FAMILIES])
@pytest.mark.parametrize("ending", ["csv", "jsonl"])
def test_an_exported_file_is_taken_back_unchanged(
    run: Run,
    files: list[Path],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    kind: Kind,
    ending: str,
) -> None:
    run("import", *files)
    exported = tmp_path / f"export.{ending}"
    assert run("export", kind.value, exported) == 0
    capsys.readouterr()

    assert run("import", exported, "--kind", kind.value) == 0

    assert capsys.readouterr().out.startswith("0 created, 0 updated")


def test_a_file_of_an_unknown_format_or_that_is_not_there_is_told(
    run: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("import", tmp_path / "parts.xlsx") == 1
    assert ".csv or .jsonl" in capsys.readouterr().err
    assert run("import", tmp_path / "nothing.csv") == 1
    assert "cannot be opened" in capsys.readouterr().err
