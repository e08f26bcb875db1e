"""Kits, papers and applications for the decision table, in a place that is California's."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from service.catalog.appearance import Exterior
from service.catalog.devices import Device, DeviceChange, DeviceEffect
from service.catalog.families import EngineFamily
from service.catalog.parts import Part
from service.catalog.slots import Slot, UseClass
from service.compliance.application import Application
from service.compliance.documents import Document, DocumentType, IdentityPiece, ScopeLine
from service.compliance.inspections import DeviceTest, Functional
from service.compliance.jurisdictions import Profiles
from service.compliance.profiles.store import load_profiles
from service.compliance.report import ComplianceReport, compliance_report
from tests.factories import FAMILY_KEY, make_document, make_family, make_part

TODAY = date(2026, 11, 26)
PROFILES = load_profiles(TODAY)
DEMO_HASH = "0" * 64


def keeps(*devices: Device) -> tuple[DeviceChange, ...]:
    """The record of a part that keeps these devices."""
    return tuple(DeviceChange(device=device, effect=DeviceEffect.KEEPS) for device in devices)


FITTED = (Device.PCV, Device.EGR, Device.TWC, Device.HO2S)
"""What the demo engine was fitted with in every model year (tests/factories.py)."""


def shop_part(slot: Slot = Slot.INTAKE_MANIFOLD, sku: str = "HERON", **changes: Any) -> Part:  # noqa: ANN401 - any field of a part.
    """A part of the shop's own that keeps every device."""
    part = make_part(
        slot,
        sku=sku,
        maker_reference=f"REF-{sku}",
        factory_part=False,
        device_changes=keeps(*FITTED),
    )
    return replace(part, **changes)


def changed_inside(part: Part) -> Part:
    """The same part with a change inside that cannot be seen."""
    return replace(part, exterior=Exterior(assessed=True, internal_change="Runners opened up."))


def scope(*references: str, **changes: Any) -> ScopeLine:  # noqa: ANN401 - any field of a line.
    """A scope line that names the demo application."""
    line = ScopeLine(
        part_references=references or ("REF-HERON",),
        revisions=("A",),
        family=FAMILY_KEY,
        first_model_year=1996,
        last_model_year=2004,
        use=UseClass.ROAD,
        jurisdictions=("us-ca",),
    )
    return replace(line, **changes)


def paper(
    number: str = "DEMO-17",
    type_: DocumentType = DocumentType.EXEMPTION_ORDER,
    lines: tuple[ScopeLine, ...] | None = None,
    **changes: Any,  # noqa: ANN401 - any field of a document.
) -> Document:
    """A paper that is proven in every field; evidence of identity holds all that it may."""
    fields = {"identity_pieces": tuple(IdentityPiece), "file_sha256": DEMO_HASH, **changes}
    return make_document(
        number=number, type=type_, scope=(scope(),) if lines is None else lines, **fields
    )


def application(**changes: Any) -> Application:  # noqa: ANN401 - any field of an application.
    """The road, in California, with a vehicle certified for it."""
    usual = Application(
        family=FAMILY_KEY,
        model_year=2000,
        use=UseClass.ROAD,
        place="us-ca",
        certified_for_road=True,
        engine_swapped=False,
        specially_constructed=False,
    )
    return replace(usual, **changes)


def told(
    device: Device,
    result: Functional = Functional.PASSED,
    **changes: Any,  # noqa: ANN401 - any field of a test.
) -> DeviceTest:
    """A test on the vehicle that somebody tells of."""
    fields = {
        "method": "Demo method.",
        "by_whom": "Demo mechanic",
        "tested_on": date(2026, 11, 20),
        **changes,
    }
    return DeviceTest(device=device, result=result, **fields)


def seen_working(*devices: Device, **changes: Any) -> Application:  # noqa: ANN401 - any field of an application.
    """The usual application, with every device seen working."""
    tests = tuple(told(device) for device in devices or FITTED)
    return application(device_tests=tests, **changes)


def report(
    *parts: Part,
    papers: Iterable[Document] = (),
    app: Application | None = None,
    family: EngineFamily | None = None,
    profiles: Profiles = PROFILES,
    today: date = TODAY,
) -> ComplianceReport:
    """The report on a kit for the usual application."""
    return compliance_report(
        parts, family or make_family(), papers, app or application(), profiles, today
    )


def rows(found: ComplianceReport) -> dict[int, set[str]]:
    """Which rows of the decision table applied, with their outcomes."""
    applied: dict[int, set[str]] = {}
    for ground in found.jurisdiction_note.grounds:
        applied.setdefault(ground.row, set()).add(ground.outcome.value)
    return applied


def texts(value: object) -> list[str]:
    """Every text in a report, however deep."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for item in value.values() for text in texts(item)]
    if isinstance(value, list | tuple):
        return [text for item in value for text in texts(item)]
    return []
