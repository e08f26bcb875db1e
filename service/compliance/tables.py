"""How documents are kept."""

from sqlmodel import Field, SQLModel

from service.columns import ValueRow, sorted_text


class DocumentRow(ValueRow, table=True):
    """One document."""

    __tablename__ = "document"

    id: int | None = Field(default=None, primary_key=True)
    number: str = Field(unique=True, sa_type=sorted_text(60))
    status: str = Field(index=True, max_length=20)


class DocumentReferenceRow(SQLModel, table=True):
    """One maker's reference that a document's scope names."""

    __tablename__ = "document_reference"

    document_id: int = Field(primary_key=True, foreign_key="document.id")
    part_reference: str = Field(primary_key=True, index=True, max_length=120)
