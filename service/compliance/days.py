"""Which days can be told of on a day, and for how long what was seen then counts."""

from datetime import date, timedelta

from service.errors import FieldProblem

FRESH_FOR_DAYS = 180
"""A row or a paper checked longer ago than this is not confirmed (the project's own rule)."""

TEST_COUNTS_FOR_DAYS = 30
"""A device test older than this does not count where nobody says when the parts were fitted: it
may be of the vehicle before them (the project's own rule; no source)."""


def is_to_come(day: date, today: date) -> bool:
    """Return whether a day has begun nowhere on earth on this day of UTC."""
    return day > today + timedelta(days=1)


def to_come(pointer: str, day: date | None, today: date) -> list[FieldProblem]:
    """Return what is wrong with a day that tells of something past."""
    if day is None or not is_to_come(day, today):
        return []
    detail = f"{day.isoformat()} is yet to come; today is {today.isoformat()} (UTC)."
    return [FieldProblem(pointer=pointer, code="yet_to_come", detail=detail)]
