"""How the catalogue is kept: searchable columns beside the whole value as JSON."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel

from service.columns import ValueRow, sorted_text


class EngineFamilyRow(ValueRow, table=True):
    """One engine family."""

    __tablename__ = "engine_family"

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(unique=True, sa_type=sorted_text(40))


class FamilyUseRow(SQLModel, table=True):
    """One use that a family was built for."""

    __tablename__ = "engine_family_use"

    family_id: int = Field(primary_key=True, foreign_key="engine_family.id")
    use_class: str = Field(primary_key=True, index=True, max_length=20)


class PartRow(ValueRow, table=True):
    """One part."""

    __tablename__ = "part"

    id: int | None = Field(default=None, primary_key=True)
    sku: str = Field(unique=True, sa_type=sorted_text(40))
    slot: str = Field(index=True, max_length=40)
    status: str = Field(max_length=20)
    superseded_by: str | None = Field(default=None, sa_type=sorted_text(40))
    title: str = Field(index=True, sa_type=sorted_text(120))
    search_text: str
    """SKU, title and maker's reference, case folded: what a text search looks through."""
    price_cents: int = Field(index=True, sa_type=BigInteger)
    currency: str = Field(max_length=3)
    stock_count: int
    lead_time_days: int


class PartFamilyRow(SQLModel, table=True):
    """One family that a part is listed for."""

    __tablename__ = "part_family"

    part_id: int = Field(primary_key=True, foreign_key="part.id")
    family_id: int = Field(primary_key=True, index=True, foreign_key="engine_family.id")


class StockPartRow(SQLModel, table=True):
    """The factory part of one slot of a family."""

    __tablename__ = "stock_part"

    family_id: int = Field(primary_key=True, foreign_key="engine_family.id")
    slot: str = Field(primary_key=True, max_length=40)
    part_id: int = Field(index=True, foreign_key="part.id")


class ShopRuleRow(ValueRow, table=True):
    """One rule of the shop."""

    __tablename__ = "shop_rule"

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(unique=True, sa_type=sorted_text(40))
