"""Columns that mean the same on SQLite and on PostgreSQL."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, String
from sqlalchemy.dialects.postgresql import JSONB
from sqlalchemy.types import TypeDecorator, TypeEngine
from sqlmodel import Field, SQLModel


class UtcDateTime(TypeDecorator[datetime]):
    """A moment; SQLite forgets the zone, so it is put back on reading."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a moment without a zone and write the others in UTC."""
        del dialect
        if value is None:
            return None
        if value.tzinfo is None:
            msg = "a moment needs a time zone"
            raise ValueError(msg)
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Say that what was read is in UTC."""
        del dialect
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


JSON_VALUE: TypeEngine[Any] = JSON().with_variant(JSONB(), "postgresql")
"""A whole value. Assign a new one to change it: changes inside are not noticed."""


def sorted_text(length: int) -> Any:  # noqa: ANN401 - SQLModel types `sa_type` as a class.
    """Text that both engines sort by code point, whatever the locale of the server."""
    return String(length).with_variant(String(length, collation="C"), "postgresql")


class ValueRow(SQLModel):
    """The columns of every row that keeps a whole value beside its searchable fields."""

    value: dict[str, Any] = Field(sa_type=JSON_VALUE)
    version: int = 1
    updated_at: datetime = Field(sa_type=UtcDateTime, default_factory=lambda: datetime.now(UTC))

    def keep(self, value: dict[str, Any]) -> bool:
        """Take `value` as the next version; answer whether it differs from the last one."""
        if self.value == value:
            return False
        self.take(value)
        return True

    def take(self, value: dict[str, Any]) -> None:
        """Take `value` as the next version, whether it differs or what belongs to it does."""
        self.value = value
        self.version += 1
        self.updated_at = datetime.now(UTC)
