"""How comparisons are kept."""

from datetime import UTC, datetime

from sqlalchemy import LargeBinary
from sqlmodel import Field, SQLModel

from service.columns import UtcDateTime


class ComparisonRow(SQLModel, table=True):
    """One answer, as it was sent."""

    __tablename__ = "comparison"

    key: str = Field(primary_key=True, max_length=32)
    body: bytes = Field(sa_type=LargeBinary)
    created_at: datetime = Field(sa_type=UtcDateTime, default_factory=lambda: datetime.now(UTC))
