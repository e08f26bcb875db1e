"""Make a work sheet from a file."""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from service.app import open_assessor
from service.bodies import parse_json, read_document
from service.database import Database
from service.install.api import sheet_of
from service.install.document import printed
from service.install.figures import Units
from service.install.pdf import work_sheet_pdf
from service.install.schemas import WorkSheetIn, WorkSheetOut
from service.install.store import add_work_sheet
from service.kits.kit import AssessmentRequest
from service.settings import get_settings

commands = typer.Typer()

_REQUEST = TypeAdapter(AssessmentRequest)
_ASKED = TypeAdapter(WorkSheetIn)
_SHEET = TypeAdapter(WorkSheetOut)


@commands.command()
def work_sheet(
    file: Annotated[Path, typer.Argument(help="A question as for `assess`; - for standard input.")],
    *,
    by: Annotated[str, typer.Option(help="Who asks for it.")],
    joints: Annotated[Path | None, typer.Option(help="Joints whose bolts are known, JSON.")] = None,
    pdf: Annotated[Path | None, typer.Option(help="Print it into this file.")] = None,
    units: Annotated[Units, typer.Option(help="Of lengths and forces on paper.")] = Units.US,
) -> None:
    """Make and keep the work sheet of a kit; print it as JSON, or into a PDF."""
    text = sys.stdin.buffer.read() if file == Path("-") else file.read_bytes()
    question = read_document(_REQUEST, parse_json(text))
    told = parse_json(joints.read_bytes()) if joints else []
    database = Database.open(get_settings().database_url, pool_size=1)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        assessor = open_assessor(database, pool.map)
        key = assessor.answer(question).key
        asked = read_document(_ASKED, {"assessment": key, "by": by, "joints": told})
        sheet = sheet_of(database, assessor, asked)
    with database.writing() as session:
        kept = add_work_sheet(session, sheet, by=by, at=datetime.now(UTC))
    database.close()
    if pdf is None:
        typer.echo(_SHEET.dump_json(kept, indent=2))
        return
    pdf.write_bytes(work_sheet_pdf(printed(kept.id, kept.sheet, (), units=units)))
    typer.echo(f"Work sheet {kept.id} is in {pdf}.")
