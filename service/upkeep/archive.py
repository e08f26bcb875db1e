"""The file of a copy: written whole or not at all, read back only when its digests hold."""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from service.upkeep.backup import (
    DIGEST_SIZE,
    FORMAT,
    BackupExists,
    BackupUnreadable,
    ColumnKind,
    Manifest,
    TableCopy,
    content_of,
)

MANIFEST = "manifest.json"
_DAMAGE = (
    OSError,
    EOFError,
    KeyError,
    TypeError,
    ValueError,
    NotImplementedError,
    zipfile.BadZipFile,
    zlib.error,
)
"""What the standard library says of a file that is no archive of ours."""
OWNER_ONLY = 0o600
"""The file holds prices, customers and the secrets of webhooks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TableLines:
    """One table on its way into the file."""

    name: str
    columns: tuple[tuple[str, ColumnKind], ...]
    lines: Iterable[bytes]


def write_archive(
    file: Path, tables: Iterable[TableLines], describe: Callable[[tuple[TableCopy, ...]], Manifest]
) -> Manifest:
    """Write a copy; the name appears when everything is on the disk, and never before."""
    if file.exists():
        raise BackupExists(file)
    part = file.with_name(file.name + ".part")
    try:
        descriptor = os.open(part, os.O_CREAT | os.O_TRUNC | os.O_RDWR, OWNER_ONLY)
        with os.fdopen(descriptor, "w+b") as raw:
            with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:
                manifest = describe(tuple(_write_table(archive, table) for table in tables))
                archive.writestr(MANIFEST, json.dumps(asdict(manifest), default=str, indent=1))
            raw.flush()
            os.fsync(raw.fileno())
        read_manifest(part)
        # A link is refused where the name was taken meanwhile; a rename would replace it.
        os.link(part, file)
    except FileExistsError as error:
        raise BackupExists(file) from error
    finally:
        part.unlink(missing_ok=True)
    return manifest


def read_manifest(file: Path) -> Manifest:
    """Return what a copy says it holds, once every table was read and found to be that."""
    try:
        with zipfile.ZipFile(file) as archive:
            manifest = _manifest(file, json.loads(archive.read(MANIFEST)))
            for table in manifest.tables:
                _compare(file, archive, table)
    except _DAMAGE as error:
        raise BackupUnreadable(file, f"it is no whole backup ({error})") from error
    return manifest


def table_lines(file: Path, name: str) -> Iterator[bytes]:
    """Yield the rows of one table."""
    with zipfile.ZipFile(file) as archive:
        yield from _lines(archive, name)


def _compare(file: Path, archive: zipfile.ZipFile, table: TableCopy) -> None:
    digest = hashlib.sha256()
    rows = 0
    for line in _lines(archive, table.name):
        digest.update(line)
        rows += 1
    if (digest.hexdigest(), rows) != (table.sha256, table.row_count):
        raise BackupUnreadable(file, f"the rows of {table.name} are damaged")


def _lines(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    with archive.open(_member(name)) as member:
        yield from member


def _write_table(archive: zipfile.ZipFile, table: TableLines) -> TableCopy:
    digest = hashlib.sha256()
    kinds = [kind for _, kind in table.columns]
    rows = content = 0
    with archive.open(_member(table.name), "w", force_zip64=True) as member:
        for line in table.lines:
            member.write(line)
            digest.update(line)
            content = (content + content_of(line, kinds)) % DIGEST_SIZE
            rows += 1
    return TableCopy(
        name=table.name,
        columns=table.columns,
        row_count=rows,
        sha256=digest.hexdigest(),
        content=f"{content:064x}",
    )


def _member(table: str) -> str:
    return f"tables/{table}.jsonl"


def _manifest(file: Path, found: dict[str, object]) -> Manifest:
    if found["format"] != FORMAT:
        raise BackupUnreadable(file, f"its format is not {FORMAT}, the one that is known here")
    tables: Any = found["tables"]
    return Manifest(
        format=FORMAT,
        made_at=datetime.fromisoformat(str(found["made_at"])),
        service_version=str(found["service_version"]),
        schema_revision=str(found["schema_revision"]),
        tables=tuple(
            TableCopy(
                **{
                    **each,
                    "columns": tuple((name, ColumnKind(kind)) for name, kind in each["columns"]),
                }
            )
            for each in tables
        ),
    )
