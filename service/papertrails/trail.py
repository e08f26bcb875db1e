"""What stands on the page, drawn from an assessment as it was given.

Nothing is judged again here: an old assessment keeps the profile of its day.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from service.catalog.flags import StreetUse
from service.catalog.slots import Slot, UseClass
from service.compliance.appearance import AppearanceBlock, KeepsStockExterior
from service.compliance.devices import DeviceBlock, DeviceRow
from service.compliance.jurisdictions import Mark
from service.compliance.note import CitedRow, JurisdictionNote
from service.compliance.outcomes import Outcome
from service.compliance.paperwork import Combination, PaperworkBlock, PartPaperwork
from service.compliance.report import PlaceStreetUse


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocks:
    """The four blocks of an assessment, and what they were asked about."""

    assessment: str
    assessed_on: date
    family: str
    family_title: str
    model_year: int
    use: UseClass
    slots: Mapping[str, Slot]
    """By SKU."""
    titles: Mapping[str, str]
    appearance: AppearanceBlock
    devices: DeviceBlock
    paperwork: PaperworkBlock
    note: JurisdictionNote
    street_use: StreetUse
    by_place: tuple[PlaceStreetUse, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailPart:
    """One part and the papers that name it."""

    slot: Slot
    sku: str
    title: str
    outcome: Outcome
    documents: tuple[str, ...]
    """Number, kind, status, whether a copy is kept, and when it was checked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailSource:
    """One citation that the note rests on."""

    citation: str
    mark: Mark
    confirmed: bool
    checked_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperTrail:
    """One page for one kit, one use and one place; four blocks, never merged."""

    assessment: str
    """Key of the assessment that it is drawn from."""
    assessed_on: date
    family: str
    family_title: str
    model_year: int
    use: UseClass
    place: str
    place_title: str
    profile_version: int | None
    decided_by: str
    street_use: StreetUse
    street_use_by_place: tuple[PlaceStreetUse, ...]
    """The same kit and vehicle elsewhere; none in answers given before it was kept."""
    keeps_stock_exterior: KeepsStockExterior
    differences: tuple[str, ...]
    """What differs outside, and where one sees it from."""
    declared_inside: tuple[str, ...]
    """Changes inside that are declared and cannot be seen."""
    appearance_caution: str
    devices: tuple[DeviceRow, ...]
    parts: tuple[TrailPart, ...]
    combination: Combination
    statements: tuple[str, ...]
    documented: tuple[str, ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[TrailSource, ...]


def paper_trail(blocks: Blocks) -> PaperTrail:
    """Return the page that belongs to an assessment."""
    note, looks = blocks.note, blocks.appearance.parts
    return PaperTrail(
        assessment=blocks.assessment,
        assessed_on=blocks.assessed_on,
        family=blocks.family,
        family_title=blocks.family_title,
        model_year=blocks.model_year,
        use=blocks.use,
        place=note.place,
        place_title=note.title,
        profile_version=note.profile_version,
        decided_by=note.decided_by,
        street_use=blocks.street_use,
        street_use_by_place=blocks.by_place,
        keeps_stock_exterior=blocks.appearance.keeps_stock_exterior,
        differences=tuple(
            f"{look.sku}: {one.what} Seen from: {one.seen_from}"
            for look in looks
            for one in look.differences
        ),
        declared_inside=tuple(
            f"{look.sku}: {look.internal_change}" for look in looks if look.internal_change
        ),
        appearance_caution=blocks.appearance.caution,
        devices=blocks.devices.rows,
        parts=tuple(_part(one, blocks) for one in blocks.paperwork.parts),
        combination=blocks.paperwork.combination,
        statements=tuple(each.sentence for each in note.statements),
        documented=note.documented,
        missing=note.missing,
        cautions=note.cautions,
        sources=tuple(_source(cited) for cited in note.citations),
    )


def _source(cited: CitedRow) -> TrailSource:
    return TrailSource(
        citation=cited.row.citation,
        mark=cited.row.mark,
        confirmed=cited.confirmed,
        checked_on=cited.row.checked_on,
    )


def _part(one: PartPaperwork, blocks: Blocks) -> TrailPart:
    return TrailPart(
        slot=blocks.slots[one.sku],
        sku=one.sku,
        title=blocks.titles[one.sku],
        outcome=one.outcome,
        documents=tuple(
            f"{paper.number} ({paper.type.value.replace('_', ' ')}, "
            f"{paper.status.value.replace('_', ' ')}, "
            f"{'copy kept' if paper.copy_on_file else 'no copy kept'}, "
            f"{f'checked {paper.checked_on.isoformat()}' if paper.checked_on else 'not checked'})"
            for paper in one.documents
        ),
    )
