"""Quotes and price lists as files for spreadsheet programs.

They lie below the addresses of what they show, so that the same scope opens both.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from os import SEEK_END
from tempfile import TemporaryFile
from typing import IO, Any

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse

from service.bodies import ApiRoute
from service.conditional import ValidatorsDep, content_etag
from service.database import ReadSessionDep
from service.problems import problem_responses
from service.quantities import Key
from service.quotes.api.desk import DeskDep, QuoteId
from service.quotes.api.keeping import quote_out
from service.quotes.api.quotes import QuoteFilterDep
from service.quotes.store.prices import PRICE_LISTS
from service.quotes.store.quotes import every_quote, load_quote
from service.quotes.tabulated import bill_table, price_list_table, quotes_table
from service.table_files import TableFormat, write_table
from service.tabular import Table

MEDIA_TYPES = {
    TableFormat.CSV: "text/csv",
    TableFormat.XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
SENT_BYTES = 65_536
_BINARY = {"schema": {"type": "string", "format": "binary"}}
_FILE: dict[int | str, dict[str, Any]] = {
    200: {"description": "The file", "content": dict.fromkeys(MEDIA_TYPES.values(), _BINARY)}
}

_FOUND = {**_FILE, **problem_responses(404, 422)}

router = APIRouter(prefix="/v1", tags=["quotes"], route_class=ApiRoute)


@router.get(
    "/quotes/export.{file_format}",
    response_class=Response,
    responses={**_FILE, **problem_responses(422)},
)
def export_quotes(
    file_format: TableFormat, wanted: QuoteFilterDep, session: ReadSessionDep
) -> Response:
    """Return the quotes that pass every filter given as a file, the newest first."""
    return attached(quotes_table(every_quote(session, wanted)), file_format, "quotes")


@router.get(
    "/quotes/{quote_id}/export.{file_format}",
    response_class=Response,
    responses=_FOUND,
)
def export_quote(
    quote_id: QuoteId, file_format: TableFormat, desk: DeskDep, session: ReadSessionDep
) -> Response:
    """Return every line of a quote's bill and their total as a file."""
    quote = quote_out(session, desk, load_quote(session, quote_id))
    return attached(bill_table(quote.bill), file_format, f"quote-{quote_id}")


@router.get(
    "/price-lists/{key}/export.{file_format}",
    response_class=Response,
    responses=_FOUND,
)
def export_price_list(
    key: Key, file_format: TableFormat, session: ReadSessionDep, validators: ValidatorsDep
) -> Response:
    """Return a price list as a file, with what its items cost the shop."""
    stored = PRICE_LISTS.load(session, key)
    validators.response.headers["Cache-Control"] = "private, no-store"
    validators.send(content_etag(key, file_format, stored.version))
    sent = attached(price_list_table(stored.value), file_format, f"price-list-{key}")
    sent.headers["ETag"] = validators.response.headers["ETag"]
    return sent


def attached(table: Table, file_format: TableFormat, name: str) -> Response:
    """Return a table as a file to be kept.

    It is whole before it is sent: who reads slowly holds no state of the database, and what
    goes wrong in the last row still has a status to tell it.
    """
    with ExitStack() as failing:
        file = failing.enter_context(TemporaryFile())
        write_table(table, file_format, file)
        failing.pop_all()
    headers = {
        "Content-Disposition": f'attachment; filename="{name}.{file_format.value}"',
        "Content-Length": str(file.seek(0, SEEK_END)),
        "Cache-Control": "private, no-store",
    }
    return StreamingResponse(_pieces(file), media_type=MEDIA_TYPES[file_format], headers=headers)


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while piece := file.read(SENT_BYTES):
            yield piece
