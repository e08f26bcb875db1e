"""Databases for tests: every test that asks for one runs on SQLite and on PostgreSQL.

`session` is a writing session that is rolled back at the end. It holds the write lock of
SQLite, so a test that also uses `client` prepares its data with `database.writing()`.
"""

import os
import shutil
from collections.abc import Generator, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import psycopg
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import settings
from psycopg import sql
from sqlmodel import Session

from service.app import create_app
from service.chores import Chore
from service.database import Database
from service.schema import upgrade_schema
from service.settings import Settings
from tests.databases import postgres_database

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
"""A busy machine is no fault of the code."""

HOW_TO_START = "start one with: pg_ctlcluster 15 main start, or name one in the variable"
POOL_SIZE = 8


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """In CI a skipped test is a failed one: there, everything is installed."""
    report = yield
    if os.environ.get("CI") == "true" and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"No test may be skipped in CI: {report.longrepr}"
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say once why tests were skipped, and what would let them run."""
    skipped = terminalreporter.getreports("skipped")
    reasons = {report.longrepr[2] for report in skipped if isinstance(report.longrepr, tuple)}
    for reason in sorted(reasons):
        terminalreporter.write_line(reason)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Migrate a file once; tests get copies."""
    path = tmp_path_factory.mktemp("template") / "kitwright.db"
    _migrate(f"sqlite:///{path}")
    return path


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """Make and migrate a database of this worker's own, and drop it at the end."""
    with postgres_or_skip() as url:
        _migrate(url)
        yield url


@contextmanager
def postgres_or_skip() -> Iterator[str]:
    """Give the address of an empty database, or skip the test and say how to start a server."""
    with ExitStack() as stack:
        try:
            url = stack.enter_context(postgres_database())
        except psycopg.OperationalError as error:
            pytest.skip(f"No PostgreSQL at KITWRIGHT_TEST_POSTGRES_URL; {HOW_TO_START}. ({error})")
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Give the address of an empty, migrated database."""
    if request.param == "postgresql":
        url: str = request.getfixturevalue("postgres_url")
        yield url
        _empty(url)
    else:
        path = tmp_path / "kitwright.db"
        shutil.copy(request.getfixturevalue("sqlite_template"), path)
        yield f"sqlite:///{path}"


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    database = Database.open(database_url, pool_size=POOL_SIZE)
    yield database
    database.close()


@pytest.fixture
def session(database: Database) -> Iterator[Session]:
    with Session(database.engine, expire_on_commit=False) as session:
        yield session


@pytest.fixture(scope="session")
def whole_app() -> FastAPI:
    """Build the application once: preparing its routes takes seconds.

    Nothing is done unasked, so that what a test sees does not depend on how soon it is.
    """
    app = create_app(Settings(_env_file=None))
    app.state.chores_of = no_chores
    return app


def no_chores(_database: Database, _settings: Settings) -> list[Chore]:
    return []


@pytest.fixture
def app(whole_app: FastAPI, database_url: str) -> FastAPI:
    """Return the application, to be started on this test's database.

    It is shared: a test that needs other routes builds its own.
    """
    # Jobs wait, so that what a test sees of them does not depend on how fast they are done.
    whole_app.state.settings = Settings(
        _env_file=None, database_url=database_url, thread_count=POOL_SIZE, job_worker=False
    )
    whole_app.state.chores_of = no_chores
    return whole_app


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app) as client:
        yield client


def _migrate(url: str) -> None:
    database = Database.open(url, pool_size=1)
    upgrade_schema(database.engine)
    database.close()


def _empty(url: str) -> None:
    """Delete every row; the tables stay."""
    with psycopg.connect(url) as connection:
        found = connection.execute(
            "SELECT tablename FROM pg_tables WHERE schemaname = 'public' "
            "AND tablename <> 'alembic_version'"
        )
        names = [sql.Identifier(row[0]) for row in found]
        if names:
            tables = sql.SQL(", ").join(names)
            # Triggers keep some of them from being emptied.
            connection.execute("SET session_replication_role = replica")
            connection.execute(sql.SQL("TRUNCATE {} RESTART IDENTITY CASCADE").format(tables))
