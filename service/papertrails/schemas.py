"""How the blocks are read back from an answer that is kept."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from pydantic import ConfigDict, TypeAdapter

from service.catalog.flags import StreetUse
from service.catalog.slots import Slot, UseClass
from service.compliance.appearance import AppearanceBlock
from service.compliance.devices import DeviceBlock
from service.compliance.note import JurisdictionNote
from service.compliance.paperwork import PaperworkBlock
from service.compliance.report import PlaceStreetUse
from service.papertrails.trail import Blocks

_PART_OF_IT = ConfigDict(extra="ignore")


@dataclass(frozen=True, slots=True)
class _Question:
    __pydantic_config__ = _PART_OF_IT

    family: str
    model_year: int
    use: UseClass


@dataclass(frozen=True, slots=True)
class _Line:
    __pydantic_config__ = _PART_OF_IT

    slot: Slot
    sku: str
    title: str


@dataclass(frozen=True, slots=True)
class _Provenance:
    __pydantic_config__ = _PART_OF_IT

    assessed_on: date


@dataclass(frozen=True, slots=True)
class _Kept:
    __pydantic_config__ = _PART_OF_IT

    request: _Question
    kit: tuple[_Line, ...]
    appearance: AppearanceBlock
    devices: DeviceBlock
    paperwork: PaperworkBlock
    jurisdiction_note: JurisdictionNote
    street_use: StreetUse
    provenance: _Provenance
    street_use_by_place: tuple[PlaceStreetUse, ...] = ()


_KEPT = TypeAdapter(_Kept)


def blocks_of(key: str, body: bytes, title_of: Callable[[str], str]) -> Blocks:
    """Return the blocks of an assessment as it is kept; `title_of` names a family by its key."""
    kept = _KEPT.validate_json(body)
    return Blocks(
        assessment=key,
        assessed_on=kept.provenance.assessed_on,
        family=kept.request.family,
        family_title=title_of(kept.request.family),
        model_year=kept.request.model_year,
        use=kept.request.use,
        slots={line.sku: line.slot for line in kept.kit},
        titles={line.sku: line.title for line in kept.kit},
        appearance=kept.appearance,
        devices=kept.devices,
        paperwork=kept.paperwork,
        note=kept.jurisdiction_note,
        street_use=kept.street_use,
        by_place=kept.street_use_by_place,
    )
