"""How quotes are kept: one row that changes, and revisions and events that never do.

Triggers refuse any change to `quote_revision` and `quote_event`, whoever asks for it: also a
row put in another's place, and a table emptied at once.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy import BigInteger, Index, LargeBinary, text
from sqlmodel import Field, SQLModel

from service.columns import JSON_VALUE, UtcDateTime, ValueRow, sorted_text

_FOLDED = sorted_text(400)
"""A letter may be three when its case is folded."""
_EMPTY = {"server_default": text("''")}


class QuoteRow(SQLModel, table=True):
    """One quote as it stands."""

    __tablename__ = "quote"
    __table_args__ = (
        Index(None, "state", "id"),
        Index(None, "reference_folded", "name_folded", "id"),
        Index(None, "issued_state", "expires_at"),
    )

    id: int | None = Field(default=None, primary_key=True)
    version: int = 1
    state: str = Field(max_length=20)
    revision: int = 0
    issued_state: str | None = Field(default=None, max_length=20)
    expires_at: datetime | None = Field(default=None, sa_type=UtcDateTime)
    customer_reference: str = Field(sa_type=sorted_text(120))
    customer_name: str = Field(sa_type=sorted_text(120))
    valid_until: date
    currency: str = Field(max_length=3)
    total_cents: int = Field(sa_type=BigInteger)
    """When it was last written."""
    content: dict[str, Any] = Field(sa_type=JSON_VALUE)
    declaration: dict[str, Any] | None = Field(default=None, sa_type=JSON_VALUE)
    created_at: datetime = Field(index=True, sa_type=UtcDateTime)
    updated_at: datetime = Field(sa_type=UtcDateTime)
    charge: dict[str, Any] | None = Field(default=None, sa_type=JSON_VALUE)
    """Of a draft, when its prices were last taken in; what was issued keeps its own."""
    reference_folded: str = Field(default="", sa_type=_FOLDED, sa_column_kwargs=_EMPTY)
    """A piece of it is looked for in the index, which is read whole: some bytes for each quote."""
    name_folded: str = Field(default="", sa_type=_FOLDED, sa_column_kwargs=_EMPTY)


class QuotePartRow(SQLModel, table=True):
    """One part that a quote charges, to find it by."""

    __tablename__ = "quote_part"

    sku: str = Field(primary_key=True, sa_type=sorted_text(40))
    quote_id: int = Field(primary_key=True, index=True, foreign_key="quote.id")


class QuoteRevisionRow(SQLModel, table=True):
    """One revision as it was issued: bytes, so that nothing reads them otherwise later."""

    __tablename__ = "quote_revision"

    quote_id: int = Field(primary_key=True, foreign_key="quote.id")
    number: int = Field(primary_key=True)
    issued_at: datetime = Field(sa_type=UtcDateTime)
    total_cents: int = Field(sa_type=BigInteger)
    frozen: bytes = Field(sa_type=LargeBinary)
    """Everything that it says and rests on, as JSON."""
    frozen_sha256: str = Field(max_length=64)
    customer_pdf: bytes = Field(sa_type=LargeBinary)
    customer_pdf_sha256: str = Field(max_length=64)
    shop_pdf: bytes = Field(sa_type=LargeBinary)
    shop_pdf_sha256: str = Field(max_length=64)


class QuoteEventRow(SQLModel, table=True):
    """One thing that happened to a quote."""

    __tablename__ = "quote_event"

    quote_id: int = Field(primary_key=True, foreign_key="quote.id")
    number: int = Field(primary_key=True)
    kind: str = Field(max_length=30)
    revision: int
    at: datetime = Field(sa_type=UtcDateTime)
    by: str = Field(max_length=120)
    key: str | None = Field(default=None, max_length=120)
    note: str
    data: dict[str, Any] = Field(sa_type=JSON_VALUE)


class PriceListRow(ValueRow, table=True):
    """One price list."""

    __tablename__ = "price_list"

    key: str = Field(primary_key=True, sa_type=sorted_text(40))


class TaxRuleRow(ValueRow, table=True):
    """One tax rule."""

    __tablename__ = "tax_rule"

    key: str = Field(primary_key=True, sa_type=sorted_text(40))
