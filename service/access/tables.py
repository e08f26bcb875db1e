"""How keys are kept: the digest of each, never its text."""

from datetime import date, datetime

from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime


class AccessKeyRow(SQLModel, table=True):
    """One key; a revoked one stays, so that its name is never another's."""

    __tablename__ = "access_key"

    name: str = Field(primary_key=True, max_length=40)
    sha256: str = Field(unique=True, max_length=64)
    scopes: list[str] = Field(sa_type=JSON_VALUE)
    created_at: datetime = Field(sa_type=UtcDateTime)
    last_used_on: date | None = None
    revoked_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
