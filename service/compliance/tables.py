"""How documents are kept."""

from datetime import UTC, datetime

from sqlalchemy import LargeBinary
from sqlmodel import Field, SQLModel

from service.columns import UtcDateTime, ValueRow, sorted_text


class DocumentRow(ValueRow, table=True):
    """One document."""

    __tablename__ = "document"

    id: int | None = Field(default=None, primary_key=True)
    number: str = Field(unique=True, sa_type=sorted_text(60))
    status: str = Field(index=True, max_length=20)
    copy_sha256: str | None = Field(default=None, foreign_key="document_file.sha256", max_length=64)
    """Of the file that was sent as its copy; nothing but sending one writes it."""


class DocumentReferenceRow(SQLModel, table=True):
    """One maker's reference that a document's scope names."""

    __tablename__ = "document_reference"

    document_id: int = Field(primary_key=True, foreign_key="document.id")
    part_reference: str = Field(primary_key=True, index=True, max_length=120)


class DocumentFileRow(SQLModel, table=True):
    """One copy of a paper, under its digest: the same file is kept once."""

    __tablename__ = "document_file"

    sha256: str = Field(primary_key=True, max_length=64)
    media_type: str = Field(max_length=40)
    content: bytes = Field(sa_type=LargeBinary)
    stored_at: datetime = Field(sa_type=UtcDateTime, default_factory=lambda: datetime.now(UTC))
