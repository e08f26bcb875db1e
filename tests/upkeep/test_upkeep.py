"""Copies of a whole database: consistent, compared, never over something else; the doctor."""

import time
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import text
from sqlmodel import Session

from service.commands import upkeep
from service.database import Database
from service.schema import rebuild_schema, schema_is_current, upgrade_schema
from service.settings import Settings
from service.upkeep.backup import BackupExists, BackupUnreadable, DatabaseNotEmpty, Manifest
from service.upkeep.store.integrity import NEVER_CHANGED
from service.upkeep.store.snapshot import write_backup
from tests.factories import make_document
from tests.quotes.made import ADDRESS, Json, create, issue, move, shop
from tests.served import sqlite_url
from tests.wire import plain_json

WITHIN_S = 30.0
Use = Callable[[str], None]


@pytest.fixture
def use(monkeypatch: pytest.MonkeyPatch) -> Use:
    """Let the commands work on the database at an address."""

    def point(url: str) -> None:
        settings = Settings(_env_file=None, database_url=url)
        monkeypatch.setattr(upkeep, "get_settings", lambda: settings)

    return point


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def known(client: TestClient, quote_id: int) -> list[bytes | Json]:
    """Everything that is told of a quote, with its printed bytes."""
    at = f"{ADDRESS}/{quote_id}"
    pdf = client.get(f"{at}/revisions/1/customer.pdf").content
    return [client.get(at).json(), client.get(f"{at}/history").json(), pdf]


@pytest.mark.parametrize("target", ["sqlite", "postgresql"])
def test_what_was_copied_comes_back_on_either_engine(
    client: TestClient,
    app: FastAPI,
    database_url: str,
    use: Use,
    tmp_path: Path,
    request: pytest.FixtureRequest,
    target: str,
) -> None:
    quote = move(client, issue(client, create(client)), "accept")
    before = known(client, quote["id"])
    file = tmp_path / "copy.zip"
    use(database_url)
    upkeep.backup(file)

    same = target in database_url
    url = database_url if same else sqlite_url(tmp_path / "restored.db")
    if target == "postgresql" and not same:
        url = request.getfixturevalue("postgres_url")
    if same:
        create(client)  # It goes with what is replaced.
    use(url)
    upkeep.restore(file, replace=same or target == "postgresql")
    upkeep.doctor()

    app.state.settings = app.state.settings.model_copy(update={"database_url": url})
    with TestClient(app) as other:
        assert known(other, quote["id"]) == before
        assert len(other.get(ADDRESS).json()["items"]) == 1
    again = Database.open(url, pool_size=2)
    assert schema_is_current(again.engine)
    with again.writing() as session:  # The next number follows the last one.
        row = "SELECT version, state, revision, customer_reference, customer_name, valid_until, "
        rest = "currency, total_cents, content, created_at, updated_at"
        columns = row.removeprefix("SELECT ") + rest
        session.connection().execute(text(f"INSERT INTO quote ({columns}) {row}{rest} FROM quote"))
    with again.reading() as session:
        ids = [each for (each,) in session.connection().execute(text("SELECT id FROM quote"))]
    # The server's database is shared with the tests that follow.
    rebuild_schema(again.engine, "head", look=lambda _: None, fill=lambda _: None)
    again.close()
    assert sorted(ids) == [quote["id"], quote["id"] + 1]


def test_a_copy_holds_one_moment_although_others_write_meanwhile(
    client: TestClient, database: Database, use: Use, tmp_path: Path
) -> None:
    create(client)
    file = tmp_path / "copy.zip"
    with database.reading() as session:
        session.connection().execute(text("SELECT count(*) FROM quote"))
        issue(client, create(client))
        manifest = write_backup(session, file)

    counts = row_counts(manifest)
    assert (counts["quote"], counts["quote_event"], counts["quote_revision"]) == (1, 1, 0)
    use(sqlite_url(tmp_path / "restored.db"))
    upkeep.restore(file)
    upkeep.doctor()


def test_a_backup_is_whole_although_the_server_writes_before_during_and_after(
    client: TestClient,
    database_url: str,
    use: Use,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    written, over = list[int](), Event()

    def write() -> None:
        while not over.is_set():
            written.append(create(client)["id"])

    def wait_for_two_more() -> int:
        known, give_up = len(written), time.monotonic() + WITHIN_S
        while len(written) < known + 2:
            assert time.monotonic() < give_up
            time.sleep(0.01)
        return known

    def slowly(session: Session, file: Path) -> Manifest:
        session.connection().execute(text("SELECT count(*) FROM quote"))
        before = wait_for_two_more()
        manifest = write_backup(session, file)
        assert before <= row_counts(manifest)["quote"] <= before + 1
        return manifest

    monkeypatch.setattr(upkeep, "write_backup", slowly)
    use(database_url)
    with ThreadPoolExecutor(1) as threads:
        writing = threads.submit(write)
        try:
            wait_for_two_more()
            upkeep.backup(tmp_path / "copy.zip")
            wait_for_two_more()
        finally:
            over.set()
        writing.result()
    assert len(client.get(ADDRESS, params={"limit": 100}).json()["items"]) == len(written)
    upkeep.doctor()
    use(sqlite_url(tmp_path / "restored.db"))
    upkeep.restore(tmp_path / "copy.zip")
    upkeep.doctor()


def row_counts(manifest: Manifest) -> dict[str, int]:
    return {table.name: table.row_count for table in manifest.tables}


def test_nothing_is_overwritten_without_being_told_to(
    client: TestClient, database_url: str, use: Use, tmp_path: Path
) -> None:
    quote = issue(client, create(client))
    file = tmp_path / "copy.zip"
    use(database_url)
    upkeep.backup(file)
    content = file.read_bytes()

    with pytest.raises(BackupExists):
        upkeep.backup(file)
    with pytest.raises(DatabaseNotEmpty, match="--replace"):
        upkeep.restore(file)

    assert file.read_bytes() == content
    assert client.get(f"{ADDRESS}/{quote['id']}").json()["state"] == "issued"
    assert list(tmp_path.glob("*.part")) == []
    assert file.stat().st_mode & 0o077 == 0


def test_a_damaged_copy_is_told_and_changes_nothing(
    client: TestClient, database_url: str, use: Use, tmp_path: Path
) -> None:
    create(client)
    file = tmp_path / "copy.zip"
    use(database_url)
    upkeep.backup(file)
    whole = file.read_bytes()
    with zipfile.ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}

    spoilt = bytearray(whole)
    # Inside packed rows: a bit of a date in a header of the archive would change nothing.
    spoilt[whole.index(b"tables/engine_family.jsonl") + 300] ^= 1
    files = {"bit.zip": bytes(spoilt), "half.zip": whole[: len(whole) // 2], "text.zip": b"no"}
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    with zipfile.ZipFile(tmp_path / "row.zip", "w") as archive:
        for name, content in members.items():
            changed = content.replace(b"PO-0007", b"PO-0008") if "quote" in name else content
            archive.writestr(name, changed)

    for name in (*files, "row.zip"):
        with pytest.raises(BackupUnreadable):
            upkeep.restore(tmp_path / name, replace=True)
    assert len(client.get(ADDRESS).json()["items"]) == 1


def test_a_copy_of_an_older_revision_is_brought_up_to_date(tmp_path: Path, use: Use) -> None:
    old = Database.open(sqlite_url(tmp_path / "old.db"), pool_size=1)
    upgrade_schema(old.engine, "0001")
    with old.writing() as session:
        session.connection().execute(text("INSERT INTO revision VALUES ('catalog', 41)"))
    with old.reading() as session:
        write_backup(session, tmp_path / "copy.zip")
    old.close()

    use(sqlite_url(tmp_path / "new.db"))
    upkeep.restore(tmp_path / "copy.zip")

    new = Database.open(sqlite_url(tmp_path / "new.db"), pool_size=1)
    assert schema_is_current(new.engine)
    assert new.peek("SELECT number FROM revision") == 41
    new.close()


@pytest.mark.parametrize(
    ("harm", "told"),
    [
        ("UPDATE quote_revision SET customer_pdf = shop_pdf", "customer's copy"),
        ("UPDATE quote_revision SET total_cents = 1", "sum of its lines"),
        ("DELETE FROM quote_event WHERE number = 2", "events up to"),
        ("UPDATE quote SET state = 'accepted'", "what happened last is issued"),
        ("UPDATE quote SET total_cents = 1", "not that of its revision"),
        ("UPDATE quote SET content = '{\"lines\": []}'", "quote 1: it cannot be read"),
        (
            "UPDATE quote SET content = replace(CAST(content AS TEXT), '2000', '1999')<json>",
            "not what was issued",
        ),
        ("UPDATE quote SET customer_name = 'X'", "lists show another customer_name"),
        ("UPDATE quote SET expires_at = created_at", "another moment than it was issued for"),
        ("UPDATE quote SET declaration = NULL", "not the one that it was issued with"),
        ("UPDATE quote SET issued_state = 'accepted'", "its history says otherwise"),
        ("DELETE FROM quote_part WHERE sku = 'CAM-HOT'", "a search for its parts"),
        ("DELETE FROM document_file", "the copy of DEMO-EO-17 is not kept"),
        ("DELETE FROM quote_revision", "0 kept"),
        ("DELETE FROM engine_family", "point at no row"),
        ("UPDATE quote_part SET quote_id = 99", "point at no row of quote"),
    ],
)
def test_the_doctor_finds_what_was_changed_behind_the_back_of_the_service(
    client: TestClient,
    database: Database,
    database_url: str,
    use: Use,
    capsys: pytest.CaptureFixture[str],
    harm: str,
    told: str,
) -> None:
    client.post("/v1/documents", json=plain_json(make_document()))
    paper = {"Content-Type": "application/pdf", "If-Match": '"1"'}
    client.put("/v1/documents/DEMO-EO-17/file", content=b"%PDF-1.7 demo", headers=paper)
    issue(client, create(client))
    use(database_url)
    upkeep.doctor()
    changed_unguarded(database, harm)

    with pytest.raises(upkeep.NotSound):
        upkeep.doctor()
    assert told in capsys.readouterr().out


TRIGGERS = ("quote_revision_no_update", "quote_event_no_delete", "quote_revision_no_delete")


def changed_unguarded(database: Database, harm: str) -> None:
    """Do what the guards of the database keep others from doing."""
    harm = harm.replace("<json>", "" if database.is_embedded else "::jsonb")
    with database.engine.connect() as connection:
        if database.is_embedded:
            driver = connection.connection.dbapi_connection
            assert driver is not None
            driver.execute("PRAGMA foreign_keys = OFF")
            for trigger in TRIGGERS:
                driver.execute(f"DROP TRIGGER {trigger}")
            driver.execute(harm)
            return
        with connection.begin():
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            connection.exec_driver_sql(harm)


def test_the_doctor_knows_every_guard(database: Database) -> None:
    query = (
        "SELECT DISTINCT tbl_name FROM sqlite_master WHERE type = 'trigger'"
        if database.is_embedded
        else "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal"
    )
    with database.reading() as session:
        guarded = {name for (name,) in session.connection().execute(text(query))}
    assert guarded == set(NEVER_CHANGED)


@pytest.mark.parametrize("guard", ["changed", "added at once"])
def test_the_doctor_misses_a_guard_that_is_gone(
    database: Database,
    database_url: str,
    use: Use,
    capsys: pytest.CaptureFixture[str],
    guard: str,
) -> None:
    names = {"changed": "no_update", "added at once": "no_replace"}
    if not database.is_embedded:
        names = {"changed": "never_changed", "added at once": "never_emptied"}
    name = f"quote_event_{names[guard]}"
    with database.engine.begin() as connection:
        if database.is_embedded:
            connection.exec_driver_sql(f"DROP TRIGGER {name}")
        else:
            connection.exec_driver_sql(f"ALTER TABLE quote_event DISABLE TRIGGER {name}")
    use(database_url)
    try:
        with pytest.raises(upkeep.NotSound):
            upkeep.doctor()
        assert f"any longer ({names[guard]})" in capsys.readouterr().out
    finally:
        if not database.is_embedded:
            with database.engine.begin() as connection:
                connection.exec_driver_sql(f"ALTER TABLE quote_event ENABLE TRIGGER {name}")


def test_the_doctor_says_what_it_looks_at_on_a_server_and_what_it_cannot(
    postgres_url: str, use: Use, capsys: pytest.CaptureFixture[str]
) -> None:
    """Manual of PostgreSQL 15, F.2, amcheck: `heapallindexed` finds rows that an index lacks."""
    database = Database.open(postgres_url, pool_size=1)
    use(postgres_url)
    upkeep.doctor()
    assert "the file of the database: not looked at" in capsys.readouterr().out

    shifted = "CREATE OR REPLACE FUNCTION shifted(n bigint) RETURNS bigint IMMUTABLE AS $$ "
    body = "BEGIN RETURN n + {}; END $$ LANGUAGE plpgsql"
    with database.engine.begin() as connection:
        connection.exec_driver_sql("CREATE EXTENSION amcheck")
        connection.exec_driver_sql(shifted + body.format(0))
        connection.exec_driver_sql("INSERT INTO revision VALUES ('demo', 1)")
        connection.exec_driver_sql("CREATE INDEX ix_spoilt ON revision (shifted(number))")
    try:
        upkeep.doctor()
        assert "the file of the database: sound" in capsys.readouterr().out
        with database.engine.begin() as connection:
            connection.exec_driver_sql(shifted + body.format(1))
        with pytest.raises(upkeep.NotSound):
            upkeep.doctor()
        assert "the index ix_spoilt" in capsys.readouterr().out
    finally:
        with database.engine.begin() as connection:
            connection.exec_driver_sql("DROP INDEX ix_spoilt")
            connection.exec_driver_sql("DROP FUNCTION shifted")
            connection.exec_driver_sql("DROP EXTENSION amcheck")
            connection.exec_driver_sql("DELETE FROM revision WHERE name = 'demo'")
        database.close()
