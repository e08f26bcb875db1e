"""Lists of the catalogue, in pieces: what comes after the last item that was seen."""

from typing import Any

from sqlmodel import Session, col, select, tuple_
from sqlmodel.sql.expression import SelectOfScalar

from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.rules import ShopRule
from service.catalog.search import PartFilter, PartOrder
from service.catalog.slots import UseClass
from service.catalog.store.families import stored_family
from service.catalog.store.parts import stored_part
from service.catalog.store.rules import stored_rule
from service.catalog.tables import (
    EngineFamilyRow,
    FamilyUseRow,
    PartFamilyRow,
    PartRow,
    ShopRuleRow,
)
from service.stored import Stored

_PART_COLUMNS: dict[PartOrder, Any] = {
    PartOrder.SKU: col(PartRow.sku),
    PartOrder.TITLE: col(PartRow.title),
    PartOrder.PRICE: col(PartRow.price_cents),
}


def find_families(
    session: Session,
    *,
    use: UseClass | None = None,
    after: str | None = None,
    limit: int | None = None,
) -> list[Stored[EngineFamily]]:
    """Return the families after a key, by key."""
    statement = select(EngineFamilyRow).order_by(col(EngineFamilyRow.key)).limit(limit)
    if use is not None:
        built_for = select(FamilyUseRow.family_id).where(FamilyUseRow.use_class == use.value)
        statement = statement.where(col(EngineFamilyRow.id).in_(built_for))
    if after is not None:
        statement = statement.where(EngineFamilyRow.key > after)
    return [stored_family(row) for row in session.exec(statement)]


def find_rules(
    session: Session, *, after: str | None = None, limit: int | None = None
) -> list[Stored[ShopRule]]:
    """Return the rules after a key, by key."""
    statement = select(ShopRuleRow).order_by(col(ShopRuleRow.key)).limit(limit)
    if after is not None:
        statement = statement.where(ShopRuleRow.key > after)
    return [stored_rule(row) for row in session.exec(statement)]


def find_parts(
    session: Session,
    wanted: PartFilter,
    *,
    order: PartOrder = PartOrder.SKU,
    after: tuple[str | int | float, str] | None = None,
    limit: int | None = None,
) -> list[Stored[Part]]:
    """Return the parts after a place in the order: its field, and the SKU for ties."""
    column = _PART_COLUMNS[order]
    statement = _filtered(wanted).order_by(column, col(PartRow.sku)).limit(limit)
    if after is not None:
        statement = statement.where(tuple_(column, col(PartRow.sku)) > tuple_(*after))
    return [stored_part(row) for row in session.exec(statement)]


def _filtered(wanted: PartFilter) -> SelectOfScalar[PartRow]:
    statement = select(PartRow)
    if wanted.slot is not None:
        statement = statement.where(PartRow.slot == wanted.slot.value)
    if wanted.status is not None:
        statement = statement.where(PartRow.status == wanted.status.value)
    if wanted.in_stock is not None:
        stock = col(PartRow.stock_count)
        statement = statement.where(stock > 0 if wanted.in_stock else stock == 0)
    if wanted.max_price_cents is not None:
        statement = statement.where(
            PartRow.currency == wanted.currency, PartRow.price_cents <= wanted.max_price_cents
        )
    if wanted.family is not None:
        listed = (
            select(PartFamilyRow.part_id)
            .join(EngineFamilyRow, col(EngineFamilyRow.id) == PartFamilyRow.family_id)
            .where(EngineFamilyRow.key == wanted.family)
        )
        statement = statement.where(col(PartRow.id).in_(listed))
    for word in wanted.words.casefold().split():
        statement = statement.where(col(PartRow.search_text).contains(word, autoescape=True))
    return statement
