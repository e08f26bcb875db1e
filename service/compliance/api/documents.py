"""Documents over HTTP."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query, Response
from pydantic import TypeAdapter

from service.bodies import ApiRoute, MergePatchBody, patched
from service.compliance.documents import Document, DocumentNumber, DocumentStatus
from service.compliance.schemas import DocumentOut, document_out
from service.compliance.store import add_document, find_documents, load_document, save_document
from service.conditional import ExpectedVersionDep, ValidatorsDep, version_etag
from service.database import ReadSessionDep, SessionDep
from service.paging import Page, PagingDep
from service.problems import problem_responses
from service.quantities import Name

router = APIRouter(prefix="/v1/documents", tags=["compliance"], route_class=ApiRoute)

_DOCUMENT = TypeAdapter(Document)


@router.post("", status_code=201, responses=problem_responses(409, 415, 422))
def create_document(body: Document, session: SessionDep, response: Response) -> DocumentOut:
    """Put a paper on file; that it is on file says nothing about what may be done."""
    stored = add_document(session, body)
    response.headers["Location"] = f"{router.prefix}/{quote(body.number)}"
    response.headers["ETag"] = version_etag(stored.version)
    return document_out(stored)


@router.get("", responses=problem_responses(400, 422))
def list_documents(
    session: ReadSessionDep,
    paging: PagingDep,
    part_reference: Annotated[
        Name | None, Query(description="A line of its scope names this maker's reference.")
    ] = None,
    status: Annotated[DocumentStatus | None, Query(description="Has this status.")] = None,
) -> Page[DocumentOut]:
    """Return the papers on file, by number."""
    found = find_documents(
        session,
        part_reference=part_reference,
        status=status,
        after=str(paging.after[0]) if paging.after else None,
        limit=paging.fetch_count,
    )
    return paging.page([document_out(stored) for stored in found], lambda item: (item.number,))


# The number is taken as a path, because printed numbers may hold a stroke.
@router.get("/{number:path}", responses=problem_responses(404, 422))
def read_document(
    number: DocumentNumber, session: ReadSessionDep, validators: ValidatorsDep
) -> DocumentOut:
    """Return one paper."""
    stored = load_document(session, number)
    validators.send(version_etag(stored.version))
    return document_out(stored)


@router.patch("/{number:path}", responses=problem_responses(404, 412, 415, 422, 428))
def update_document(
    number: DocumentNumber,
    body: MergePatchBody,
    session: SessionDep,
    expected: ExpectedVersionDep,
    response: Response,
) -> DocumentOut:
    """Change some fields of a paper; the number stays."""
    current = load_document(session, number)
    version = expected.require(current.version)
    document = patched(_DOCUMENT, current.value, body, key="number")
    stored = save_document(session, document, version=version)
    response.headers["ETag"] = version_etag(stored.version)
    return document_out(stored)
