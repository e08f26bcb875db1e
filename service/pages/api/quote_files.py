"""Quotes and price lists as files, for the desk: the API's own, under addresses of pages."""

from fastapi import APIRouter, Request, Response

from service.compliance.api.files import Sha256, read_document_copy
from service.conditional import Validators, ValidatorsDep
from service.database import ReadSessionDep
from service.pages.api.page_route import PageRoute
from service.pages.api.quoting import wanted_quotes
from service.quantities import Key
from service.quotes.api import exports
from service.quotes.api.desk import DeskDep, QuoteId
from service.table_files import TableFormat

router = APIRouter(prefix="/desk", include_in_schema=False, route_class=PageRoute)


@router.get("/quotes/export.{file_format}")
def download_quotes(
    request: Request, file_format: TableFormat, session: ReadSessionDep
) -> Response:
    """Return the quotes that a search finds, all of them."""
    return exports.export_quotes(file_format, wanted_quotes(request), session)


@router.get("/quotes/{quote_id}/export.{file_format}")
def download_quote(
    quote_id: QuoteId, file_format: TableFormat, desk: DeskDep, session: ReadSessionDep
) -> Response:
    """Return every line of a quote."""
    return exports.export_quote(quote_id, file_format, desk, session)


@router.get("/copies/{sha256}")
def download_copy(sha256: Sha256, session: ReadSessionDep, validators: ValidatorsDep) -> Response:
    """Return the copy of a paper that an issued quote rests on."""
    return read_document_copy(sha256, session, validators)


@router.get("/price-lists/{key}/export.{file_format}")
def download_price_list(key: Key, file_format: TableFormat, session: ReadSessionDep) -> Response:
    """Return a price list."""
    return exports.export_price_list(key, file_format, session, Validators(Response(), ""))
