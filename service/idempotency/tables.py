"""How answers to keyed requests are kept."""

from datetime import datetime

from sqlalchemy import LargeBinary
from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime


class IdempotencyKeyRow(SQLModel, table=True):
    """One request that its sender has named, and the answer that it had."""

    __tablename__ = "idempotency_key"

    caller: str = Field(primary_key=True, max_length=120)
    key: str = Field(primary_key=True, max_length=200)
    fingerprint: str = Field(max_length=64)
    created_at: datetime = Field(index=True, sa_type=UtcDateTime)
    status: int | None = None
    """Null for as long as the transaction that began with this row has not ended."""
    headers: dict[str, str] = Field(default_factory=dict, sa_type=JSON_VALUE)
    body: bytes = Field(default=b"", sa_type=LargeBinary)
