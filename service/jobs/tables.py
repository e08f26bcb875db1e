"""How jobs are kept: each job, its finished pieces, and every change that it went through."""

from datetime import datetime
from typing import Any

from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime


class JobRow(SQLModel, table=True):
    """One job."""

    __tablename__ = "job"

    id: int | None = Field(default=None, primary_key=True)
    kind: str = Field(max_length=40)
    key: str | None = Field(default=None, unique=True, max_length=64)
    payload: dict[str, Any] = Field(sa_type=JSON_VALUE)
    item_count: int
    state: str = Field(index=True, max_length=20)
    progress: float = 0.0
    phase: str = Field(default="", max_length=200)
    attempts: int = 0
    attempt_limit: int
    token: int = 0
    lease_until: datetime | None = Field(default=None, sa_type=UtcDateTime)
    cancel_requested: bool = False
    created_at: datetime = Field(sa_type=UtcDateTime)
    started_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    finished_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    result_url: str | None = Field(default=None, max_length=200)
    problem: dict[str, Any] | None = Field(default=None, sa_type=JSON_VALUE)
    version: int = 0


class JobItemRow(SQLModel, table=True):
    """One finished piece."""

    __tablename__ = "job_item"

    job_id: int = Field(primary_key=True, foreign_key="job.id")
    position: int = Field(primary_key=True)
    value: dict[str, Any] = Field(sa_type=JSON_VALUE)


class JobEventRow(SQLModel, table=True):
    """One change; rows are added and never altered."""

    __tablename__ = "job_event"

    job_id: int = Field(primary_key=True, foreign_key="job.id")
    number: int = Field(primary_key=True)
    at: datetime = Field(sa_type=UtcDateTime)
    state: str = Field(max_length=20)
    progress: float
    phase: str = Field(max_length=200)
