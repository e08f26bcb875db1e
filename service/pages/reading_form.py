"""Readings of a work sheet as fields of a form, and back: a field for each place of each check.

A field is named by the ranks of its check and place, which never change on a sheet that was made.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.errors import FieldProblem, InvalidInput
from service.install.checks import Check, CheckUnit
from service.install.figures import Units
from service.install.readings_block import Newest, accepted, found_text, rejected

LENGTHS = (CheckUnit.MM, CheckUnit.INCH)
TORQUES = (CheckUnit.NM, CheckUnit.LBFT, CheckUnit.LBIN)
Form = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingField:
    """One value to be typed in."""

    name: str
    place: str
    found: str
    """What was entered before; empty: nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckFields:
    """A check with its limits in words and its fields."""

    title: str
    limits: str
    unit_name: str
    units: tuple[str, ...]
    unit: str
    """The one that is chosen until somebody chooses another."""
    fields: tuple[ReadingField, ...]


def reading_fields(
    checks: Iterable[Check], newest: Newest, units: Units
) -> tuple[CheckFields, ...]:
    """Return the form of a sheet."""
    return tuple(
        CheckFields(
            title=check.title,
            limits=f"Accept {accepted(check, units)}. Reject {rejected(check, units)}.",
            unit_name=f"unit-{rank}",
            units=tuple(unit.value for unit in _units_of(check)),
            unit=_usual(check, units).value,
            fields=tuple(
                ReadingField(
                    name=_name(rank, number),
                    place=place or "found",
                    found=found_text(newest[check.key, place])
                    if (check.key, place) in newest
                    else "",
                )
                for number, place in enumerate(_places(check))
            ),
        )
        for rank, check in enumerate(checks)
    )


def readings_of(checks: Sequence[Check], form: Form) -> tuple[dict[str, Any], list[str]]:
    """Return the document of a form as the API takes it, and the field of each of its readings."""
    problems: list[FieldProblem] = []
    readings: list[dict[str, Any]] = []
    fields: list[str] = []
    for rank, check in enumerate(checks):
        for number, place in enumerate(_places(check)):
            name = _name(rank, number)
            text = form.get(name, "").strip().replace(",", ".")
            if not text:
                continue
            try:
                value = float(text)
            except ValueError:
                detail = f"{check.title}: write a number, such as 2.5; {text!r} is not one."
                problems.append(FieldProblem(pointer=name, code="not_a_number", detail=detail))
                continue
            unit = form.get(f"unit-{rank}") or _units_of(check)[0].value
            readings.append({"check": check.key, "place": place, "value": value, "unit": unit})
            fields.append(name)
    if problems:
        raise InvalidInput(*problems)
    return {
        "by": form.get("by", "").strip(),
        "readings": readings,
        "note": form.get("note", ""),
    }, fields


def at_readings(
    problems: Iterable[FieldProblem], fields: Sequence[str]
) -> tuple[FieldProblem, ...]:
    """Return problems of the document at the fields that they are about."""
    return tuple(
        FieldProblem(pointer=_field(each.pointer, fields), code=each.code, detail=each.detail)
        for each in problems
    )


def _field(pointer: str, fields: Sequence[str]) -> str:
    steps = pointer.split("/")
    if len(steps) > 2 and steps[1] == "readings" and steps[2].isdigit():  # noqa: PLR2004 - /readings/0/value
        return fields[int(steps[2])]
    return steps[-1]


def _places(check: Check) -> tuple[str | None, ...]:
    return check.places or (None,)


def _name(rank: int, number: int) -> str:
    return f"reading-{rank}-{number}"


def _units_of(check: Check) -> tuple[CheckUnit, ...]:
    return LENGTHS if check.unit is CheckUnit.MM else TORQUES


def _usual(check: Check, units: Units) -> CheckUnit:
    return _units_of(check)[1 if units is Units.US else 0]
