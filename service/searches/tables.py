"""How searches are kept."""

from datetime import UTC, datetime
from typing import Any

from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime


class SearchRow(SQLModel, table=True):
    """One search as it was asked and answered."""

    __tablename__ = "search"

    id: int | None = Field(default=None, primary_key=True)
    created_at: datetime = Field(sa_type=UtcDateTime, default_factory=lambda: datetime.now(UTC))
    catalog_revision: int
    model_version: str = Field(max_length=40)
    request: dict[str, Any] = Field(sa_type=JSON_VALUE)
    result: dict[str, Any] = Field(sa_type=JSON_VALUE)
    yardstick: dict[str, Any] = Field(sa_type=JSON_VALUE)
    parts: dict[str, Any] = Field(sa_type=JSON_VALUE)
    """Of every part that was offered, and of what stands around, what the ranking rests on."""
    since_then: dict[str, Any] | None = Field(default=None, sa_type=JSON_VALUE)
    simulation_id: int | None = None
    """Job that simulates the first kits."""
