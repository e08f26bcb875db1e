"""Files of the catalogue over HTTP."""

from dataclasses import dataclass
from email.message import Message
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Query, Request, Response
from fastapi.encoders import jsonable_encoder
from fastapi.responses import JSONResponse

from service.bodies import OnceRoute
from service.conditional import ValidatorsDep, content_etag
from service.database import ReadSessionDep, SessionDep
from service.exchange.batch import refused_lines
from service.exchange.report import FileFormat, ImportReport, Kind
from service.exchange.schemas import read_file, write_file
from service.exchange.store import find_values, import_rows
from service.problem_kinds import KIND_BY_SLUG
from service.problems import MEDIA_TYPE, Problem, problem_responses
from service.refused.store import add_refusals
from service.revision import load_catalog_revision

MAX_IMPORT_BYTES = 50_000_000
"""Room for the most rows that a file may hold, at 2.5 kB each."""

MEDIA_TYPES = {FileFormat.CSV: "text/csv", FileFormat.JSON_LINES: "application/x-ndjson"}

router = APIRouter(prefix="/v1", tags=["catalogue"], route_class=OnceRoute)

_TEXT = {"schema": {"type": "string"}}
_FILE_CONTENT = dict.fromkeys(MEDIA_TYPES.values(), _TEXT)
_REFUSAL: dict[int | str, dict[str, Any]] = {
    422: {
        "description": "At least one line cannot be taken; no line was",
        "content": {
            MEDIA_TYPE: {
                "schema": {
                    "allOf": [
                        {"$ref": "#/components/schemas/Problem"},
                        {
                            "type": "object",
                            "required": ["report"],
                            "properties": {"report": {"$ref": "#/components/schemas/ImportReport"}},
                        },
                    ]
                }
            }
        },
    }
}


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file as it was sent."""

    content: bytes
    file_format: FileFormat


async def read_sent_file(request: Request) -> SentFile:
    """Read the body; Content-Type says how it is written."""
    header = Message()
    header["content-type"] = request.headers.get("content-type", "")
    for file_format, media_type in MEDIA_TYPES.items():
        if "content-type" in request.headers and header.get_content_type() == media_type:
            return SentFile(await request.body(), file_format)
    accepted = " or ".join(MEDIA_TYPES.values())
    raise HTTPException(
        415, f"Send the file as {accepted}.", headers={"Accept": ", ".join(MEDIA_TYPES.values())}
    )


@router.post(
    "/imports",
    response_model=ImportReport,
    responses={**problem_responses(413, 415), **_REFUSAL},
    max_body_size=MAX_IMPORT_BYTES,
    openapi_extra={"requestBody": {"required": True, "content": _FILE_CONTENT}},
)
def create_import(
    file: Annotated[SentFile, Depends(read_sent_file)],
    session: SessionDep,
    request: Request,
    kind: Annotated[
        Kind | None, Query(description="Of every row; needed unless each line names its own.")
    ] = None,
    dry_run: Annotated[bool, Query(description="Check everything, keep nothing.")] = False,  # noqa: FBT002 - A query parameter.
) -> ImportReport | Response:
    """Write a whole file, or nothing of it.

    A row whose key is in the catalogue replaces what is there; a row that says the same
    as what is there leaves it and its version alone. Families, parts and rules of one file
    may name each other in any order.
    """
    rows = read_file(file.content, file.file_format, kind)
    report = import_rows(session, rows, dry_run=dry_run)
    if refused := refused_lines(report.problems):
        # Nothing else was written: the transaction keeps the record alone.
        add_refusals(session, request.method, request.url.path, refused)
    return report if not report.rejected else _refusal(report, request)


@router.get(
    "/exports/{kind}.{file_format}",
    response_class=Response,
    responses={
        200: {"description": "The file", "content": _FILE_CONTENT},
        **problem_responses(422),
    },
)
def read_export(
    kind: Kind, file_format: FileFormat, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return everything of one kind as a file that an import takes back unchanged."""
    validators.send(content_etag(kind, file_format, load_catalog_revision(session)))
    response = Response(
        write_file(kind, file_format, find_values(session, kind)),
        media_type=MEDIA_TYPES[file_format],
        headers=dict(validators.response.headers),
    )
    disposition = f'attachment; filename="{kind.value}.{file_format.value}"'
    response.headers["Content-Disposition"] = disposition
    return response


def _refusal(report: ImportReport, request: Request) -> Response:
    kind = KIND_BY_SLUG["invalid-input"]
    problem = Problem(
        type=kind.type_uri,
        title=kind.title,
        status=kind.status,
        detail=f"{report.rejected} lines cannot be taken, so none was; the report lists why.",
        instance=request.url.path,
        errors=[],
    )
    content = {**problem.model_dump(), "report": jsonable_encoder(report)}
    return JSONResponse(content, status_code=kind.status, media_type=MEDIA_TYPE)
