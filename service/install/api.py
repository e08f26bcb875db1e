"""Work sheets over HTTP: made from an assessment, printed, and filled in."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import TypeAdapter

from service.bodies import ApiRoute
from service.catalog.store.parts import find_family_supplies
from service.conditional import ValidatorsDep, content_etag
from service.database import Database, ReadSessionDep, SessionDep
from service.errors import FieldProblem, InvalidInput
from service.install.document import printed
from service.install.figures import Units
from service.install.pdf import work_sheet_page, work_sheet_pdf
from service.install.printed import Printed, Reading
from service.install.readings import judged_readings, readings_out
from service.install.schemas import ReadingsIn, ReadingsOut, WorkSheetIn, WorkSheetOut
from service.install.sheet import WorkSheet, work_sheet
from service.install.store import (
    add_readings,
    add_work_sheet,
    find_readings,
    find_work_sheets,
    load_work_sheet,
)
from service.jobs.api import LARGEST_ID
from service.kits.api import Assessor, look_up_kit
from service.kits.assessment import Assessment
from service.kits.store import find_assessment
from service.paging import Page, PagingDep
from service.problems import problem_responses

ADDRESS = "/v1/work-sheets"
PDF = "application/pdf"

router = APIRouter(prefix=ADDRESS, tags=["work sheets"], route_class=ApiRoute)

_ASSESSMENT = TypeAdapter(Assessment)

SheetId = Annotated[int, Path(ge=1, le=LARGEST_ID)]
UnitsQuery = Annotated[
    Units, Query(description="Of lengths and forces; torques stand in all three units.")
]


def sheet_of(database: Database, assessor: Assessor, asked: WorkSheetIn) -> WorkSheet:
    """Return the sheet for a kit that was assessed before, as the catalogue stands now.

    Call it with no transaction open: the kit may have to be assessed anew.
    """
    with database.reading() as session:
        body = find_assessment(session, asked.assessment)
    if body is None:
        detail = "No assessment has this key; assess the kit first."
        raise InvalidInput(FieldProblem(pointer="/assessment", code="unknown", detail=detail))
    question = _ASSESSMENT.validate_json(body).request
    answer = assessor.answer(question)
    assessment = _ASSESSMENT.validate_json(answer.body)
    with database.reading() as session:
        kit = look_up_kit(session, question)
        supplies = tuple(one.value for one in find_family_supplies(session, kit.family.key))
    return work_sheet(answer.key, assessment, kit, asked.joints, supplies)


def read_new_sheet(body: WorkSheetIn, request: Request) -> tuple[WorkSheet, str]:
    """Make the sheet before any transaction is open; with it comes who asks for it."""
    return sheet_of(request.app.state.database, request.app.state.assessor, body), body.by


NewSheetDep = Annotated[tuple[WorkSheet, str], Depends(read_new_sheet)]
"""The only one to ask for the body: asked for twice, it would be told twice what is wrong."""


@router.post("", status_code=201, responses=problem_responses(409, 415, 422, 503))
def create_work_sheet(made: NewSheetDep, session: SessionDep, response: Response) -> WorkSheetOut:
    """Make the work sheet of a kit that was assessed.

    None is made for a kit that does not go together, nor for a vessel whose flame control or
    ignition protection is not shown. What is not known is left blank.
    """
    sheet, by = made
    kept = add_work_sheet(session, sheet, by=by, at=datetime.now(UTC))
    response.headers["Location"] = f"{ADDRESS}/{kept.id}"
    return kept


@router.get("", responses=problem_responses(400, 422))
def list_work_sheets(
    session: ReadSessionDep, paging: PagingDep, response: Response
) -> Page[WorkSheetOut]:
    """Return the work sheets, the newest first."""
    response.headers["Cache-Control"] = "private, no-store"
    before = int(paging.after[0]) if paging.after else None
    found = find_work_sheets(session, before=before, limit=paging.fetch_count)
    return paging.page(found, lambda item: (item.id,))


@router.get("/{sheet_id}", responses=problem_responses(404, 422))
def read_work_sheet(
    sheet_id: SheetId, session: ReadSessionDep, validators: ValidatorsDep
) -> WorkSheetOut:
    """Return one work sheet as it was made."""
    found = load_work_sheet(session, sheet_id)
    validators.send(content_etag(sheet_id, found.made_at.isoformat()))
    return found


@router.get(
    "/{sheet_id}/page",
    response_class=HTMLResponse,
    responses=problem_responses(404, 422),
)
def read_work_sheet_page(
    sheet_id: SheetId, session: ReadSessionDep, units: UnitsQuery = Units.US
) -> HTMLResponse:
    """Return a work sheet as a page, with the readings that were entered."""
    headers = {"Cache-Control": "private, no-store"}
    return HTMLResponse(work_sheet_page(printed_sheet(session, sheet_id, units)), headers=headers)


@router.get(
    "/{sheet_id}/sheet.pdf",
    response_class=Response,
    responses={
        200: {
            "description": "The sheet",
            "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
        },
        **problem_responses(404, 422),
    },
)
def read_work_sheet_pdf(
    sheet_id: SheetId,
    session: ReadSessionDep,
    validators: ValidatorsDep,
    units: UnitsQuery = Units.US,
) -> Response:
    """Return a work sheet as a tagged PDF, with the readings that were entered."""
    content = work_sheet_pdf(printed_sheet(session, sheet_id, units))
    headers = validators.response.headers
    headers["Cache-Control"] = "private, no-store"
    headers["Content-Disposition"] = f'inline; filename="work-sheet-{sheet_id}.pdf"'
    validators.send(content_etag(content))
    return Response(content, media_type=PDF, headers=dict(headers))


@router.get("/{sheet_id}/readings", responses=problem_responses(404, 422))
def list_readings(sheet_id: SheetId, session: ReadSessionDep) -> ReadingsOut:
    """Return every value that was entered, what is out of range and what is missing."""
    found = load_work_sheet(session, sheet_id)
    return readings_out(found.sheet, find_readings(session, sheet_id))


@router.post("/{sheet_id}/readings", status_code=201, responses=problem_responses(404, 415, 422))
def create_readings(sheet_id: SheetId, body: ReadingsIn, session: SessionDep) -> ReadingsOut:
    """Enter values from the sheet; one past its reject value is kept and flagged.

    Nothing is ever changed: a mistake is mended by entering the value again.
    """
    found = load_work_sheet(session, sheet_id)
    add_readings(session, sheet_id, judged_readings(found.sheet, body, datetime.now(UTC)))
    return readings_out(found.sheet, find_readings(session, sheet_id))


def printed_sheet(session: ReadSessionDep, sheet_id: int, units: Units) -> Printed:
    """Return a sheet in words, with the readings that were entered."""
    found = load_work_sheet(session, sheet_id)
    return printed(sheet_id, found.sheet, entered_readings(session, sheet_id), units=units)


def entered_readings(session: ReadSessionDep, sheet_id: int) -> tuple[Reading, ...]:
    """Return the readings of a sheet as they are printed."""
    return tuple(
        Reading(
            check=one.check,
            place=one.place,
            value=one.value,
            unit=one.unit,
            outcome=one.outcome,
            by=one.by,
            at=one.at,
        )
        for one in find_readings(session, sheet_id)
    )
