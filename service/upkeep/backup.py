"""A copy of a whole database in one file that either engine takes back.

The file is a ZIP (APPNOTE of its makers, Deflate) of `manifest.json` and, for each table, one
JSON array a line: its columns in the order of the manifest. Bytes stand there as base64
(RFC 4648), moments and days as RFC 3339 writes them, JSON as the text that was kept.
"""

import base64
import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

from service.errors import Conflict, RuleBroken

FORMAT = 1
DIGEST_SIZE = 2**256


class ColumnKind(StrEnum):
    """What a column holds, whichever engine keeps it."""

    PLAIN = "plain"
    """Text, numbers, truth values: as JSON has them."""
    BYTES = "bytes"
    MOMENT = "moment"
    DAY = "day"
    JSON = "json"


@dataclass(frozen=True, slots=True, kw_only=True)
class TableCopy:
    """One table of a copy."""

    name: str
    columns: tuple[tuple[str, ColumnKind], ...]
    row_count: int
    sha256: str
    """Of the lines as they stand in the file."""
    content: str
    """Sum over the rows of a digest of what each says: the same in any order, on any engine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a copy holds."""

    format: int
    made_at: datetime
    service_version: str
    schema_revision: str
    tables: tuple[TableCopy, ...]

    @property
    def row_count(self) -> int:
        """Rows of all tables."""
        return sum(table.row_count for table in self.tables)


class BackupExists(Conflict):
    """A copy is never written over another file."""

    def __init__(self, file: Path) -> None:
        super().__init__(f"{file} is there already; name a new file.")


class BackupUnreadable(RuleBroken):
    """A file is no copy, or a copy that this service does not know."""

    def __init__(self, file: Path, reason: str) -> None:
        super().__init__(f"{file} cannot be restored: {reason}. Nothing was changed.")


class DatabaseNotEmpty(Conflict):
    """A copy is put back into an empty database, unless what is there is to go."""

    def __init__(self, table: str) -> None:
        super().__init__(
            f"The database is not empty: there are rows in {table}. With --replace everything "
            "in it is deleted first; take a backup of it before."
        )


class RestoredDiffers(RuleBroken):
    """What was put back does not say what the copy says."""

    def __init__(self, table: str) -> None:
        super().__init__(f"The rows of {table} came out otherwise; the database is as it was.")


_WRITE: Mapping[ColumnKind, Callable[[Any], object]] = {
    ColumnKind.PLAIN: lambda value: value,
    ColumnKind.BYTES: lambda value: base64.b64encode(bytes(value)).decode(),
    ColumnKind.MOMENT: lambda value: _in_utc(value).isoformat(),
    ColumnKind.DAY: lambda value: value.isoformat(),
    ColumnKind.JSON: lambda value: value,
}
_READ: Mapping[ColumnKind, Callable[[Any], object]] = {
    ColumnKind.PLAIN: lambda value: value,
    ColumnKind.BYTES: base64.b64decode,
    ColumnKind.MOMENT: datetime.fromisoformat,
    ColumnKind.DAY: date.fromisoformat,
    ColumnKind.JSON: lambda value: value,
}


def line_of(row: Sequence[Any], kinds: Sequence[ColumnKind]) -> bytes:
    """Return a row as it stands in the file."""
    values = [
        None if value is None else _WRITE[kind](value)
        for value, kind in zip(row, kinds, strict=True)
    ]
    return json.dumps(values, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def row_of(line: bytes, kinds: Sequence[ColumnKind]) -> list[object]:
    """Return the row that a line of the file means."""
    return [
        None if value is None else _READ[kind](value)
        for value, kind in zip(json.loads(line), kinds, strict=True)
    ]


def content_of(line: bytes, kinds: Sequence[ColumnKind]) -> int:
    """Return a number that stands for what a row says, however its engine writes JSON."""
    values = [
        _same(json.loads(value)) if kind is ColumnKind.JSON and value is not None else value
        for value, kind in zip(json.loads(line), kinds, strict=True)
    ]
    said = json.dumps(values, sort_keys=True, separators=(",", ":")).encode()
    return int.from_bytes(hashlib.sha256(said).digest())


def _same(value: object) -> object:
    """Write numbers that are equal alike: one engine keeps 1e16 as a whole number."""
    if isinstance(value, dict):
        return {key: _same(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_same(each) for each in value]
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _in_utc(moment: datetime) -> datetime:
    # SQLite forgets the zone; what it keeps is in UTC.
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
