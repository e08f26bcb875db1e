"""How refusals are kept: triggers refuse any change to a row, whoever asks for it."""

from datetime import UTC, datetime

from sqlmodel import Field, SQLModel

from service.columns import UtcDateTime


class RefusalRow(SQLModel, table=True):
    """One place of a request that was refused."""

    __tablename__ = "refusal"

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = Field(sa_type=UtcDateTime, default_factory=lambda: datetime.now(UTC), index=True)
    purpose: str = Field(max_length=40)
    method: str = Field(max_length=20)
    path: str = Field(max_length=200)
    place: str = Field(max_length=200)
    words: str = Field(max_length=400)
