"""Files of the shop for people: the API's own, under addresses that a page's key opens."""

from fastapi import APIRouter, Response

from service.compliance.api import files
from service.compliance.documents import DocumentNumber
from service.conditional import Validators
from service.database import ReadSessionDep
from service.exchange import api as exchange
from service.exchange.report import FileFormat, Kind
from service.pages.api.page_route import PageRoute

router = APIRouter(prefix="/shop", include_in_schema=False, route_class=PageRoute)


@router.get("/export/{kind}.{file_format}")
def download_catalogue(kind: Kind, file_format: FileFormat, session: ReadSessionDep) -> Response:
    """Return everything of one kind as a file."""
    return exchange.read_export(kind, file_format, session, Validators(Response(), ""))


@router.get("/papers/{number:path}/copy")
def download_copy(number: DocumentNumber, session: ReadSessionDep) -> Response:
    """Return the copy of a paper as it was sent."""
    return files.read_document_file(number, session, Validators(Response(), ""))
