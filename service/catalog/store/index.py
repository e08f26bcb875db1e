"""The keys of the stored catalogue, for the checks of `integrity`."""

from collections import defaultdict

from sqlmodel import Session, select

from service.catalog.integrity import CatalogIndex, ListedPart
from service.catalog.slots import Slot
from service.catalog.tables import EngineFamilyRow, PartFamilyRow, PartRow, StockPartRow


def load_index(session: Session) -> CatalogIndex:
    """Return every key with what it points at: four queries, no values."""
    family_keys = family_keys_by_id(session)
    listed: dict[int, list[str]] = defaultdict(list)
    for link in session.exec(select(PartFamilyRow)):
        listed[link.part_id].append(family_keys[link.family_id])
    parts: dict[str, ListedPart] = {}
    skus: dict[int | None, str] = {}
    columns = select(PartRow.id, PartRow.sku, PartRow.slot, PartRow.superseded_by)
    for part_id, sku, slot, successor in session.exec(columns):
        skus[part_id] = sku
        parts[sku] = ListedPart(
            slot=Slot(slot), families=tuple(listed[part_id or 0]), superseded_by=successor
        )
    stock: dict[str, dict[Slot, str]] = {key: {} for key in family_keys.values()}
    for row in session.exec(select(StockPartRow)):
        stock[family_keys[row.family_id]][Slot(row.slot)] = skus[row.part_id]
    return CatalogIndex(stock_parts=stock, parts=parts)


def family_keys_by_id(session: Session) -> dict[int, str]:
    """Return the key of every family by the number of its row."""
    pairs = session.exec(select(EngineFamilyRow.id, EngineFamilyRow.key))
    return {row_id: key for row_id, key in pairs if row_id is not None}
