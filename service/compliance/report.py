"""The four blocks for a kit, always all four, and the flag drawn from three of them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from service.catalog.families import EngineFamily
from service.catalog.flags import StreetUse
from service.catalog.parts import Part
from service.compliance.appearance import AppearanceBlock, appearance_block
from service.compliance.application import Application, as_altered
from service.compliance.devices import DeviceBlock, device_block
from service.compliance.documents import Document
from service.compliance.evidence import Evidence
from service.compliance.flag import street_use, street_use_without_application
from service.compliance.inspections import counting_tests
from service.compliance.jurisdictions import Profiles
from service.compliance.note import JurisdictionNote, jurisdiction_note
from service.compliance.paperwork import PaperworkBlock, paperwork_block
from service.quantities import EDGE_CONFIG, Key, Name


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplianceReport:
    """Four blocks that are never merged into one verdict."""

    __pydantic_config__ = EDGE_CONFIG

    appearance: AppearanceBlock
    devices: DeviceBlock
    paperwork: PaperworkBlock
    jurisdiction_note: JurisdictionNote
    street_use: StreetUse


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceStreetUse:
    """The flag in one place."""

    __pydantic_config__ = EDGE_CONFIG

    place: Key
    title: Name
    street_use: StreetUse


def compliance_report(
    parts: Iterable[Part],
    family: EngineFamily,
    documents: Iterable[Document],
    application: Application,
    profiles: Profiles,
    today: date,
) -> ComplianceReport:
    """Return what is recorded of this kit for this application, as of `today`."""
    kit = tuple(parts)
    devices = _devices(kit, family, application, today)
    paperwork, note = _recorded(kit, documents, application, profiles, today, devices)
    return ComplianceReport(
        appearance=appearance_block(kit, family.factory_exterior, application.altered_slots),
        devices=devices,
        paperwork=paperwork,
        jurisdiction_note=note,
        street_use=street_use(application, devices, paperwork, note),
    )


def street_use_by_place(
    parts: Iterable[Part],
    family: EngineFamily,
    documents: Iterable[Document],
    application: Application,
    profiles: Profiles,
    today: date,
) -> tuple[PlaceStreetUse, ...]:
    """Return the flag of the same kit and vehicle in every place that has a profile, by key."""
    kit, papers = tuple(parts), tuple(documents)
    # What becomes of devices is the same everywhere.
    devices = _devices(kit, family, application, today)
    found = []
    for key, profile in sorted(profiles.items()):
        there = replace(application, place=key)
        use = street_use(there, devices, *_recorded(kit, papers, there, profiles, today, devices))
        found.append(PlaceStreetUse(place=key, title=profile.title, street_use=use))
    return tuple(found)


def _devices(
    kit: tuple[Part, ...], family: EngineFamily, application: Application, today: date
) -> DeviceBlock:
    return device_block(
        as_altered(kit, application),
        family,
        application.model_year,
        application.use,
        counting_tests(application.device_tests, application.changed_on, today),
    )


def _recorded(
    kit: tuple[Part, ...],
    documents: Iterable[Document],
    application: Application,
    profiles: Profiles,
    today: date,
    devices: DeviceBlock,
) -> tuple[PaperworkBlock, JurisdictionNote]:
    """Return the blocks that, with that of the devices, the flag is drawn from."""
    kit = as_altered(kit, application)
    profile = profiles.get(application.place)
    paperwork = paperwork_block(kit, tuple(documents), application, profile, today)
    note = jurisdiction_note(
        Evidence(
            parts=kit,
            application=application,
            profile=profile,
            devices=devices,
            paperwork=paperwork,
            today=today,
        )
    )
    return paperwork, note


def part_flag(
    part: Part,
    family: EngineFamily,
    documents: Iterable[Document],
    application: Application | None,
    profiles: Profiles,
    today: date,
) -> StreetUse:
    """Return the flag of one part alone; without an application it is never `documented`."""
    papers = tuple(documents)
    if application is not None:
        devices = _devices((part,), family, application, today)
        blocks = _recorded((part,), papers, application, profiles, today, devices)
        return street_use(application, devices, *blocks)
    naming = frozenset(
        document.number
        for document in papers
        for line in document.scope
        if part.maker_reference in line.part_references
    )
    return street_use_without_application(part, naming)
