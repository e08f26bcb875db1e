"""Work sheets at the desk: made from the page of a kit, printed, and filled in without a script."""

from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import TypeAdapter

from service.bodies import read_document
from service.catalog.slots import KIT_SLOTS
from service.conditional import ValidatorsDep
from service.database import Database, ReadSessionDep, SessionDep
from service.errors import FieldProblem
from service.install.api import (
    SheetId,
    create_readings,
    create_work_sheet,
    entered_readings,
    list_readings,
    printed_sheet,
    read_work_sheet_pdf,
    sheet_of,
)
from service.install.figures import Units
from service.install.readings_block import newest_of
from service.install.schemas import ReadingsIn, WorkSheetIn
from service.install.store import find_work_sheets, load_work_sheet
from service.jobs.api import LARGEST_ID
from service.pages.api.asking import about, answered, assessed, attempt
from service.pages.api.forms import KEY, FormDep, SentDep, done_once, new_key
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page
from service.pages.complaints import complaint
from service.pages.question import KEPT, Address, kit_question
from service.pages.reading_form import at_readings, reading_fields, readings_of

ADDRESS = "/desk/sheets"
ON_A_PAGE = 25
ASKED = {*KEPT, *(slot.value for slot in KIT_SLOTS), "tier"}
"""Fields that say which kit is meant."""

router = APIRouter(prefix=ADDRESS, include_in_schema=False, route_class=PageRoute)

_SHEET_IN = TypeAdapter(WorkSheetIn)
_READINGS_IN = TypeAdapter(ReadingsIn)


@router.get("")
def show_sheets(request: Request, session: ReadSessionDep) -> HTMLResponse:
    """Show the work sheets that were made, the newest first."""
    address = dict(request.query_params)
    before = address.get("before", "")
    last = min(int(before), LARGEST_ID) if before.isascii() and before.isdigit() else None
    found = find_work_sheets(session, before=last, limit=ON_A_PAGE + 1)
    more = str(found[ON_A_PAGE - 1].id) if len(found) > ON_A_PAGE else None
    return page("sheets.html", address, sheets=found[:ON_A_PAGE], more=more)


@router.get("/new")
def showask_for_sheet(request: Request) -> HTMLResponse:
    """Ask what has to be known before the sheet of the address's kit is made."""
    return ask_for_sheet(request, dict(request.query_params))


@router.post("/new")
def create(request: Request, form: FormDep, sent: SentDep) -> Response:
    """Make the sheet; where it cannot be made, the page says why and asks again."""

    def ask() -> Response:
        key = answered(request, kit_question(form)).key
        body = read_document(_SHEET_IN, {"assessment": key, "by": form.get("by", "").strip()})
        sheet = sheet_of(request.app.state.database, request.app.state.assessor, body)

        def work(session: SessionDep) -> str:
            made = create_work_sheet((sheet, body.by), session, Response())
            return f"{ADDRESS}/{made.id}?units={form.get('units', 'us')}"

        return done_once(request, sent, work)

    done, problems = attempt(ask)
    return done or ask_for_sheet(request, form, problems)


@router.get("/{sheet_id}")
def show_sheet(request: Request, sheet_id: SheetId, session: ReadSessionDep) -> HTMLResponse:
    """Show one sheet, to be read or printed, with fields for what was measured."""
    return _shown(session, sheet_id, dict(request.query_params))


@router.get("/{sheet_id}/sheet.pdf")
def read_pdf(
    request: Request, sheet_id: SheetId, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return the printed sheet."""
    units = _units(dict(request.query_params))
    return read_work_sheet_pdf(sheet_id, session, validators, units)


@router.post("/{sheet_id}/readings")
def enter(request: Request, sheet_id: SheetId, form: FormDep, sent: SentDep) -> Response:
    """Keep what was measured; a value past its limit is kept and flagged."""
    fields: list[str] = []

    def work(session: SessionDep) -> str:
        checks = load_work_sheet(session, sheet_id).sheet.checks
        document, named = readings_of(checks, form)
        fields.extend(named)
        create_readings(sheet_id, read_document(_READINGS_IN, document), session)
        return f"{ADDRESS}/{sheet_id}?units={form.get('units', 'us')}#readings"

    done, problems = attempt(lambda: done_once(request, sent, work))
    if done is not None:
        return done
    database: Database = request.app.state.database
    with database.reading() as session:
        return _shown(session, sheet_id, form, at_readings(problems, fields))


def kit_of_form(form: Address) -> dict[str, str]:
    """Return what a form says of the kit."""
    return {name: text for name, text in form.items() if name in ASKED and text}


def ask_for_sheet(
    request: Request, form: Address, problems: tuple[FieldProblem, ...] = ()
) -> HTMLResponse:
    """Ask who makes the sheet, and what stands in its way."""
    answer: dict[str, Any] = assessed(request, kit_question(form))
    return page(
        "sheet_new.html",
        form,
        problems,
        about=about(request, form),
        form=form,
        kit=kit_of_form(form),
        wrong=_wrong(problems),
        questions=_by_part(answer["jurisdiction_note"]["safety_questions"]),
        blocking=[one for one in answer["fit"] if one["severity"] == "blocks"],
        key=form.get(KEY) or new_key(),
    )


def _by_part(questions: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    asked: dict[str, list[dict[str, Any]]] = {}
    for one in questions:
        asked.setdefault(one["sku"], []).append(one)
    return asked


def _shown(
    session: ReadSessionDep,
    sheet_id: int,
    form: Address,
    problems: tuple[FieldProblem, ...] = (),
) -> HTMLResponse:
    units = _units(form)
    found = load_work_sheet(session, sheet_id)
    return page(
        "sheet.html",
        {"units": units.value},
        problems,
        sheet=printed_sheet(session, sheet_id, units),
        number=sheet_id,
        checks=reading_fields(
            found.sheet.checks, newest_of(entered_readings(session, sheet_id)), units
        ),
        told=list_readings(sheet_id, session),
        titles={check.key: check.title for check in found.sheet.checks},
        form=form,
        wrong=_wrong(problems),
        key=new_key(),
    )


def _units(address: Address) -> Units:
    return Units.SI if address.get("units") == Units.SI else Units.US


def _wrong(problems: tuple[FieldProblem, ...]) -> dict[str, str]:
    return {each.pointer.rpartition("/")[2]: complaint(each) for each in problems}
