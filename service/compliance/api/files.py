"""Copies of papers over HTTP."""

from dataclasses import dataclass
from email.message import Message
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Request, Response

from service.bodies import ApiRoute
from service.compliance.documents import DocumentNumber
from service.compliance.files import MAX_FILE_BYTES, DocumentFile, FileType, document_file
from service.compliance.schemas import DocumentOut, document_out
from service.compliance.store import attach_file, load_copy, load_document_file
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.problems import problem_responses
from service.quantities import SHA256_HEX

router = APIRouter(prefix="/v1", tags=["compliance"], route_class=ApiRoute)

Sha256 = Annotated[str, SHA256_HEX]
COPIES = "/v1/document-copies"
"""Beside the papers, whose numbers may be any path."""
_BINARY = {"schema": {"type": "string", "format": "binary"}}
_CONTENT = {media_type.value: _BINARY for media_type in FileType}


@dataclass(frozen=True, slots=True)
class SentCopy:
    """A file as it was sent."""

    file: DocumentFile


async def read_sent_copy(request: Request) -> SentCopy:
    """Read the body; Content-Type says how it is written."""
    header = Message()
    header["content-type"] = request.headers.get("content-type", "")
    sent = header.get_content_type()
    if "content-type" not in request.headers or sent not in _CONTENT:
        accept = ", ".join(_CONTENT)
        raise HTTPException(415, f"Send the file as one of {accept}.", headers={"Accept": accept})
    return SentCopy(document_file(await request.body(), FileType(sent)))


@router.put(
    "/documents/{number:path}/file",
    responses=problem_responses(404, 412, 413, 415, 422, 428),
    max_body_size=MAX_FILE_BYTES,
    openapi_extra={"requestBody": {"required": True, "content": _CONTENT}},
)
def update_document_file(
    number: DocumentNumber,
    sent: Annotated[SentCopy, Depends(read_sent_copy)],
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> DocumentOut:
    """Keep a copy of a paper beside its record: PDF, PNG or JPEG of at most 10 MB."""
    stored = attach_file(session, number, sent.file, expected.require)
    response.headers["ETag"] = version_etag(stored.version)
    return document_out(stored)


_COPY: dict[int | str, dict[str, Any]] = {
    200: {"description": "The copy, byte by byte", "content": _CONTENT},
    **problem_responses(404, 422),
}


@router.get("/documents/{number:path}/file", response_class=Response, responses=_COPY)
def read_document_file(
    number: DocumentNumber, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return the copy of a paper as it was sent; its ETag is its SHA-256."""
    return _sent(load_document_file(session, number), validators)


@router.get("/document-copies/{sha256}", response_class=Response, responses=_COPY)
def read_document_copy(
    sha256: Sha256, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return the copy with this SHA-256, also once its paper has a newer one.

    What an issued quote names in its `documents` is found here for good.
    """
    return _sent(load_copy(session, sha256), validators)


def _sent(copy: DocumentFile, validators: ValidatorsDep) -> Response:
    validators.send(f'"{copy.sha256}"')
    suffix = copy.media_type.value.rpartition("/")[2]
    headers = {
        "ETag": f'"{copy.sha256}"',
        "Content-Disposition": f'attachment; filename="{copy.sha256[:16]}.{suffix}"',
    }
    return Response(copy.content, media_type=copy.media_type.value, headers=headers)
