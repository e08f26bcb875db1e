"""Every revision from the first on, with rows in every table as they were written then.

`rows.jsonl` holds rows by the revision at which they were written. Those of the catalogue and
of quotes were written by the service as it stood at that revision, and copied out; printed
bytes and most of the answer about the kit were cut short, and their digests taken anew.
"""

import base64
import json
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic.script import ScriptDirectory
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Boolean, Column, Date, DateTime, Table, insert, select
from sqlalchemy.exc import DBAPIError
from sqlmodel import SQLModel

from service.commands.upkeep import CHECKS
from service.database import Database
from service.schema import MIGRATIONS, schema_difference, upgrade_schema
from service.settings import Settings
from service.upkeep.store.integrity import NEVER_CHANGED
from service.upkeep.store.snapshot import reflected
from tests.conftest import postgres_or_skip
from tests.quotes.made import ADDRESS, HOT_CAM, Json, move
from tests.served import sqlite_url

pytestmark = pytest.mark.xdist_group("migrations")
"""In their order: the last one goes on with what the others look at."""

REWRITTEN = {("quote", "content"), ("price_list", "value")}
"""What a revision writes anew; looked at by what is told of it."""
KEY = "demo-key-of-0012"


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Give the address of a database without any table."""
    if request.param == "sqlite":
        yield sqlite_url(tmp_path_factory.mktemp("old") / "kitwright.db")
    else:
        with postgres_or_skip() as address:
            yield address


@pytest.fixture(scope="module")
def grown(url: str) -> Iterator[Database]:
    """Bring it up revision by revision, and put in what each was used for."""
    database = Database.open(url, pool_size=4)
    rows = written()
    revisions = [each.revision for each in ScriptDirectory(str(MIGRATIONS)).walk_revisions()]
    for revision in reversed(revisions):
        upgrade_schema(database.engine, revision)
        with database.writing() as session:
            tables = reflected(session.connection()).tables
            for name, row in rows[revision]:
                session.connection().execute(insert(tables[name]), typed(row, tables[name]))
            empty = [
                name
                for name, table in tables.items()
                if session.connection().execute(select(table).limit(1)).first() is None
            ]
        assert not empty, f"rows.jsonl needs rows of {empty}, as revision {revision} writes them"
    yield database
    database.close()


def written() -> dict[str, list[tuple[str, Json]]]:
    """Return tables and rows by the revision at which they are put in."""
    found = defaultdict(list)
    for line in (Path(__file__).parent / "rows.jsonl").read_text().splitlines():
        kept = json.loads(line)
        found[kept["revision"]].append((kept["table"], kept["row"]))
    return found


def typed(row: Json, table: Table) -> Json:
    """Return a row as its columns take it."""
    return {name: _typed(value, table.c[name]) for name, value in row.items()}


def _typed(value: Any, column: Column[Any]) -> Any:  # noqa: ANN401 - whatever a column holds.
    if isinstance(value, dict) and value.keys() == {"base64"}:
        return base64.b64decode(value["base64"])
    if value is not None and isinstance(column.type, Boolean):
        return bool(value)
    if value is not None and isinstance(column.type, DateTime):
        return datetime.fromisoformat(value).replace(tzinfo=UTC)
    if value is not None and isinstance(column.type, Date):
        return date.fromisoformat(value)
    return value


def test_every_row_of_every_revision_is_there_with_what_it_said(grown: Database) -> None:
    assert schema_difference(grown.engine) == ""
    with grown.reading() as session:
        tables = reflected(session.connection()).tables
        for name, row in (each for rows in written().values() for each in rows):
            table, values = tables[name], typed(row, tables[name])
            same = [column == values[column.name] for column in table.primary_key]
            kept = session.connection().execute(select(table).where(*same)).mappings().one()
            for column, value in values.items():
                if (name, column) not in REWRITTEN:
                    assert _told(kept[column]) == _told(value), (name, column)


@pytest.mark.parametrize("table", NEVER_CHANGED)
def test_no_way_leads_round_the_guards_of_what_never_changes(grown: Database, table: str) -> None:
    """Manual of SQLite, "ON CONFLICT": REPLACE asks no trigger for deletes unless told to."""
    replaced = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"  # noqa: S608 - Our own table.
    all_at_once = replaced if grown.is_embedded else f"TRUNCATE {table} CASCADE"
    for deed in (all_at_once, f"DELETE FROM {table}"):  # noqa: S608 - Our own table.
        with grown.engine.connect() as one, pytest.raises(DBAPIError, match="is never changed"):
            one.exec_driver_sql(deed)


def _told(value: object) -> object:
    """Return a value as it was put in: SQLite forgets the zone, which is UTC."""
    if not isinstance(value, datetime):
        return value
    return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def test_the_service_of_today_reads_every_table(grown: Database) -> None:
    known = SQLModel._sa_registry.mappers  # noqa: SLF001 - There is no public list of them.
    # Tests of the machinery have tables of their own.
    for mapper in (one for one in known if one.class_.__module__.startswith("service.")):
        with grown.reading() as session:
            rows = session.connection().execute(select(mapper.class_)).all()
            assert rows, mapper
    for check in CHECKS.values():
        with grown.reading() as session:
            assert list(check(session)) == []


def test_what_was_quoted_before_money_had_its_currency_is_read_and_goes_on(
    whole_app: FastAPI, grown: Database, url: str
) -> None:
    """The amounts are those that the service printed at revision 0008."""
    whole_app.state.settings = Settings(_env_file=None, database_url=url, job_worker=False)
    with TestClient(whole_app, headers={"Authorization": f"Bearer {KEY}"}) as client:
        for name in ("parts", "engine-families", "shop-rules", "documents", "tax-rules"):
            assert client.get(f"/v1/{name}").json()["items"], name
        number = client.get("/v1/documents").json()["items"][0]["number"]
        assert client.get(f"/v1/documents/{number}/file").content == b"%PDF-1.7 demo paper"
        item = client.get("/v1/price-lists/list").json()["items"][0]
        draft = client.get(f"{ADDRESS}/2").json()
        quote = client.get(f"{ADDRESS}/1").json()
        raw = client.get(f"{ADDRESS}/1/revisions/1").json()["frozen"]
        back = move(client, quote, "discard")
        accepted = move(client, back, "accept")
        differences = client.get(f"{ADDRESS}/1/revisions/1/differences").json()

    usd = {"currency": "USD"}
    assert item["item"] == HOT_CAM
    assert item["breaks"][1]["unit_price"] == {"amount": "390", **usd}
    assert item["unit_cost"] == {"amount": "200", **usd}
    assert draft["content"]["lines"][0]["unit_cost"] == {"amount": "30.5", **usd}
    assert draft["bill"]["total"] == {"amount": "630.10", **usd}
    assert raw["bill"]["total"] == "599.80"
    assert back["bill"]["total"] == accepted["bill"]["total"] == {"amount": "599.80", **usd}
    assert [line["amount"]["amount"] for line in accepted["bill"]["lines"]] == [
        "200.00",
        "400.10",
        "30.00",
        "-60.01",
        "29.71",
    ]
    assert accepted["bill"]["lines"][3]["unit_price"] is None
    assert differences == []
    with grown.reading() as session:
        assert [problem for check in CHECKS.values() for problem in check(session)] == []
