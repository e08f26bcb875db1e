"""Sections of a printed document, and those that the four blocks of an answer make."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from service.catalog.devices import DEVICE_TERMS
from service.compliance.devices import DeviceRow
from service.kits.assessment import Assessment

Section = dict[str, Any]


def four_blocks(assessment: Assessment) -> Iterator[Section]:
    """Return the four blocks of the compliance answer: always all four, never merged."""
    look = assessment.appearance
    titles = {line.sku: line.title for line in assessment.kit}
    seen = [
        f"{titles.get(part.sku, '')} ({part.sku}): {difference.what.rstrip('.')}, "
        f"seen from {difference.seen_from}."
        for part in look.parts
        for difference in part.differences
    ]
    yield section("1. Appearance", f"Outside: {words(look.look.value)}.", *seen, look.caution)
    devices = [
        [
            DEVICE_TERMS[row.device].title,
            words(row.state.value),
            words(row.functional.value),
            _by(row),
        ]
        for row in assessment.devices.rows
    ]
    known = "" if assessment.devices.fitted_known else "Which devices were fitted is not known."
    yield {
        **section("2. Devices", *([known] if known else [])),
        "table": table(
            ("Device", "With this kit", "Function", "By"),
            devices,
            widths=["auto", "auto", "auto", "1fr"],
        ),
    }
    yield _papers(assessment, titles)
    yield _note(assessment)


def _by(row: DeviceRow) -> str:
    """Return what does it to a device; a note that names its part says it alone."""
    told = " ".join(row.notes)
    return joined(*(sku for sku in row.by_parts if sku not in told), *row.notes)


def _note(assessment: Assessment) -> Section:
    note = assessment.jurisdiction_note
    cited = [
        f"{each.row.citation}, looked at {each.row.checked_on}"
        f"{'' if each.confirmed else ', not confirmed, decides nothing'}"
        for each in note.citations
    ]
    return {
        **section(
            f"4. Jurisdiction note: {note.title}",
            *(each.sentence for each in note.statements),
            *(f"Documented: {line}" for line in note.documented),
            *(f"Missing: {line}" for line in note.missing),
            *note.cautions,
            assessment.street_use.sentence,
        ),
        "small": [f"Read for this: {'; '.join(cited)}."] if cited else [],
    }


def _papers(assessment: Assessment, titles: Mapping[str, str]) -> Section:
    block = assessment.paperwork
    rows = [
        [
            joined(titles.get(one.sku, ""), one.sku),
            words(one.outcome.value) + (", recorded as a factory part" if one.original else ""),
            "\n".join(
                f"{paper.number}, {words(paper.type.value)}, {paper.issuer}, "
                f"{paper.issued_on}: {words(paper.outcome.value)}"
                for paper in one.documents
            ),
        ]
        for one in block.parts
    ]
    return {
        **section(
            "3. Papers",
            f"Of the kit: {words(block.outcome.value)}; of the changed parts together: "
            f"{words(block.combination.value)}.",
            *(f"Not known: {line}." for line in block.unknowns),
        ),
        "table": table(("Part", "Outcome", "On file"), rows, widths=["1fr", "auto", "1fr"]),
    }


def section(heading: str, *paragraphs: str) -> Section:
    """Return a heading with its paragraphs; empty ones are left out.

    A table, a drawing and small print may be put behind them, in this order.
    """
    return {
        "heading": heading,
        "paragraphs": [each for each in paragraphs if each],
        "table": None,
        "drawing": None,
        "small": [],
    }


def table(
    header: Sequence[str], rows: list[list[str]], *, widths: list[str], right: Sequence[int] = ()
) -> dict[str, Any] | None:
    """Return a table, or nothing where it would have no row."""
    if not rows:
        return None
    align = ["right" if place in right else "left" for place in range(len(header))]
    return {"header": list(header), "rows": rows, "widths": widths, "align": align}


def joined(*lines: str) -> str:
    """Return the lines that say something, one below the other."""
    return "\n".join(line for line in lines if line)


def words(value: str) -> str:
    """Return the word of an enumeration as it is printed."""
    return value.replace("_", " ")


def moment(at: datetime) -> str:
    """Return a moment in UTC as it is printed."""
    return f"{at:%Y-%m-%d %H:%M} UTC"
