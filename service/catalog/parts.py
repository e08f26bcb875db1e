"""One line of the catalogue: what it is, what it costs, where it stands."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Annotated

from annotated_types import Ge, Le, MinLen

from service.catalog.appearance import Exterior
from service.catalog.devices import DeviceChange, DeviceCorrection
from service.catalog.interfaces import Interface
from service.catalog.layouts import BoltedFlange
from service.catalog.slots import Slot
from service.catalog.specs import PartSpec
from service.errors import Conflict, NotFound
from service.quantities import EDGE_CONFIG, STRICT, Cents, Count, Currency, Flag, Key, Name

Sku = Key


class PartStatus(StrEnum):
    """Where a part is in its life."""

    CURRENT = "current"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part that the shop can put on an engine."""

    __pydantic_config__ = EDGE_CONFIG

    sku: Sku
    """The shop's own number; unique."""
    title: Name
    maker_reference: Name
    """What the maker calls it; documents are matched by it."""
    revision: Name = "A"
    """Of the part itself; documents are matched by it."""
    families: Annotated[tuple[Name, ...], MinLen(1)]
    """Keys of the engine families it is listed for."""
    spec: PartSpec
    provides: tuple[Interface, ...] = ()
    needs: tuple[Interface, ...] = ()
    flanges: tuple[BoltedFlange, ...] = ()
    """Patterns at which it is bolted on otherwise than the family's layout says."""
    exterior: Exterior = field(default_factory=lambda: Exterior(assessed=False))
    device_changes: tuple[DeviceChange, ...] = ()
    """What fitting it does to emission-control devices; a device not named is unknown
    when the part is not the factory's own."""
    device_corrections: tuple[DeviceCorrection, ...] = ()
    """Why what stood there of a device was too bad; oldest first, more come, none goes."""
    factory_part: Flag = False
    """Whether it is the maker's own part for the families named, unaltered."""
    replacement_claim: Flag = False
    """Whether it is offered as a replacement, functionally identical to the original; a claim
    until a paper shows it, and one that no declared change inside can stand beside."""
    documents: tuple[Name, ...] = ()
    """Numbers of documents that speak of it."""
    price_cents: Cents
    currency: Currency = "USD"
    """ISO 4217."""
    stock_count: Count = 0
    lead_time_days: Annotated[int, STRICT, Ge(0), Le(1000)] = 0
    weight_g: Annotated[int, STRICT, Ge(0), Le(1_000_000)] = 0
    status: PartStatus = PartStatus.CURRENT
    superseded_by: Sku | None = None

    @property
    def slot(self) -> Slot:
        """Where it goes."""
        return self.spec.slot


def withdrawn(part: Part) -> Part:
    """Return the part as one that is no longer offered."""
    return replace(part, status=PartStatus.WITHDRAWN, superseded_by=None)


def superseded(part: Part, by: str) -> Part:
    """Return the part as one whose place another part takes."""
    return replace(part, status=PartStatus.SUPERSEDED, superseded_by=by)


class PartNotFound(NotFound):
    """No part has this SKU."""

    def __init__(self, sku: str) -> None:
        super().__init__(f"No part has the SKU {sku!r}.")


class SkuTaken(Conflict):
    """Another part already has this SKU."""

    def __init__(self, sku: str) -> None:
        super().__init__(f"A part with the SKU {sku!r} is in the catalogue already.")
