"""Parts: written and read."""

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from pydantic import TypeAdapter
from sqlmodel import Session, col, delete, select

from service.catalog.appearance import declaration_problems
from service.catalog.devices import effect_problems
from service.catalog.integrity import part_problems
from service.catalog.parts import Part, PartNotFound, PartStatus, SkuTaken
from service.catalog.slots import KIT_SLOTS, SUPPLY_SLOTS, Slot
from service.catalog.store.index import family_keys_by_id, load_index
from service.catalog.tables import EngineFamilyRow, PartFamilyRow, PartRow
from service.errors import FieldProblem, InvalidInput, StaleVersion
from service.revision import lock_catalog, raise_catalog_revision
from service.stored import Stored, Written

VALUES: TypeAdapter[Part] = TypeAdapter(Part)


def load_part(session: Session, sku: str) -> Stored[Part]:
    """Return the part with this SKU, or raise `PartNotFound`."""
    row = _find_row(session, sku)
    if row is None:
        raise PartNotFound(sku)
    return stored_part(row)


def load_parts(session: Session, skus: Collection[str]) -> dict[str, Stored[Part]]:
    """Return these parts by SKU, or raise `PartNotFound` for the first that is missing."""
    found = session.exec(select(PartRow).where(col(PartRow.sku).in_(skus)))
    parts = {row.sku: stored_part(row) for row in found}
    for sku in skus:
        if sku not in parts:
            raise PartNotFound(sku)
    return parts


def find_family_parts(session: Session, family_key: str) -> list[Stored[Part]]:
    """Return the current parts that are listed for a family and go into a kit, by SKU."""
    return _listed(session, family_key, KIT_SLOTS)


def find_family_supplies(session: Session, family_key: str) -> list[Stored[Part]]:
    """Return the current parts that a kit for a family is bolted on with, by SKU."""
    return _listed(session, family_key, SUPPLY_SLOTS)


def _listed(session: Session, family_key: str, slots: Iterable[Slot]) -> list[Stored[Part]]:
    rows = session.exec(
        select(PartRow)
        .join(PartFamilyRow, col(PartFamilyRow.part_id) == PartRow.id)
        .join(EngineFamilyRow, col(EngineFamilyRow.id) == PartFamilyRow.family_id)
        .where(EngineFamilyRow.key == family_key, PartRow.status == PartStatus.CURRENT.value)
        .where(col(PartRow.slot).in_([slot.value for slot in slots]))
        .order_by(col(PartRow.sku))
    )
    return [stored_part(row) for row in rows]


def add_part(session: Session, part: Part) -> Stored[Part]:
    """Take a new part in; what it names has to be there."""
    lock_catalog(session)
    if _find_row(session, part.sku) is not None:
        raise SkuTaken(part.sku)
    return _write(session, part)


def save_part(session: Session, part: Part, *, version: int) -> Stored[Part]:
    """Replace a part that is still at `version`."""
    lock_catalog(session)
    current = load_part(session, part.sku)
    if current.version != version:
        raise StaleVersion(current.version)
    return _write(session, part)


def put_parts(session: Session, parts: Sequence[Part]) -> Written:
    """Write parts that have been checked."""
    skus = [part.sku for part in parts]
    found = session.exec(select(PartRow).where(col(PartRow.sku).in_(skus)))
    rows = {row.sku: row for row in found}
    created = 0
    changed: list[tuple[PartRow, Part]] = []
    for part in parts:
        value = VALUES.dump_python(part, mode="json")
        row = rows.get(part.sku)
        if row is None:
            row = PartRow(sku=part.sku, value=value, **_columns(part))
            session.add(row)
            created += 1
        elif problems := _taken_back(stored_part(row).value, part):
            raise InvalidInput(*problems)
        elif row.keep(value):
            row.sqlmodel_update(_columns(part))
        else:
            continue
        changed.append((row, part))
    if changed:
        session.flush()
        _link_families(session, changed)
        raise_catalog_revision(session)
    return Written(
        created=created, updated=len(changed) - created, unchanged=len(parts) - len(changed)
    )


def stored_part(row: PartRow) -> Stored[Part]:
    """Return what a row keeps."""
    value = VALUES.validate_python(row.value)
    return Stored(value=value, version=row.version, updated_at=row.updated_at)


def _find_row(session: Session, sku: str) -> PartRow | None:
    statement = select(PartRow).where(PartRow.sku == sku)
    return session.exec(statement.execution_options(populate_existing=True)).first()


def _write(session: Session, part: Part) -> Stored[Part]:
    if problems := part_problems(part, load_index(session)):
        raise InvalidInput(*problems)
    put_parts(session, [part])
    return load_part(session, part.sku)


def _taken_back(before: Part, after: Part) -> list[FieldProblem]:
    """Return which declarations on record would go without a reason."""
    return declaration_problems(before.exterior, after.exterior) + effect_problems(
        before.device_changes,
        after.device_changes,
        before.device_corrections,
        after.device_corrections,
    )


def _columns(part: Part) -> dict[str, Any]:
    return {
        "slot": part.slot.value,
        "status": part.status.value,
        "superseded_by": part.superseded_by,
        "title": part.title,
        "search_text": f"{part.sku}\n{part.title}\n{part.maker_reference}".casefold(),
        "price_cents": part.price_cents,
        "currency": part.currency,
        "stock_count": part.stock_count,
        "lead_time_days": part.lead_time_days,
    }


def _link_families(session: Session, changed: Sequence[tuple[PartRow, Part]]) -> None:
    ids = [row.id for row, _ in changed]
    session.exec(delete(PartFamilyRow).where(col(PartFamilyRow.part_id).in_(ids)))
    family_ids = {key: row_id for row_id, key in family_keys_by_id(session).items()}
    session.add_all(
        PartFamilyRow(part_id=row.id or 0, family_id=family_ids[key])
        for row, part in changed
        for key in part.families
    )
    session.flush()
