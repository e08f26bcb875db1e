"""Engine families: written and read."""

from collections.abc import Sequence
from typing import Any

from pydantic import TypeAdapter
from sqlmodel import Session, col, delete, select

from service.catalog.families import EngineFamily, FamilyKeyTaken, FamilyNotFound
from service.catalog.integrity import family_problems
from service.catalog.store.index import load_index
from service.catalog.tables import EngineFamilyRow, FamilyUseRow, PartRow, StockPartRow
from service.errors import InvalidInput, StaleVersion
from service.revision import lock_catalog, raise_catalog_revision
from service.stored import Stored, Written

VALUES = TypeAdapter(EngineFamily)


def load_family(session: Session, key: str) -> Stored[EngineFamily]:
    """Return the family with this key, or raise `FamilyNotFound`."""
    row = _find_row(session, key)
    if row is None:
        raise FamilyNotFound(key)
    return stored_family(row)


def add_family(session: Session, family: EngineFamily) -> Stored[EngineFamily]:
    """Take a new family in; the factory parts that it names have to be there."""
    lock_catalog(session)
    if _find_row(session, family.key) is not None:
        raise FamilyKeyTaken(family.key)
    return _write(session, family)


def save_family(session: Session, family: EngineFamily, *, version: int) -> Stored[EngineFamily]:
    """Replace a family that is still at `version`."""
    lock_catalog(session)
    current = load_family(session, family.key)
    if current.version != version:
        raise StaleVersion(current.version)
    return _write(session, family)


def put_families(session: Session, families: Sequence[EngineFamily]) -> Written:
    """Write families that have been checked; `put_stock_parts` follows once parts are in."""
    keys = [family.key for family in families]
    found = session.exec(select(EngineFamilyRow).where(col(EngineFamilyRow.key).in_(keys)))
    rows = {row.key: row for row in found}
    created = 0
    changed: list[tuple[EngineFamilyRow, EngineFamily]] = []
    for family in families:
        value = VALUES.dump_python(family, mode="json")
        row = rows.get(family.key)
        if row is None:
            row = EngineFamilyRow(key=family.key, value=value)
            session.add(row)
            created += 1
        elif not row.keep(value):
            continue
        changed.append((row, family))
    if changed:
        session.flush()
        _link_uses(session, changed)
        raise_catalog_revision(session)
    return Written(
        created=created,
        updated=len(changed) - created,
        unchanged=len(families) - len(changed),
    )


def put_stock_parts(session: Session, families: Sequence[EngineFamily]) -> None:
    """Tie written families to their factory parts, which have to be written too."""
    family_ids = _ids(session, EngineFamilyRow.id, EngineFamilyRow.key)
    part_ids = _ids(session, PartRow.id, PartRow.sku)
    touched = [family_ids[family.key] for family in families]
    session.exec(delete(StockPartRow).where(col(StockPartRow.family_id).in_(touched)))
    session.add_all(
        StockPartRow(family_id=family_ids[family.key], slot=slot.value, part_id=part_ids[sku])
        for family in families
        for slot, sku in family.stock_parts.items()
    )
    session.flush()


def stored_family(row: EngineFamilyRow) -> Stored[EngineFamily]:
    """Return what a row keeps."""
    value = VALUES.validate_python(row.value)
    return Stored(value=value, version=row.version, updated_at=row.updated_at)


def _find_row(session: Session, key: str) -> EngineFamilyRow | None:
    statement = select(EngineFamilyRow).where(EngineFamilyRow.key == key)
    return session.exec(statement.execution_options(populate_existing=True)).first()


def _write(session: Session, family: EngineFamily) -> Stored[EngineFamily]:
    if problems := family_problems(family, load_index(session)):
        raise InvalidInput(*problems)
    put_families(session, [family])
    put_stock_parts(session, [family])
    return load_family(session, family.key)


def _link_uses(session: Session, changed: Sequence[tuple[EngineFamilyRow, EngineFamily]]) -> None:
    ids = [row.id for row, _ in changed]
    session.exec(delete(FamilyUseRow).where(col(FamilyUseRow.family_id).in_(ids)))
    session.add_all(
        FamilyUseRow(family_id=row.id or 0, use_class=use.value)
        for row, family in changed
        for use in family.use_classes
    )
    session.flush()


def _ids(session: Session, id_column: Any, key_column: Any) -> dict[str, int]:  # noqa: ANN401 - columns of either table.
    return {key: row_id for row_id, key in session.exec(select(id_column, key_column))}
