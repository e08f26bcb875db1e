"""One kit assessed: a score to sort by, and every block that it rests on, kept apart."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from service.catalog.families import EngineFamily
from service.catalog.flags import StreetLegalFlag, StreetUse
from service.catalog.parts import Part
from service.catalog.rules import RuleSeverity, ShopRule
from service.catalog.slots import Slot
from service.compliance.appearance import AppearanceBlock, KeepsStockExterior
from service.compliance.application import Application
from service.compliance.devices import DeviceBlock
from service.compliance.documents import Document
from service.compliance.jurisdictions import Profiles
from service.compliance.note import JurisdictionNote
from service.compliance.paperwork import PaperworkBlock
from service.compliance.report import (
    ComplianceReport,
    PlaceStreetUse,
    compliance_report,
    part_flag,
    street_use_by_place,
)
from service.engine.curve import PointRunner
from service.engine.cycle import KERNEL_VERSION
from service.fitup.check import fit_findings
from service.fitup.findings import Finding
from service.kits.figures import Band, Basis, CurvePoint, Peaks
from service.kits.fitted import FittedSurface
from service.kits.kit import AssessmentRequest, Kit, Tier
from service.kits.ladder import RestrictionLadder, restriction_ladder
from service.kits.money import LeadTime, PriceBlock, lead_time, price_block
from service.kits.parts_list import PartsList, parts_list
from service.kits.power import PowerAnswer, power_answer
from service.kits.surface_power import NoSurface, SurfaceUse, surface_reading
from service.kits.views import application_of, fit_subject
from service.quantities import EDGE_CONFIG

UNCALIBRATED = "uncalibrated"
CLEARANCE_CAUTION = (
    "Clearance between valves and pistons is measured on the engine after any change of "
    "camshaft, heads, pistons or gaskets, before it is turned by the starter."
)
WORK_CAUTION = (
    "Let the engine cool and take the pressure off the fuel system before work; keep flames "
    "and sparks away from open fuel; never run an engine in a closed room."
)
CAUTIONS = (
    "Power figures are estimates of a model that no measured run of this family has corrected.",
    CLEARANCE_CAUTION,
    WORK_CAUTION,
    "Follow local codes and leave licensed work to those who are licensed for it.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What a storefront sorts by; every figure stands again in its block, with its basis."""

    __pydantic_config__ = EDGE_CONFIG

    peak_power_kw: float
    peak_power_low_kw: float
    peak_power_high_kw: float
    peak_power_hp: float
    peak_power_rpm: float
    band_low_rpm: float
    band_high_rpm: float
    keeps_stock_exterior: KeepsStockExterior
    street_legal_flag: StreetLegalFlag
    street_use_sentence: str | None = None
    """What the flag rests on, and who decides; answers given before it was kept have none."""
    street_use_decided_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KitLine:
    """One part of the kit."""

    __pydantic_config__ = EDGE_CONFIG

    slot: Slot
    sku: str
    title: str
    chosen: bool
    """False: the factory part, taken because no other was named."""
    street_legal_flag: StreetLegalFlag
    """Of this part alone."""
    street_use_sentence: str | None = None
    """What the flag rests on, and who decides; answers given before it was kept have none."""
    street_use_decided_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """What the answer was worked out from."""

    __pydantic_config__ = EDGE_CONFIG

    tier: str
    """Which model the curve comes from: `surface`, or the name of the simulation's."""
    surface: SurfaceUse | None
    """There when the surface was asked for, whether it could be used or not."""
    model_version: str
    catalog_revision: int
    calibration: str
    assessed_on: date
    """Papers and profiles were looked at as of this day."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """The answer to one question, block by block."""

    __pydantic_config__ = EDGE_CONFIG

    score: Score
    request: AssessmentRequest
    kit: tuple[KitLine, ...]
    curve: tuple[CurvePoint, ...]
    peaks: Peaks
    band: Band
    basis: Basis
    restriction_ladder: RestrictionLadder | None
    """Null where the curve was read off a surface: that knows torque and filling, and none of
    the pressures along the path. Ask without `tier` for it."""
    fits: bool
    """Whether no finding blocks it."""
    fit: tuple[Finding, ...]
    appearance: AppearanceBlock
    devices: DeviceBlock
    paperwork: PaperworkBlock
    jurisdiction_note: JurisdictionNote
    street_use: StreetUse
    street_use_by_place: tuple[PlaceStreetUse, ...]
    """The flag of the same kit and vehicle in every place that has a profile."""
    price: PriceBlock | None
    lead_time: LeadTime
    parts_list: PartsList
    """Everything that the kit takes to be bolted on, and what of it the shop does not list."""
    cautions: tuple[str, ...]
    provenance: Provenance


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What an assessment looks things up in, read once."""

    rules: tuple[ShopRule, ...]
    alternatives: Mapping[Slot, tuple[Part, ...]]
    """Current parts of every slot that are listed for the family."""
    supplies: tuple[Part, ...] = ()
    """What the shop has to bolt a kit on with, listed for the family."""
    documents: tuple[Document, ...]
    profiles: Profiles
    today: date
    catalog_revision: int
    surface: FittedSurface | None = None
    """Of the family, looked up where it is asked for."""


_PapersAbout = tuple[
    tuple[Part, ...], EngineFamily, tuple[Document, ...], Application, Profiles, date
]


def assess(kit: Kit, around: Surroundings, *, run: PointRunner) -> Assessment:
    """Assess one kit; a kit that does not fit is assessed too, and told why it does not."""
    use, read = _surface_reading(kit, around)
    power = read or power_answer(kit, run=run)
    ladder = None if read else restriction_ladder(kit, power, run=run)
    findings = _findings(kit, around, power)
    report = _report(kit, around)
    return Assessment(
        score=_score(power, report),
        request=kit.request,
        kit=_lines(kit, around),
        curve=power.curve,
        peaks=power.peaks,
        band=power.band,
        basis=power.basis,
        restriction_ladder=ladder,
        fits=all(finding.severity is not RuleSeverity.BLOCKS for finding in findings),
        fit=findings,
        appearance=report.appearance,
        devices=report.devices,
        paperwork=report.paperwork,
        jurisdiction_note=report.jurisdiction_note,
        street_use=report.street_use,
        street_use_by_place=street_use_by_place(*_papers_about(kit, around)),
        price=price_block(kit.parts, kit.chosen) if kit.request.include_prices else None,
        lead_time=lead_time(kit),
        parts_list=parts_list(kit, around.supplies, findings),
        cautions=CAUTIONS,
        provenance=Provenance(
            tier=(Tier.SIMULATION if ladder else Tier.SURFACE).value,
            surface=use,
            model_version=KERNEL_VERSION,
            catalog_revision=around.catalog_revision,
            calibration=UNCALIBRATED,
            assessed_on=around.today,
        ),
    )


def _findings(kit: Kit, around: Surroundings, power: PowerAnswer) -> tuple[Finding, ...]:
    return fit_findings(
        fit_subject(kit),
        around.rules,
        around.alternatives,
        power.peaks.power.power_kw * 1e3,
        around.supplies,
    )


def _surface_reading(
    kit: Kit, around: Surroundings
) -> tuple[SurfaceUse | None, PowerAnswer | None]:
    """Read the kit off the surface, where that is asked for and can be done."""
    if kit.request.tier is not Tier.SURFACE:
        return None, None
    if around.surface is None:
        raise NoSurface(kit.family)
    return surface_reading(kit, around.surface)


def _report(kit: Kit, around: Surroundings) -> ComplianceReport:
    return compliance_report(*_papers_about(kit, around))


def _papers_about(kit: Kit, around: Surroundings) -> _PapersAbout:
    """Return what every statement about the kit's papers is drawn from."""
    return (
        tuple(kit.parts.values()),
        kit.family,
        around.documents,
        application_of(kit.request),
        around.profiles,
        around.today,
    )


def _part_use(part: Part, kit: Kit, around: Surroundings) -> StreetUse:
    return part_flag(
        part,
        kit.family,
        around.documents,
        application_of(kit.request),
        around.profiles,
        around.today,
    )


def _lines(kit: Kit, around: Surroundings) -> tuple[KitLine, ...]:
    return tuple(
        KitLine(
            slot=slot,
            sku=part.sku,
            title=part.title,
            chosen=slot in kit.chosen,
            street_legal_flag=use.street_legal_flag,
            street_use_sentence=use.sentence,
            street_use_decided_by=use.decided_by,
        )
        for slot, part in kit.parts.items()
        for use in (_part_use(part, kit, around),)
    )


def _score(power: PowerAnswer, report: ComplianceReport) -> Score:
    peak = power.peaks.power
    return Score(
        peak_power_kw=peak.power_kw,
        peak_power_low_kw=peak.power_low_kw,
        peak_power_high_kw=peak.power_high_kw,
        peak_power_hp=peak.power_hp,
        peak_power_rpm=peak.speed_rpm,
        band_low_rpm=power.band.low_rpm,
        band_high_rpm=power.band.high_rpm,
        keeps_stock_exterior=report.appearance.keeps_stock_exterior,
        street_legal_flag=report.street_use.street_legal_flag,
        street_use_sentence=report.street_use.sentence,
        street_use_decided_by=report.street_use.decided_by,
    )
