"""Every row of one moment read out, and put back in one transaction.

A reading session sees one state of the data on both engines (a snapshot of the write-ahead
log, REPEATABLE READ), so a copy is consistent while others write.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from importlib.metadata import version
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import (
    JSON,
    Column,
    Connection,
    Date,
    DateTime,
    LargeBinary,
    MetaData,
    Table,
    Text,
    TypeDecorator,
    bindparam,
    cast,
    func,
    insert,
    select,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB
from sqlmodel import Session

from service.schema import VERSION_TABLE, current_revision
from service.upkeep.archive import TableLines, table_lines, write_archive
from service.upkeep.backup import (
    DIGEST_SIZE,
    FORMAT,
    ColumnKind,
    DatabaseNotEmpty,
    Manifest,
    RestoredDiffers,
    TableCopy,
    content_of,
    line_of,
    row_of,
)

READ_AT_ONCE = 100
WRITTEN_AT_ONCE = 200


def write_backup(session: Session, file: Path) -> Manifest:
    """Write every row that a reading session sees into a file."""
    connection = session.connection()
    revision = current_revision(connection)

    def describe(tables: tuple[TableCopy, ...]) -> Manifest:
        return Manifest(
            format=FORMAT,
            made_at=datetime.now(UTC),
            service_version=version("kitwright"),
            schema_revision=revision,
            tables=tables,
        )

    tables = (
        TableLines(name=table.name, columns=_columns(table), lines=_read(connection, table))
        for table in reflected(connection).sorted_tables
    )
    return write_archive(file, tables, describe)


def require_empty(connection: Connection) -> None:
    """Raise `DatabaseNotEmpty` when there is a row anywhere."""
    for table in reflected(connection).sorted_tables:
        if connection.execute(select(1).select_from(table).limit(1)).first() is not None:
            raise DatabaseNotEmpty(table.name)


def fill_tables(connection: Connection, file: Path, manifest: Manifest) -> None:
    """Put the rows of a copy into the empty tables of its revision, and compare."""
    tables = reflected(connection)
    copies = {copy.name: copy for copy in manifest.tables}
    for table in tables.sorted_tables:
        if (copy := copies.get(table.name)) is not None:
            _write(connection, table, file, copy)
    for copy in manifest.tables:
        if copy.name not in tables.tables or _content(connection, tables.tables[copy.name]) != (
            copy.row_count,
            copy.content,
        ):
            raise RestoredDiffers(copy.name)
    if connection.dialect.name == "postgresql":
        for table in tables.sorted_tables:
            _set_sequence(connection, table)


def reflected(connection: Connection) -> MetaData:
    """Return the tables that are there, whatever the code declares."""
    found = MetaData()
    found.reflect(connection)
    if (versions := found.tables.get(VERSION_TABLE)) is not None:
        found.remove(versions)
    return found


def _read(connection: Connection, table: Table) -> Iterator[bytes]:
    columns = _columns(table)
    kinds = [kind for _, kind in columns]
    # JSON is read as the text that is kept: null and no value are two things in it.
    chosen = [
        cast(table.c[name], Text) if kind is ColumnKind.JSON else table.c[name]
        for name, kind in columns
    ]
    rows = connection.execute(
        select(*chosen).order_by(*table.primary_key.columns),
        execution_options={"yield_per": READ_AT_ONCE},
    )
    for row in rows:
        yield line_of(row, kinds)


def _content(connection: Connection, table: Table) -> tuple[int, str]:
    kinds = [kind for _, kind in _columns(table)]
    rows = content = 0
    for line in _read(connection, table):
        rows += 1
        content = (content + content_of(line, kinds)) % DIGEST_SIZE
    return rows, f"{content:064x}"


def _write(connection: Connection, table: Table, file: Path, copy: TableCopy) -> None:
    kinds = [kind for _, kind in copy.columns]
    on_postgresql = connection.dialect.name == "postgresql"
    statement = insert(table).values(
        {
            name: _bound(table.c[name], kind, on_postgresql=on_postgresql)
            for name, kind in copy.columns
        }
    )
    names = [_parameter(name) for name, _ in copy.columns]
    lines = table_lines(file, table.name)
    for batch in iter(partial(_batch, lines), []):
        rows: list[Mapping[str, object]] = [
            dict(zip(names, row_of(line, kinds), strict=True)) for line in batch
        ]
        connection.execute(statement, rows)


def _batch(lines: Iterator[bytes]) -> Sequence[bytes]:
    return list(islice(lines, WRITTEN_AT_ONCE))


def _bound(column: Column[Any], kind: ColumnKind, *, on_postgresql: bool) -> Any:  # noqa: ANN401 - Half of SQLAlchemy.
    if kind is not ColumnKind.JSON:
        return bindparam(_parameter(column.name), type_=column.type)
    plain = bindparam(_parameter(column.name), type_=Text())
    # SQLite keeps JSON as text; a cast would make a number of it.
    return cast(plain, JSONB) if on_postgresql else cast(plain, Text)


def _parameter(column: str) -> str:
    return f"new_{column}"


def _columns(table: Table) -> tuple[tuple[str, ColumnKind], ...]:
    return tuple((column.name, _kind(column)) for column in table.columns)


def _kind(column: Column[Any]) -> ColumnKind:
    kept: Any = column.type
    if isinstance(kept, TypeDecorator):
        kept = kept.impl_instance
    for base, kind in (
        (JSON, ColumnKind.JSON),
        (LargeBinary, ColumnKind.BYTES),
        (DateTime, ColumnKind.MOMENT),
        (Date, ColumnKind.DAY),
    ):
        if isinstance(kept, base):
            return kind
    return ColumnKind.BYTES if kept.__visit_name__ in ("BLOB", "BYTEA") else ColumnKind.PLAIN


def _set_sequence(connection: Connection, table: Table) -> None:
    """Let the next number follow the highest: rows that bring their own do not move it."""
    columns = list(table.primary_key.columns)
    if len(columns) != 1:
        return
    (column,) = columns
    sequence = connection.execute(
        text("SELECT pg_get_serial_sequence(:table, :column)"),
        {"table": f'"{table.name}"', "column": column.name},
    ).scalar_one()
    highest = connection.execute(select(func.max(column))).scalar_one()
    if sequence is not None and highest is not None:
        connection.execute(select(func.setval(sequence, highest)))
