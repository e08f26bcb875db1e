"""How a part stands on the wire: its price is a decimal string with its currency."""

from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Annotated, Any

from annotated_types import Ge, Le, MinLen

from service.catalog.appearance import Exterior
from service.catalog.devices import DeviceChange, DeviceCorrection
from service.catalog.families import EngineFamily
from service.catalog.flags import StreetLegalFlag, StreetUse
from service.catalog.interfaces import Interface
from service.catalog.layouts import BoltedFlange
from service.catalog.parts import Part, PartStatus, Sku
from service.catalog.rules import ShopRule
from service.catalog.specs import PartSpec
from service.money import Price, price
from service.quantities import EDGE_CONFIG, STRICT, Count, Flag, Name
from service.stored import Stored


@dataclass(frozen=True, slots=True, kw_only=True)
class PartIn:
    """One part, as a caller sends it."""

    __pydantic_config__ = EDGE_CONFIG

    sku: Sku
    """The shop's own number; unique, and part of the address."""
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
    """What fitting it does to emission-control devices."""
    device_corrections: tuple[DeviceCorrection, ...] = ()
    """Why what stood there of a device was too bad; oldest first, more come, none goes."""
    factory_part: Flag = False
    """Whether it is the maker's own part for the families named, unaltered."""
    replacement_claim: Flag = False
    """Whether it is offered as a replacement, functionally identical to the original; a claim
    until a paper shows it, and one that no declared change inside can stand beside."""
    documents: tuple[Name, ...] = ()
    """Numbers of documents that speak of it."""
    price: Price
    stock_count: Count = 0
    lead_time_days: Annotated[int, STRICT, Ge(0), Le(1000)] = 0
    weight_g: Annotated[int, STRICT, Ge(0), Le(1_000_000)] = 0
    status: PartStatus = PartStatus.CURRENT
    superseded_by: Sku | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOut(PartIn):
    """One part, as the catalogue answers."""

    version: int
    """Also in the ETag."""
    updated_at: datetime
    street_legal_flag: StreetLegalFlag
    """For the use, place, model year and family that the query names, all four."""
    street_use_sentence: str
    """What the flag rests on."""
    street_use_decided_by: str
    """Who decides; not this service."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyOut(EngineFamily):
    """One engine family, as the catalogue answers."""

    version: int
    """Also in the ETag."""
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleOut(ShopRule):
    """One shop rule, as the catalogue answers."""

    version: int
    """Also in the ETag."""
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Successor:
    """Which part takes the place of another."""

    __pydantic_config__ = EDGE_CONFIG

    by: Sku


def part_of(body: PartIn) -> Part:
    """Return the part that a caller means."""
    return Part(
        **_shared(body),
        price_cents=body.price.cents,
        currency=body.price.currency,
    )


def part_in(part: Part) -> PartIn:
    """Return a part as a caller would send it."""
    return PartIn(**_shared(part), price=price(part.price_cents, part.currency))


def part_out(stored: Stored[Part], street_use: StreetUse) -> PartOut:
    """Return a part as the catalogue answers."""
    return PartOut(
        **_shared(stored.value),
        price=price(stored.value.price_cents, stored.value.currency),
        version=stored.version,
        updated_at=stored.updated_at,
        street_legal_flag=street_use.street_legal_flag,
        street_use_sentence=street_use.sentence,
        street_use_decided_by=street_use.decided_by,
    )


def family_out(stored: Stored[EngineFamily]) -> FamilyOut:
    """Return a family as the catalogue answers."""
    return FamilyOut(
        **{f.name: getattr(stored.value, f.name) for f in fields(EngineFamily)},
        version=stored.version,
        updated_at=stored.updated_at,
    )


def rule_out(stored: Stored[ShopRule]) -> RuleOut:
    """Return a rule as the catalogue answers."""
    return RuleOut(
        **{f.name: getattr(stored.value, f.name) for f in fields(ShopRule)},
        version=stored.version,
        updated_at=stored.updated_at,
    )


def _shared(source: Part | PartIn) -> dict[str, Any]:
    """Return the fields that a part has in the catalogue and on the wire alike."""
    return {f.name: getattr(source, f.name) for f in fields(PartIn) if f.name != "price"}
