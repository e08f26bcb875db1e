"""Work sheets and readings: added and read, never changed."""

from collections.abc import Sequence
from datetime import datetime

from pydantic import TypeAdapter
from sqlmodel import Session, col, func, select

from service.install.checks import CheckUnit, Judgement
from service.install.schemas import ReadingOut, WorkSheetOut
from service.install.sheet import WorkSheet, WorkSheetNotFound
from service.install.tables import WorkSheetReadingRow, WorkSheetRow

_SHEET = TypeAdapter(WorkSheet)


def add_work_sheet(session: Session, sheet: WorkSheet, *, by: str, at: datetime) -> WorkSheetOut:
    """Keep a sheet for good."""
    row = WorkSheetRow(
        assessment=sheet.inputs.assessment,
        made_at=at,
        made_by=by,
        sheet=_SHEET.dump_json(sheet),
    )
    session.add(row)
    session.flush()
    return _out(row)


def load_work_sheet(session: Session, sheet_id: int) -> WorkSheetOut:
    """Return a sheet, or raise `WorkSheetNotFound`."""
    row = session.get(WorkSheetRow, sheet_id)
    if row is None:
        raise WorkSheetNotFound(sheet_id)
    return _out(row)


def find_work_sheets(session: Session, *, before: int | None, limit: int) -> list[WorkSheetOut]:
    """Return the sheets before a number, the newest first."""
    statement = select(WorkSheetRow).order_by(col(WorkSheetRow.id).desc()).limit(limit)
    if before is not None:
        statement = statement.where(col(WorkSheetRow.id) < before)
    return [_out(row) for row in session.exec(statement)]


def add_readings(session: Session, sheet_id: int, readings: Sequence[ReadingOut]) -> None:
    """Add readings after those that are there; their numbers are given here."""
    # Whoever adds to a sheet waits for the one before: the sheet's row is locked.
    statement = select(WorkSheetRow.id).where(WorkSheetRow.id == sheet_id).with_for_update()
    session.exec(statement).one()
    counted = select(func.count()).where(col(WorkSheetReadingRow.work_sheet_id) == sheet_id)
    first = session.exec(counted).one() + 1
    session.add_all(
        WorkSheetReadingRow(
            work_sheet_id=sheet_id,
            number=number,
            check=one.check,
            place=one.place,
            value=one.value,
            unit=one.unit.value,
            outcome=None if one.outcome is None else one.outcome.value,
            by=one.by,
            at=one.at,
            note=one.note,
        )
        for number, one in enumerate(readings, start=first)
    )
    session.flush()


def find_readings(session: Session, sheet_id: int) -> list[ReadingOut]:
    """Return every reading of a sheet in the order in which they were entered."""
    statement = select(WorkSheetReadingRow).where(WorkSheetReadingRow.work_sheet_id == sheet_id)
    return [
        ReadingOut(
            number=row.number,
            check=row.check,
            place=row.place,
            value=row.value,
            unit=CheckUnit(row.unit),
            outcome=None if row.outcome is None else Judgement(row.outcome),
            by=row.by,
            at=row.at,
            note=row.note,
        )
        for row in session.exec(statement.order_by(col(WorkSheetReadingRow.number)))
    ]


def _out(row: WorkSheetRow) -> WorkSheetOut:
    return WorkSheetOut(
        id=row.id or 0,
        made_at=row.made_at,
        made_by=row.made_by,
        sheet=_SHEET.validate_json(row.sheet),
    )
