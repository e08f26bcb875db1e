import sys
from collections.abc import Iterator
from pathlib import Path
from pkgutil import iter_modules

import pytest

from service import cli, commands
from service.commands.document import document_text
from service.database import Database
from service.schema import schema_is_current
from service.settings import get_settings


@pytest.fixture
def installation(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty folder that the command is run in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("KITWRIGHT_DATABASE_URL", "sqlite:///var/kitwright.db")
    get_settings.cache_clear()
    yield tmp_path
    get_settings.cache_clear()


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """Run the command as the shell would; return its exit code."""
    monkeypatch.setattr(sys, "argv", ["kitwright", *words])
    with pytest.raises(SystemExit) as end:
        cli.main()
    return int(end.value.code or 0)


def test_every_file_of_commands_is_part_of_the_command() -> None:
    """One that is not named in `cli.py` is told of in the README, and nobody can run it."""
    files = {each.name for each in iter_modules(commands.__path__)}

    assert {module.__name__.rpartition(".")[2] for module in cli.MODULES} == files


def test_a_database_is_copied_put_back_and_looked_over_from_the_terminal(
    installation: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = str(installation / "copy.zip")
    assert run(monkeypatch, "doctor") == 1
    assert "kitwright migrate" in capsys.readouterr().err

    assert run(monkeypatch, "migrate") == 0
    assert run(monkeypatch, "backup", copy) == 0
    assert run(monkeypatch, "backup", copy) == 1
    assert run(monkeypatch, "restore", copy) == 0
    assert run(monkeypatch, "doctor") == 0
    assert "copies of papers: sound" in capsys.readouterr().out


def test_migrate_makes_the_database_that_the_settings_name(
    installation: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(monkeypatch, "migrate") == 0

    database = Database.open(f"sqlite:///{installation / 'var/kitwright.db'}", pool_size=1)
    assert schema_is_current(database.engine)
    database.close()


def test_the_migrations_are_checked_against_the_code(
    installation: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    del installation
    assert run(monkeypatch, "check-schema") == 0


def test_an_outdated_document_is_told_and_writing_it_mends_it(
    installation: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    document = installation / "openapi_examples" / "openapi.json"

    assert run(monkeypatch, "check-openapi") == 1
    assert "write-openapi" in capsys.readouterr().err
    assert run(monkeypatch, "write-openapi") == 0
    assert run(monkeypatch, "check-openapi") == 0
    assert document.read_text() == document_text()

    document.write_text("{}")
    assert run(monkeypatch, "check-openapi") == 1


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "example.org"])  # noqa: S104 - It is refused.
def test_in_development_other_machines_are_not_served(
    installation: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    host: str,
) -> None:
    """Addresses and names: RFC 5737, RFC 2606."""
    del installation
    monkeypatch.setattr("uvicorn.run", lambda *_, **__: pytest.fail("It was started."))

    assert run(monkeypatch, "serve", "--host", host) == 1
    assert "production" in capsys.readouterr().err


def test_in_production_other_machines_are_served_once_a_key_was_made_and_not_revoked(
    installation: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    del installation
    started: list[str] = []
    monkeypatch.setattr("uvicorn.run", lambda _, **options: started.append(options["host"]))
    monkeypatch.setenv("KITWRIGHT_ENVIRONMENT", "production")
    monkeypatch.setenv("KITWRIGHT_SECRET", "x" * 32)
    get_settings.cache_clear()
    host = "192.0.2.1"

    assert run(monkeypatch, "serve", "--host", host) == 1
    assert "migrate" in capsys.readouterr().err
    assert run(monkeypatch, "migrate") == 0
    assert run(monkeypatch, "serve", "--host", host) == 1
    assert "kitwright key create" in capsys.readouterr().err

    assert run(monkeypatch, "key", "create", "--name", "demo", "--scope", "desk") == 0
    assert capsys.readouterr().out.startswith("kw_")
    assert run(monkeypatch, "key", "create", "--name", "demo", "--scope", "desk") == 1
    assert run(monkeypatch, "serve", "--host", host) == 0
    assert run(monkeypatch, "key", "revoke", "demo") == 0
    assert run(monkeypatch, "key", "list") == 0
    listed = capsys.readouterr().out
    assert run(monkeypatch, "serve", "--host", host) == 1

    assert started == [host]
    assert "never" in listed
    assert "revoked" in listed
    assert "kw_" not in listed


def test_the_server_is_started_with_limits_on_its_end(
    installation: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stream of events would otherwise keep the process alive for ever."""
    del installation
    seen: dict[str, object] = {}
    monkeypatch.setattr("uvicorn.run", lambda _, **options: seen.update(options))

    assert run(monkeypatch, "serve", "--port", "8123", "--workers", "2") == 0

    assert (seen["port"], seen["workers"], seen["host"]) == (8123, 2, "127.0.0.1")
    assert seen["timeout_graceful_shutdown"]


def test_unusable_settings_are_told_in_one_line(
    installation: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    del installation
    monkeypatch.setenv("KITWRIGHT_ENVIRONMENT", "production")
    get_settings.cache_clear()

    assert run(monkeypatch, "migrate") == 1

    assert "KITWRIGHT_SECRET" in capsys.readouterr().err
