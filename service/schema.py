"""The tables of one database against their history: bring up to date, compare."""

from pathlib import Path
from typing import Any

from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine
from sqlmodel import SQLModel

MIGRATIONS = Path(__file__).parent / "migrations"


def upgrade_schema(engine: Engine) -> None:
    """Bring the tables to the newest revision, in one transaction.

    SQLite rebuilds a table to change it; with foreign keys on, dropping the old one would
    take the rows that point at it along.
    """
    with engine.connect() as connection:
        on_sqlite = connection.dialect.name == "sqlite"
        if on_sqlite:
            _switch_foreign_keys(connection, on=False)
        with connection.begin():
            command.upgrade(_config(connection), "head")
        if on_sqlite:
            _switch_foreign_keys(connection, on=True)


def schema_is_current(engine: Engine) -> bool:
    """Say whether the newest revision has been applied; raises when there is no connection."""
    newest = set(ScriptDirectory.from_config(_config()).get_heads())
    with engine.connect() as connection:
        return set(MigrationContext.configure(connection).get_current_heads()) == newest


def schema_differences(engine: Engine) -> list[Any]:
    """Return what a revision would still have to change for the tables to match the code."""
    with engine.connect() as connection:
        migration = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(migration, SQLModel.metadata))


def _config(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


def _switch_foreign_keys(connection: Connection, *, on: bool) -> None:
    # The driver's own connection: SQLite ignores this inside a transaction.
    driver = connection.connection.dbapi_connection
    assert driver is not None  # noqa: S101 - The connection is open.
    driver.execute(f"PRAGMA foreign_keys = {'ON' if on else 'OFF'}")
