"""A work sheet put into words, block by block, in the units asked for."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from service.fitup.lengths import in_one_system
from service.fitup.rail_seal import CARTRIDGE_ML
from service.install.checks import Check
from service.install.figures import BLANK, Units, length_text, span_text, volume_text
from service.install.joint_block import joint_block
from service.install.laid_out import LaidOut
from service.install.printed import Block, Printed, Reading
from service.install.readings_block import Newest, newest_of, readings_block
from service.install.sealing import EndRails
from service.install.sheet import WorkSheet
from service.install.steps import Step


def printed(number: int, sheet: WorkSheet, readings: Iterable[Reading], *, units: Units) -> Printed:
    """Return the sheet in words, with the newest reading of each check."""
    inputs = sheet.inputs
    return Printed(
        title=f"Work sheet {number}",
        about=f"{sheet.family_title}, model year {sheet.model_year}, {sheet.use.value} use, "
        f"{sheet.place_title or sheet.place}",
        note=f"From assessment {inputs.assessment[:12]} of {inputs.assessed_on.isoformat()}, "
        f"catalogue revision {inputs.catalog_revision}, {inputs.sheet_version}",
        blocks=tuple(
            _in_one_system(block, units) for block in _blocks(sheet, newest_of(readings), units)
        ),
    )


_BLANK_JOINT = Block(
    heading="Tightening",
    lines=(
        (
            "No joint was told of, and no layout is on record: order and torque are blank. "
            "From the middle outward, sides in turn; snug, part, full, then round at full "
            "until no bolt turns."
        ),
        *(f"{pass_}: torque {BLANK} by {BLANK}" for pass_ in ("Snug", "Part", "Full")),
    ),
)


def _in_one_system(block: Block, units: Units) -> Block:
    """Keep what stands in both systems of units in the one asked for."""
    si = units is Units.SI
    return replace(
        block,
        lines=tuple(in_one_system(line, si=si) for line in block.lines),
        rows=tuple(tuple(in_one_system(cell, si=si) for cell in row) for row in block.rows),
    )


def _blocks(sheet: WorkSheet, readings: Newest, units: Units) -> Iterator[Block]:
    yield Block(heading="Cautions", lines=sheet.cautions)
    if sheet.safety_questions:
        yield Block(heading="Fire safety of the vessel", lines=sheet.safety_questions)
    if sheet.findings:
        yield Block(heading="Look at these first", lines=sheet.findings)
    yield from _laid_out(sheet)
    yield Block(heading="Tools", lines=(", ".join(sheet.tools) + ".",))
    for step in sheet.steps:
        yield _step(step, sheet.checks)
    if sheet.end_rails is not None:
        yield _rails(sheet.end_rails, units)
    for joint in sheet.joints:
        yield joint_block(joint, units)
    if not sheet.joints:
        yield _BLANK_JOINT
    yield readings_block(sheet.checks, readings, units)
    yield Block(heading="Papers", lines=sheet.documents)
    yield Block(
        heading="Done by",
        lines=(f"Name {BLANK}{BLANK}   Day {BLANK}   Engine number {BLANK}{BLANK}",),
    )


def _laid_out(sheet: WorkSheet) -> Iterator[Block]:
    """Yield what goes on with all that it takes; older sheets know of the parts alone."""
    lines = sheet.lay_out.lines
    rows = [
        ("[  ]", str(line.count), line.sku, f"{line.title}{_instead(line)}", line.needed_for)
        for line in lines
    ] or [
        ("[  ]", "1", part.sku, part.title, part.slot.value.replace("_", " "))
        for part in sheet.parts
        if part.fitted_now
    ]
    yield Block(
        heading="Parts to lay out",
        head=("Here", "Count", "Number", "What", "For"),
        widths=("auto", "auto", "auto", "1", "1"),
        rows=tuple(rows),
        lines=() if rows else ("Nothing is changed.",),
    )
    if sheet.lay_out.missing:
        yield Block(
            heading="Missing: get these before anything is undone",
            lines=tuple(f"[  ] {one}" for one in sheet.lay_out.missing),
        )
    if sheet.lay_out.machining:
        yield Block(
            heading="Machining that comes first",
            lines=tuple(f"[  ] {one}" for one in sheet.lay_out.machining),
        )


def _instead(line: LaidOut) -> str:
    if line.on_shelf:
        return ""
    others = f"; instead: {', '.join(line.instead)}" if line.instead else ""
    return f" (not on the shelf{others})"


def _step(step: Step, checks: Iterable[Check]) -> Block:
    tools = (f"Tools: {', '.join(step.tools)}.",) if step.tools else ()
    named = [
        check.title
        for check in checks
        if any(check.key.startswith(each.removesuffix("*")) for each in step.checks)
    ]
    readings = (f"Write down, under Readings: {'; '.join(named)}.",) if named else ()
    return Block(
        heading=f"Step {step.number}. {step.title}   [  ]",
        lines=(*step.todo, f"Why: {step.reason}", *tools, *readings),
    )


def _rails(rails: EndRails, units: Units) -> Block:
    figures = []
    if rails.gap_low_mm is not None and rails.gap_high_mm is not None:
        figures.append(f"Gap: {span_text(rails.gap_low_mm, rails.gap_high_mm, units)}")
    if rails.bead_mm is not None:
        figures.append(f"Bead: {length_text(rails.bead_mm, units)} thick, before it is squeezed")
    if rails.width_low_mm is not None and rails.width_high_mm is not None:
        wide = span_text(rails.width_low_mm, rails.width_high_mm, units)
        figures.append(f"It spreads to {wide}")
    if rails.volume_ml is not None:
        figures.append(
            f"Sealant: {volume_text(rails.volume_ml, units)} for both ends, "
            f"{rails.cartridges} hand tube(s) of {volume_text(CARTRIDGE_ML, units)}"
        )
    return Block(heading="End rails", lines=(*figures, *rails.instructions))
