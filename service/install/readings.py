"""Readings that are entered back: each judged by its check, none changed afterwards."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from service.errors import FieldProblem, InvalidInput
from service.install.checks import Check, Judgement, in_units_of, is_judged, judged
from service.install.schemas import ReadingIn, ReadingOut, ReadingsIn, ReadingsOut
from service.install.sheet import WorkSheet


def judged_readings(sheet: WorkSheet, body: ReadingsIn, at: datetime) -> list[ReadingOut]:
    """Return the readings of a body with what is said of them, or everything that is wrong."""
    checks = {check.key: check for check in sheet.checks}
    problems = [
        problem
        for rank, one in enumerate(body.readings)
        if (problem := _problem(checks, one, f"/readings/{rank}"))
    ]
    if problems:
        raise InvalidInput(*problems)
    return [
        ReadingOut(
            number=0,
            check=one.check,
            place=one.place,
            value=one.value,
            unit=one.unit,
            outcome=_outcome(checks[one.check], one),
            by=body.by,
            at=at,
            note=body.note,
        )
        for one in body.readings
    ]


def _outcome(check: Check, one: ReadingIn) -> Judgement | None:
    value = in_units_of(check, one.value, one.unit)
    return judged(check, value) if value is not None and is_judged(check) else None


def _problem(checks: dict[str, Check], one: ReadingIn, at: str) -> FieldProblem | None:
    check = checks.get(one.check)
    if check is None:
        detail = f"The sheet has no reading {one.check!r}; it has {', '.join(checks)}."
        return FieldProblem(pointer=f"{at}/check", code="not_on_sheet", detail=detail)
    if one.place is not None and one.place not in check.places:
        known = ", ".join(check.places) or "none: it is read once"
        detail = f"{check.title} has no place {one.place!r}; its places are {known}."
        return FieldProblem(pointer=f"{at}/place", code="not_on_sheet", detail=detail)
    if in_units_of(check, one.value, one.unit) is None:
        detail = f"{check.title} is measured in {check.unit.value}, not in {one.unit.value}."
        return FieldProblem(pointer=f"{at}/unit", code="not_on_sheet", detail=detail)
    return None


def readings_out(sheet: WorkSheet, entered: Sequence[ReadingOut]) -> ReadingsOut:
    """Return every reading, which checks are out of range, and which are not complete."""
    newest = {(one.check, one.place): one for one in entered}
    out = [one.check for one in newest.values() if one.outcome is Judgement.OUT_OF_RANGE]
    return ReadingsOut(
        readings=tuple(entered),
        out_of_range=tuple(dict.fromkeys(out)),
        missing=tuple(check.key for check in sheet.checks if not _complete(check, newest)),
    )


def _complete(check: Check, newest: Iterable[tuple[str, str | None]]) -> bool:
    read = {place for key, place in newest if key == check.key}
    return None in read or (bool(check.places) and read >= set(check.places))
