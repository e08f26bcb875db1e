"""How work sheets and readings are kept: written once, never changed; triggers hold it."""

from datetime import datetime

from sqlalchemy import LargeBinary
from sqlmodel import Field, SQLModel

from service.columns import UtcDateTime


class WorkSheetRow(SQLModel, table=True):
    """One sheet as it was made: bytes, so that nothing reads them otherwise later."""

    __tablename__ = "work_sheet"

    id: int | None = Field(default=None, primary_key=True)
    assessment: str = Field(index=True, max_length=32)
    made_at: datetime = Field(sa_type=UtcDateTime)
    made_by: str = Field(max_length=120)
    sheet: bytes = Field(sa_type=LargeBinary)


class WorkSheetReadingRow(SQLModel, table=True):
    """One value that was entered; a mistake is mended by another one after it."""

    __tablename__ = "work_sheet_reading"

    work_sheet_id: int = Field(primary_key=True, foreign_key="work_sheet.id")
    number: int = Field(primary_key=True)
    check: str = Field(max_length=120)
    value: float
    unit: str = Field(max_length=10)
    outcome: str | None = Field(default=None, max_length=20)
    by: str = Field(max_length=120)
    at: datetime = Field(sa_type=UtcDateTime)
    note: str
    place: str | None = Field(default=None, max_length=120)
