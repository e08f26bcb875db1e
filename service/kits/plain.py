"""An assessment as plain text for a terminal: kits side by side, then what each rests on."""

import textwrap
from collections.abc import Iterable, Sequence

from service.catalog.rules import RuleSeverity
from service.kits.assessment import Assessment
from service.kits.ladder import RestrictionLadder, Rung

NAME_WIDTH = 26
COLUMN_WIDTH = 34
LINE_WIDTH = 110


def side_by_side(named: Sequence[tuple[str, Assessment]]) -> str:
    """Return a table with one column for each kit and one line for each question."""
    columns = [_column(assessment) for _, assessment in named]
    labels = [label for label, _ in columns[0]]
    lines = [_line("", [name for name, _ in named])]
    for place, label in enumerate(labels):
        lines.append(_line(label, [column[place][1] for column in columns]))
    return "\n".join([*lines, "", *(wrapped(_street_use(*one)) for one in named)])


def _street_use(name: str, assessment: Assessment) -> str:
    """Return what goes with the flag wherever it stands: what it rests on, and who decides."""
    return f"{name}: {assessment.street_use.sentence}"


def in_full(assessment: Assessment) -> str:
    """Return one kit with its curve, its ladder, its findings and its papers."""
    blocks = (
        side_by_side([(assessment.request.family, assessment)]),
        _curve(assessment),
        _ladder(assessment),
        _findings(assessment),
        _parts_list(assessment),
        _note(assessment),
        "\n".join(["Cautions", *map(wrapped, assessment.cautions)]),
    )
    return "\n\n".join(blocks)


def wrapped(sentence: str) -> str:
    """Return a long sentence on lines of a readable length, the later ones set in."""
    return textwrap.fill(
        sentence, LINE_WIDTH, initial_indent="  ", subsequent_indent="    ", break_long_words=False
    )


def _line(label: str, cells: Iterable[str]) -> str:
    text = "".join(cell.ljust(COLUMN_WIDTH) for cell in cells)
    return (label.ljust(NAME_WIDTH) + text).rstrip()


def _column(assessment: Assessment) -> list[tuple[str, str]]:
    score, power, torque = assessment.score, assessment.peaks.power, assessment.peaks.torque
    band = assessment.band
    return [
        ("peak power", f"{power.power_kw:.0f} kW ({power.power_hp:.0f} hp)"),
        ("  low to high", f"{power.power_low_kw:.0f} to {power.power_high_kw:.0f} kW"),
        ("  at", f"{power.speed_rpm:.0f} rev/min"),
        ("peak torque", f"{torque.torque_nm:.0f} N·m ({torque.torque_lbft:.0f} lbf·ft)"),
        ("  at", f"{torque.speed_rpm:.0f} rev/min"),
        ("band", f"{band.low_rpm:.0f} to {band.high_rpm:.0f} rev/min"),
        ("air runs out", _air(band.air_runs_out_rpm)),
        ("largest loss", _largest_loss(assessment.restriction_ladder)),
        ("bolts together", "yes" if assessment.fits else f"no: {_blocks(assessment)} to solve"),
        ("outside", _outside(assessment)),
        ("paper on file", assessment.paperwork.outcome.value.replace("_", " ")),
        ("street_legal_flag", score.street_legal_flag.value),
        ("price of the parts", _price(assessment)),
        ("lead time", f"{assessment.lead_time.days} days"),
    ]


def _air(speed_rpm: float | None) -> str:
    return "not within the rev limit" if speed_rpm is None else f"{speed_rpm:.0f} rev/min"


def _largest_loss(ladder: RestrictionLadder | None) -> str:
    return "not read off a surface" if ladder is None else _rung(ladder.intake[0])


def _rung(rung: Rung) -> str:
    name = (
        rung.name if len(rung.name) <= COLUMN_WIDTH - 12 else rung.name[: COLUMN_WIDTH - 13] + "…"
    )
    return f"{name}, {rung.pressure_loss_kpa:.1f} kPa"


def _blocks(assessment: Assessment) -> int:
    return sum(finding.severity is RuleSeverity.BLOCKS for finding in assessment.fit)


def _outside(assessment: Assessment) -> str:
    different = [part for part in assessment.appearance.parts if part.differences]
    if different:
        count = sum(len(part.differences) for part in different)
        return f"differs in {count} traits"
    return assessment.appearance.look.value.replace("_", " ")


def _price(assessment: Assessment) -> str:
    if assessment.price is None:
        return "not asked"
    totals = [str(total) for total in assessment.price.totals]
    return " + ".join(totals) or "nothing to buy"


def _curve(assessment: Assessment) -> str:
    basis = assessment.basis
    head = "rev/min     N·m  low-high       kW    hp    filling"
    rows = [
        f"{point.speed_rpm:7.0f} {point.torque_nm:7.0f}  "
        f"{point.torque_low_nm:.0f}-{point.torque_high_nm:.0f}".ljust(30)
        + f"{point.power_kw:7.0f} {point.power_hp:5.0f} {point.volumetric_efficiency:9.2f}"
        for point in assessment.curve
    ]
    title = f"Full load, {basis.rating}; corrected to {basis.standard.value}; {basis.fuel}"
    return "\n".join([textwrap.fill(title, LINE_WIDTH), head, *rows])


def _ladder(assessment: Assessment) -> str:
    ladder = assessment.restriction_ladder
    if ladder is None:
        return "Where the air is held up: not read off a surface; ask for the simulation."
    rows = [
        f"  {rung.name:<34}{rung.pressure_loss_kpa:6.1f} kPa {rung.share_of_loss:5.0%}  "
        f"a tenth more area: {rung.power_gain_kw:+.1f} kW"
        for rung in (*ladder.intake, *ladder.exhaust)
    ]
    title = f"Where the air is held up at {ladder.speed_rpm:.0f} rev/min, intake then exhaust"
    ports = f"  ports and valves: a tenth more flow: {ladder.port_power_gain_kw:+.1f} kW"
    return "\n".join([title, *rows, ports])


def _findings(assessment: Assessment) -> str:
    rows = [
        wrapped(f"{finding.severity.value}: {finding.reason} {finding.remedy} [{finding.source}]")
        for finding in assessment.fit
    ]
    return "\n".join(["Findings", *(rows or ["  none"])])


def _parts_list(assessment: Assessment) -> str:
    listed = assessment.parts_list
    rows = [
        f"  {line.count:>4} {line.sku:<28}{line.price or ''!s:>14}  {line.title}"
        + ("" if line.on_shelf else f"; not on the shelf{_instead(line.instead)}")
        for line in listed.lines
    ]
    rows += [f"     - {one.title} ({one.price or 'not priced'})" for one in listed.machining]
    rows += [f"  missing: {one.what}, for {one.needed_for}" for one in listed.missing]
    totals = " + ".join(map(str, listed.totals)) or "not asked"
    weight = f"{listed.weight_g / 1000:.1f} kg"
    about = "" if listed.weight_complete else " at least"
    title = f"Parts list: {totals}, {weight}{about}"
    return "\n".join([title, *(rows or ["  nothing to bolt on"])])


def _instead(skus: Sequence[str]) -> str:
    return f", take {' or '.join(skus)}" if skus else ""


def _note(assessment: Assessment) -> str:
    sentences = [each.sentence for each in assessment.jurisdiction_note.statements]
    return "\n".join(["Paper", *map(wrapped, (*sentences, assessment.street_use.sentence))])
