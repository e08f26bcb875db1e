"""Surfaces: written and read. A refit replaces; it counts as a write to the catalogue."""

from dataclasses import dataclass, field
from datetime import datetime

from pydantic import TypeAdapter
from sqlmodel import Session, col, select

from service.errors import NotFound
from service.kits.fitted import FittedSurface
from service.revision import lock_catalog, raise_catalog_revision
from service.stored import Stored
from service.surfaces.schemas import SurfaceFacts, facts_of, fitted_of, numbers_of
from service.surfaces.tables import SurfaceRow

_FACTS = TypeAdapter(SurfaceFacts)


class SurfaceNotFound(NotFound):
    """No surface is fitted for a family."""

    def __init__(self, family: str) -> None:
        super().__init__(
            f"No surface is fitted for the engine family {family!r}; "
            f"order one with POST /v1/surfaces/{family}/refits."
        )


def load_surface_facts(session: Session, family: str) -> Stored[SurfaceFacts]:
    """Return what is told of a family's surface, or raise `SurfaceNotFound`."""
    # The numbers stay where they are: they are a thousand times as long.
    columns = SurfaceRow.value, SurfaceRow.version, SurfaceRow.updated_at
    found = session.exec(select(*columns).where(SurfaceRow.family == family)).first()
    if found is None:
        raise SurfaceNotFound(family)
    value, version, updated_at = found
    return Stored(value=_FACTS.validate_python(value), version=version, updated_at=updated_at)


def find_surface_facts(session: Session) -> list[Stored[SurfaceFacts]]:
    """Return what is told of every surface, by family."""
    families = session.exec(select(SurfaceRow.family).order_by(col(SurfaceRow.family)))
    return [load_surface_facts(session, family) for family in families]


def find_surface(session: Session, family: str) -> FittedSurface | None:
    """Return a family's surface with its numbers, where there is one."""
    row = session.get(SurfaceRow, family)
    if row is None:
        return None
    return fitted_of(_FACTS.validate_python(row.value), row.numbers)


@dataclass(frozen=True, slots=True)
class SurfaceMemory:
    """Surfaces of one database as they were read last: their numbers take 10 ms to read."""

    held: dict[str, tuple[datetime, FittedSurface]] = field(default_factory=dict, repr=False)

    def find(self, session: Session, family: str) -> FittedSurface | None:
        """Return a family's surface with its numbers, where there is one."""
        newest = session.exec(
            select(SurfaceRow.updated_at).where(SurfaceRow.family == family)
        ).first()
        held = self.held.get(family)
        if newest is not None and held is not None and held[0] == newest:
            return held[1]
        found = find_surface(session, family)
        if found is not None and newest is not None:
            self.held[family] = newest, found
        return found


def put_surface(session: Session, fitted: FittedSurface) -> None:
    """Keep a surface in place of the family's last one."""
    lock_catalog(session)
    value = _FACTS.dump_python(facts_of(fitted), mode="json")
    row = session.get(SurfaceRow, fitted.family)
    if row is None:
        row = SurfaceRow(family=fitted.family, value=value, numbers={})
        session.add(row)
    elif not row.keep(value):
        return
    row.numbers = numbers_of(fitted.surface)
    # Answers are kept under the catalogue's revision; those from the old surface end here.
    raise_catalog_revision(session)
