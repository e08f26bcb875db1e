"""In which order the bolts of a kit are tightened, and what each still holds."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.install.api import sheet_of
from service.install.joint_block import joint_drawing
from service.install.joints import JointSheet
from service.install.schemas import WorkSheetIn
from service.install.sheet import WorkSheet
from service.pages.api.asking import about, answered
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import csv_file, page
from service.pages.question import Address, kit_question
from service.pages.words import UnitSystem, plain, unit_system
from service.tabular import Column, Table, number_column

router = APIRouter(prefix="/desk", include_in_schema=False, route_class=PageRoute)


@router.get("/kit/bolts")
def show_bolts(request: Request) -> HTMLResponse:
    """Show every joint that the kit opens, as its work sheet draws it."""
    address = dict(request.query_params)
    units = unit_system(address.get("units"))
    sheet = _sheet(request, address)
    joints = [
        (one.name, one, joint_drawing(one, one.name).inline()) for one in sheet.joints if one.places
    ]
    return page(
        "bolts.html",
        address,
        about=about(request, address),
        cautions=sheet.cautions,
        joints=[(name, one, drawn, _table((one,), units)) for name, one, drawn in joints],
    )


@router.get("/kit/bolts.csv")
def download_bolts(request: Request) -> Response:
    """Return the bolts of every joint as a file."""
    address = dict(request.query_params)
    sheet = _sheet(request, address)
    return csv_file(_table(sheet.joints, unit_system(address.get("units"))), "bolts.csv")


def _sheet(request: Request, address: Address) -> WorkSheet:
    key = answered(request, kit_question(address)).key
    asked = WorkSheetIn(assessment=key, by="Desk")
    return sheet_of(request.app.state.database, request.app.state.assessor, asked)


def _table(joints: tuple[JointSheet, ...], units: UnitSystem) -> Table:
    return Table(
        columns=(
            Column(name="joint"),
            number_column("turn"),
            number_column(f"along the crank, {units.length}"),
            number_column(f"across it, {units.length}"),
            number_column("preload left, %"),
        ),
        rows=tuple(
            (
                plain(joint.slot.value),
                str(turn),
                _written(place.along_mm, units),
                _written(place.across_mm, units),
                f"{100 * left:.0f}",
            )
            for joint in joints
            for turn, (place, left) in enumerate(
                zip(joint.places, joint.left_after_full, strict=True), 1
            )
        ),
    )


def _written(length_mm: float, units: UnitSystem) -> str:
    return f"{length_mm:g}" if units.key == "si" else f"{units.length_of(length_mm):.2f}"
