"""What a quote says on paper, as plain data: sections of sentences and tables.

The template draws what stands here and adds no word of its own.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from service.catalog.rules import RuleSeverity
from service.compliance.documents import Document
from service.engine.corrections import CorrectionStandard
from service.fitup.findings import Finding
from service.kits.assessment import Assessment
from service.quotes.content import Declaration, QuoteContent
from service.quotes.drawings import curve_drawing, ladder_drawing
from service.quotes.money import Bill, BillLine
from service.quotes.pricing import FROM_CATALOGUE, FROM_DESK
from service.quotes.sections import Section, four_blocks, joined, moment, section, table, words

STANDARDS = {
    CorrectionStandard.SAE_J1349: "SAE J1349",
    CorrectionStandard.SAE_J607: "SAE J607",
    CorrectionStandard.SAE_J607_WITH_FRICTION: "SAE J607 with friction",
    CorrectionStandard.ISO_1585: "ISO 1585",
    CorrectionStandard.DIN_70020: "DIN 70020",
}
"""As their publishers write them."""


class Copy(StrEnum):
    """Whose copy of a quote."""

    CUSTOMER = "customer"
    SHOP = "shop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """Who took it on themselves to quote a kit that the fit check blocks, and why."""

    by: str
    at: datetime
    reason: str
    codes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Versions:
    """What the answer was worked out with."""

    service: str
    model: str
    catalog_revision: int
    profile: str
    """Key of the jurisdiction profile and a digest of its text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Issue:
    """Everything that one revision says and rests on."""

    shop_name: str
    quote_id: int
    revision: int
    issued_at: datetime
    issued_by: str
    time_zone: str
    content: QuoteContent
    declaration: Declaration
    bill: Bill
    not_priced: tuple[str, ...] = ()
    """What the kit takes and the bill does not charge."""
    assessment: Assessment
    documents: tuple[Document, ...]
    override: Override | None
    versions: Versions


def quote_document(issue: Issue, copy: Copy, evidence_sha256: str) -> dict[str, Any]:
    """Return one copy of a quote as data for its template."""
    title = f"Quote {issue.quote_id}, revision {issue.revision}"
    customer = issue.content.customer
    return {
        "title": title,
        "shop": issue.shop_name,
        "about": f"{title}: {copy.value}'s copy",
        "note": f"Evidence kept with this revision: SHA-256 {evidence_sha256}",
        "facts": [
            ["For", joined(customer.name, customer.address)],
            ["Your reference", customer.reference],
            ["Issued", f"{moment(issue.issued_at)}, by {issue.issued_by}"],
            ["Good until", f"the end of {issue.content.valid_until} ({issue.time_zone})"],
            ["Currency", issue.bill.total.currency],
        ],
        "bill": _bill(issue.bill, copy),
        "total": f"Total, {issue.bill.total.currency} {issue.bill.total.amount}",
        "sections": list(_sections(issue, copy)),
    }


def _bill(bill: Bill, copy: Copy) -> list[list[Any]]:
    return [[str(place), *_cells(line, copy)] for place, line in enumerate(bill.lines, start=1)]


def _cells(line: BillLine, copy: Copy) -> list[str]:
    is_listed = line.price_source not in ("", FROM_DESK, FROM_CATALOGUE)
    source = f"By {line.price_source}." if is_listed and copy is Copy.SHOP else ""
    notes = [line.note, source]
    quantity = f"{line.quantity} {line.unit}".strip()
    discount = f"{line.discount_percent} %" if line.discount_percent else ""
    return [
        line.sku or "",
        "\n".join(part for part in (line.title, *notes) if part),
        quantity,
        line.unit_price.amount if line.unit_price else "",
        discount,
        line.amount.amount,
    ]


def _sections(issue: Issue, copy: Copy) -> Iterator[Section]:
    assessment = issue.assessment
    if issue.content.customer_note:
        yield section("Note", issue.content.customer_note)
    if issue.not_priced:
        yield section(
            "Not in this price",
            "The kit takes these too; nothing above charges them:",
            *issue.not_priced,
        )
    if copy is Copy.SHOP:
        yield from _for_the_bench(issue)
    yield _use(issue)
    yield _power(assessment)
    yield _ladder(assessment)
    yield from four_blocks(assessment)
    yield _fit(assessment, issue.override, copy)
    yield section("Cautions", *assessment.cautions)
    yield _evidence(issue)


def _for_the_bench(issue: Issue) -> Iterator[Section]:
    if issue.content.shop_note:
        yield section("For the shop", issue.content.shop_note)
    wait = issue.assessment.lead_time
    missing = ", ".join(wait.waiting_for)
    told = f"{wait.days} days. Not on the shelf: {missing}." if missing else "All on the shelf."
    with_supplies = issue.assessment.parts_list.wait_days
    supplies = f"With its supplies: {with_supplies} days." if with_supplies > wait.days else ""
    yield section("Lead time", told, supplies)


def _use(issue: Issue) -> Section:
    said = issue.declaration
    return section(
        "Declared use",
        f"Acknowledged by {said.name} on {moment(said.acknowledged_at)}, in these words:",
        said.text,
    )


def _power(assessment: Assessment) -> Section:
    power, torque, basis = assessment.peaks.power, assessment.peaks.torque, assessment.basis
    rows = [
        [
            "Peak power",
            f"{power.power_kw:.0f} kW ({power.power_hp:.0f} hp)",
            f"{power.power_low_kw:.0f} to {power.power_high_kw:.0f} kW",
            f"{power.speed_rpm:.0f} rev/min",
        ],
        [
            "Peak torque",
            f"{torque.torque_nm:.0f} N·m ({torque.torque_lbft:.0f} lbf·ft)",
            _torque_bounds(assessment),
            f"{torque.speed_rpm:.0f} rev/min",
        ],
    ]
    weather = basis.weather
    return {
        **section(
            "Estimated power",
            f"Estimates of a model ({assessment.provenance.model_version}, "
            f"{assessment.provenance.calibration}), not measurements and not a promise. "
            f"Bounds: {basis.bounds}.",
            f"Basis: {basis.rating}; corrected to {STANDARDS[basis.standard]}; {basis.fuel}; "
            f"{weather.pressure_kpa:g} kPa absolute, {weather.temperature_c:g} °C, relative "
            f"humidity {weather.relative_humidity:.0%}; compression ratio "
            f"{basis.compression_ratio:.2f}; {basis.displacement_l:.2f} l.",
        ),
        "table": table(
            ("", "Estimate", "Low to high", "At"), rows, widths=["auto", "1fr", "1fr", "auto"]
        ),
        "drawing": curve_drawing(assessment),
        "small": ["What the bounds rest on:", *map(words, basis.assumptions)],
    }


def _torque_bounds(assessment: Assessment) -> str:
    peak = max(assessment.curve, key=lambda point: point.torque_nm)
    return f"{peak.torque_low_nm:.0f} to {peak.torque_high_nm:.0f} N·m"


def _ladder(assessment: Assessment) -> Section:
    ladder = assessment.restriction_ladder
    if ladder is None:
        return section("Where the air is held up", "Not read off a surface.")
    rows = [
        [
            rung.name,
            rung.side.value,
            f"{rung.pressure_loss_kpa:.1f} kPa",
            f"{rung.share_of_loss:.0%}",
            f"{rung.power_gain_kw:+.1f} kW",
        ]
        for rung in (*ladder.intake, *ladder.exhaust)
    ]
    return {
        **section(
            "Where the air is held up",
            f"At {ladder.speed_rpm:.0f} rev/min, simulated; the last column is what a tenth more "
            "area would add.",
        ),
        "table": table(
            ("Place", "Side", "Loss", "Share", "A tenth more"),
            rows,
            widths=["1fr", "auto", "auto", "auto", "auto"],
            right=(2, 3, 4),
        ),
        "drawing": ladder_drawing(ladder),
    }


def _fit(assessment: Assessment, override: Override | None, copy: Copy) -> Section:
    shown = [
        finding
        for finding in assessment.fit
        if copy is Copy.SHOP or finding.severity is not RuleSeverity.NOTES
    ]
    lines = [_finding(finding, copy) for finding in shown] or ["Nothing to report."]
    if override is not None:
        lines.append(
            f"Quoted although it does not go together as it stands, by {override.by} on "
            f"{moment(override.at)}, for this reason: {override.reason}"
            + (f" [{', '.join(override.codes)}]" if copy is Copy.SHOP else "")
        )
    return section("Fit", *lines)


def _finding(finding: Finding, copy: Copy) -> str:
    sentence = f"{_SEVERITIES[finding.severity]}: {finding.reason} {finding.remedy}"
    return f"{sentence} [{finding.code}; {finding.source}]" if copy is Copy.SHOP else sentence


_SEVERITIES = {
    RuleSeverity.BLOCKS: "Does not go together",
    RuleSeverity.WARNS: "Look first",
    RuleSeverity.NOTES: "Good to know",
}


def _evidence(issue: Issue) -> Section:
    rows = [
        [
            paper.number,
            words(paper.type.value),
            paper.issuer,
            paper.file_sha256 or "no copy on file",
        ]
        for paper in issue.documents
    ]
    versions = issue.versions
    told = section(
        "What this revision rests on",
        f"Service {versions.service}; model {versions.model}; catalogue revision "
        f"{versions.catalog_revision}; jurisdiction profile {versions.profile}; assessed on "
        f"{issue.assessment.provenance.assessed_on}.",
    )
    listed = table(
        ("Number", "Kind", "Issuer", "SHA-256 of the copy"),
        rows,
        widths=["auto", "auto", "auto", "1fr"],
    )
    return {**told, "table": listed}
