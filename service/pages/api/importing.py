"""A file taken into the catalogue in two steps: first what it would do, then that.

The checked lines travel with the report, packed, and come back with the second step, so
that nothing is kept for somebody who goes away in between. The second step checks them
again: the catalogue may have changed.
"""

import base64
import binascii
import gzip
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import UploadFile

from service.database import Database
from service.errors import FieldProblem, InvalidInput
from service.exchange.api import MAX_IMPORT_BYTES
from service.exchange.batch import refused_lines
from service.exchange.report import FileFormat, ImportReport, Kind
from service.exchange.schemas import read_file
from service.exchange.store import import_rows
from service.pages.api.asking import attempt
from service.pages.api.page_route import PageRoute
from service.pages.api.rendering import page
from service.refused.store import add_refusals

KINDS = (
    ("", "each line says it (JSON Lines)"),
    (Kind.PARTS.value, "parts"),
    (Kind.FAMILIES.value, "engine families"),
    (Kind.RULES.value, "shop rules"),
    (Kind.DOCUMENTS.value, "papers"),
)
GZIP = 16
"""What tells zlib to look for a header of gzip (its manual, inflateInit2)."""
FORMATS = ((FileFormat.CSV.value, "CSV"), (FileFormat.JSON_LINES.value, "JSON Lines"))

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@dataclass(frozen=True, slots=True, kw_only=True)
class SentFile:
    """What was chosen or typed, and what was said of it."""

    content: bytes
    fields: Mapping[str, str]

    @property
    def file_format(self) -> FileFormat:
        """How it is written; a line that begins as an object does says so itself."""
        if self.content.lstrip().startswith(b"{"):
            return FileFormat.JSON_LINES
        return FileFormat(self.fields["file_format"])

    @property
    def kind(self) -> Kind | None:
        """What its lines are; nothing: each says it."""
        return Kind(self.fields["kind"]) if self.fields.get("kind") else None


async def read_sent_file(request: Request) -> SentFile:
    """Read the form: a file, lines that were typed, or the packed lines of a report."""
    async with request.form(max_part_size=MAX_IMPORT_BYTES) as form:
        fields = {name: value for name, value in form.multi_items() if isinstance(value, str)}
        chosen = form.get("file")
        if isinstance(chosen, UploadFile) and chosen.filename:
            # The ending says it better than a list that nobody looked at.
            for file_format in FileFormat:
                if chosen.filename.lower().endswith(f".{file_format.value}"):
                    fields["file_format"] = file_format.value
            return SentFile(content=await chosen.read(), fields=fields)
    packed = fields.get("packed")
    content = fields.get("lines", "").encode() if packed is None else _unpacked(packed)
    return SentFile(content=content, fields=fields)


SentFileDep = Annotated[SentFile, Depends(read_sent_file)]


@router.get("/import")
def show_import(request: Request) -> HTMLResponse:
    """Ask for a file."""
    return _answered(request, {})


@router.post("/import", max_body_size=MAX_IMPORT_BYTES)
def submit_check(request: Request, sent: SentFileDep) -> HTMLResponse:
    """Say what a file would do; nothing is changed."""
    return _report(request, sent, dry_run=True)


@router.post("/import/take", max_body_size=MAX_IMPORT_BYTES)
def submit_import(request: Request, sent: SentFileDep) -> HTMLResponse:
    """Take a file in: all of its lines, or none."""
    return _report(request, sent, dry_run=False)


def _report(request: Request, sent: SentFile, *, dry_run: bool) -> HTMLResponse:
    report, problems = attempt(lambda: _imported(request, sent, dry_run=dry_run))
    if report is None:
        return _answered(request, sent.fields, problems)
    packed = base64.b64encode(gzip.compress(sent.content)).decode() if dry_run else ""
    status = 422 if report.rejected else 200
    return _answered(request, sent.fields, report=report, packed=packed, status=status)


def _imported(request: Request, sent: SentFile, *, dry_run: bool) -> ImportReport:
    if not sent.content.strip():
        detail = "Choose a file, or type its lines."
        raise InvalidInput(FieldProblem(pointer="/file", code="missing", detail=detail))
    try:
        rows = read_file(sent.content, sent.file_format, sent.kind)
    except (KeyError, ValueError) as error:
        detail = "Say what its lines are and how it is written by one of the words offered."
        raise InvalidInput(FieldProblem(pointer="/kind", code="enum", detail=detail)) from error
    database: Database = request.app.state.database
    with database.writing() as session:
        report = import_rows(session, rows, dry_run=dry_run)
        if refused := refused_lines(report.problems):
            add_refusals(session, request.method, request.url.path, refused)
        return report


def _answered(
    request: Request,
    fields: Mapping[str, str],
    problems: tuple[FieldProblem, ...] = (),
    *,
    report: ImportReport | None = None,
    packed: str = "",
    status: int | None = None,
) -> HTMLResponse:
    return page(
        "import.html",
        dict(request.query_params),
        problems,
        status=status,
        fields=fields,
        kinds=KINDS,
        formats=FORMATS,
        report=report,
        packed=packed,
        exports=KINDS[1:],
    )


def _unpacked(packed: str) -> bytes:
    """Return packed lines, never more than a file may hold."""
    unpacking = zlib.decompressobj(zlib.MAX_WBITS | GZIP)
    try:
        content = unpacking.decompress(base64.b64decode(packed), MAX_IMPORT_BYTES)
    except (binascii.Error, zlib.error):
        content = b""
    return content if unpacking.eof else b""
