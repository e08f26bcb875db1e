"""A work sheet as plain blocks of words: what the page and the printed sheet both draw."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from service.install.checks import Check, CheckUnit, Judgement
from service.install.figures import BLANK, Units, force_text, length_text, span_text, torque_text
from service.install.joints import JointSheet
from service.install.laid_out import LaidOut
from service.install.passes import Pass, three_torques
from service.install.sealing import EndRails
from service.install.sheet import WorkSheet
from service.install.steps import Step
from service.plots.bolts import Bolt, BoltPlot, draw_bolts
from service.plots.svg import Drawing

_SAID = {
    Judgement.ACCEPTED: "accepted",
    Judgement.LOOK_AGAIN: "look again",
    Judgement.OUT_OF_RANGE: "OUT OF RANGE, stop",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One value that was written down."""

    check: str
    value: float
    unit: CheckUnit
    outcome: Judgement | None
    by: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A heading with what stands under it; what is empty is left out."""

    heading: str
    lines: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    widths: tuple[str, ...] = ()
    """Of the columns on paper: a number is a share of what `auto` leaves over."""
    rows: tuple[tuple[str, ...], ...] = ()
    drawing: Drawing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """Everything of a work sheet that is drawn."""

    title: str
    about: str
    note: str
    blocks: tuple[Block, ...]


def printed(number: int, sheet: WorkSheet, readings: Iterable[Reading], *, units: Units) -> Printed:
    """Return the sheet in words, with the newest reading of each check."""
    inputs = sheet.inputs
    return Printed(
        title=f"Work sheet {number}",
        about=f"{sheet.family_title}, model year {sheet.model_year}, {sheet.use.value}, "
        f"{sheet.place}",
        note=f"From assessment {inputs.assessment[:12]} of {inputs.assessed_on.isoformat()}, "
        f"catalogue revision {inputs.catalog_revision}, {inputs.sheet_version}",
        blocks=tuple(_blocks(sheet, {one.check: one for one in readings}, units)),
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


def _blocks(sheet: WorkSheet, readings: dict[str, Reading], units: Units) -> Iterator[Block]:
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
        yield from _joint(joint, units)
    if not sheet.joints:
        yield _BLANK_JOINT
    yield _checks(sheet.checks, readings, units)
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
            f"Sealant: {rails.volume_ml:.0f} mL for both ends, {rails.cartridges} hand tube(s) "
            "of 80 mL"
        )
    return Block(heading="End rails", lines=(*figures, *rails.instructions))


def _joint(joint: JointSheet, units: Units) -> Iterator[Block]:
    name = joint.name or joint.slot.value.replace("_", " ")
    preload = (
        (
            (
                f"Preload {force_text(joint.preload_low_n, units)} (settled) to "
                f"{force_text(joint.preload_high_n, units)}; bolt or thread gives at "
                f"{force_text(joint.limit_n, units)}."
            ),
        )
        if joint.preload_low_n and joint.preload_high_n and joint.limit_n
        else ()
    )
    yield Block(
        heading=f"Tightening: {name}",
        lines=(
            f"Bolts: {joint.bolts}.",
            f"Full torque: {torque_text(joint.torque)}. {joint.why}",
            *joint.findings,
            *preload,
            *((f"Gasket: {joint.gasket}",) if joint.gasket else ()),
            *(_DRAWN if joint.places else ()),
        ),
        head=("Pass", "Torque", "Order", "Loosest bolt", "Set", "By"),
        widths=("auto", "1.25", "1", "auto", "auto", "auto"),
        rows=tuple(_pass(each) for each in joint.passes),
        drawing=joint_drawing(joint, name) if joint.places else None,
    )


_DRAWN = (
    "Drawn from above: front of the engine at the left, right bank on top.",
    (
        "Bars, and the loosest bolt after each pass: what a model of neighbours relaxing each "
        "other leaves of the preload; nothing was measured."
    ),
)


def _pass(each: Pass) -> tuple[str, ...]:
    left = BLANK if each.least_left is None else f"{each.least_left:.0%} of full"
    order = "-".join(str(bolt) for bolt in each.order) or BLANK
    return (f"{each.number}. {each.title}", torque_text(each.torque), order, left, BLANK, BLANK)


def joint_drawing(joint: JointSheet, name: str) -> Drawing:
    """Draw the bolts of a joint with their order and what each still holds."""
    bolts = tuple(
        Bolt(x_mm=place.along_mm, y_mm=place.across_mm, order=number, share=share)
        for number, (place, share) in enumerate(
            zip(joint.places, joint.left_after_full, strict=True), start=1
        )
    )
    return draw_bolts(
        BoltPlot(
            key=f"bolts-{joint.key or joint.slot.value}",
            title=f"Tightening order of the {name}",
            description=f"{len(bolts)} bolts, number 1 first; bars show the preload that is left "
            "after the first pass at full torque, by a model: the rounds after it bring it back.",
            bolts=bolts,
        )
    )


def _checks(checks: Iterable[Check], readings: dict[str, Reading], units: Units) -> Block:
    return Block(
        heading="Readings",
        lines=(
            "Between accept and reject: measure again, then ask the builder. Past reject: stop.",
        ),
        head=("Reading", "How", "Accept", "Reject", "Found"),
        widths=("1.3", "2", "1", "1", "1"),
        rows=tuple(
            (
                f"{check.title} [{check.key}]",
                f"{check.how} {check.source}",
                _limits(check, check.accept_from, check.accept_to, units, ("at least", "up to")),
                _limits(check, check.reject_below, check.reject_above, units, ("below", "above")),
                _found(readings.get(check.key)),
            )
            for check in checks
        ),
    )


def _limits(
    check: Check, low: float | None, high: float | None, units: Units, words: tuple[str, str]
) -> str:
    def told(value: float) -> str:
        if check.unit is CheckUnit.MM:
            return length_text(value, units)
        return torque_text(three_torques(value))

    found = [
        f"{word} {told(value)}"
        for word, value in zip(words, (low, high), strict=True)
        if value is not None
    ]
    return ", ".join(found) or "not known"


def _found(reading: Reading | None) -> str:
    if reading is None:
        return BLANK
    said = "" if reading.outcome is None else f": {_SAID[reading.outcome]}"
    return f"{reading.value:g} {reading.unit.value}{said}; {reading.by}, {reading.at:%Y-%m-%d}"
