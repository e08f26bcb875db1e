from pathlib import Path

import pytest
from alembic.script import ScriptDirectory
from sqlalchemy import inspect
from sqlmodel import SQLModel

from service import schema
from service.database import Database

BROKEN_REVISION = '''
"""Add a table, then fail."""

import sqlalchemy as sa
from alembic import op

revision = "broken"
down_revision = None


def upgrade() -> None:
    op.create_table("half", sa.Column("id", sa.Integer, primary_key=True))
    op.execute("SELECT * FROM nowhere")
'''


def test_the_migrations_lead_to_the_tables_of_the_code(database: Database) -> None:
    assert schema.schema_difference(database.engine) == ""
    assert set(SQLModel.metadata.tables) <= set(inspect(database.engine).get_table_names())


def test_a_missing_table_is_told(database: Database) -> None:
    SQLModel.metadata.tables["revision"].drop(database.engine)

    try:
        assert "revision" in schema.schema_difference(database.engine)
    finally:
        SQLModel.metadata.tables["revision"].create(database.engine)


def test_migrating_twice_is_migrating_once(database: Database) -> None:
    schema.upgrade_schema(database.engine)

    assert schema.schema_is_current(database.engine)


def test_there_is_one_newest_revision() -> None:
    """Two would leave it open which tables a database has."""
    assert len(ScriptDirectory(str(schema.MIGRATIONS)).get_heads()) == 1


def test_foreign_keys_are_watched_again_after_a_migration(tmp_path: Path) -> None:
    database = Database.open(f"sqlite:///{tmp_path / 'keys.db'}", pool_size=1)

    schema.upgrade_schema(database.engine)

    with database.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    database.close()


def test_a_migration_that_fails_leaves_the_tables_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On SQLite, where Alembic itself would not use a transaction."""
    (tmp_path / "versions").mkdir()
    (tmp_path / "env.py").write_text((schema.MIGRATIONS / "env.py").read_text())
    (tmp_path / "versions" / "broken.py").write_text(BROKEN_REVISION)
    monkeypatch.setattr(schema, "MIGRATIONS", tmp_path)
    database = Database.open(f"sqlite:///{tmp_path / 'failed.db'}", pool_size=1)

    with pytest.raises(Exception, match="nowhere"):
        schema.upgrade_schema(database.engine)

    assert inspect(database.engine).get_table_names() == []
    database.close()
