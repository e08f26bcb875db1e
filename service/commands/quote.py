"""Quotes: begun, listed, shown, declared, issued, written as PDF."""

import json as json_text
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer
from pydantic import TypeAdapter

from service.access.keys import THIS_MACHINE
from service.app import open_assessor
from service.bodies import parse_json, read_request
from service.commands.files import format_of
from service.database import Database
from service.errors import FieldProblem, InvalidInput
from service.kits.store import load_assessment
from service.quotes.api import keeping
from service.quotes.api.desk import Desk
from service.quotes.content import QuoteContent
from service.quotes.document import Copy
from service.quotes.lists import QuoteFilter
from service.quotes.plain import in_full, listed
from service.quotes.quote import Move, QuoteState
from service.quotes.schemas import QuoteOut
from service.quotes.store.prices import PRICE_LISTS
from service.quotes.store.quotes import every_quote, find_quotes, load_quote
from service.quotes.store.revisions import load_revision, sha256
from service.quotes.tabulated import bill_table, price_list_table, quotes_table
from service.settings import get_settings
from service.table_files import TableFormat, write_table
from service.tabular import Table

commands = typer.Typer()
quotes = typer.Typer(help="Quotes at this machine's desk.")
commands.add_typer(quotes, name="quote")

MOST_LISTED = 200
_CONTENT = TypeAdapter(QuoteContent)
_QUOTE = TypeAdapter(QuoteOut)

QuoteNumber = Annotated[int, typer.Argument(help="Number of the quote.", min=1)]
By = Annotated[str, typer.Option(help="Who does it; remembered in the history.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print it for machines.")]
InState = Annotated[QuoteState | None, typer.Option(help="Only those that stand here.")]
OfReference = Annotated[str | None, typer.Option(help="A piece of the name they have for it.")]
WithPart = Annotated[str | None, typer.Option(help="Charges this SKU.")]
TableFile = Annotated[Path, typer.Argument(help="Its name ends in .csv or .xlsx.")]


@quotes.command()
def create(
    file: Annotated[
        Path | None,
        typer.Argument(help="An assessment, or its question, as JSON; - for standard input."),
    ] = None,
    *,
    by: By,
    customer: Annotated[str, typer.Option(help="Name of the customer.")],
    reference: Annotated[str, typer.Option(help="What the customer calls the matter.")],
    valid_until: Annotated[
        datetime, typer.Option(formats=["%Y-%m-%d"], help="Last day, where the shop is.")
    ],
    assessment: Annotated[
        str | None, typer.Option(help="Key of an assessment that was answered before.")
    ] = None,
    price_list: Annotated[str | None, typer.Option(help="Key of the price list.")] = None,
    json: AsJson = False,
) -> None:
    """Begin a quote for the kit of an assessment, at the prices of today."""
    with _desk() as (database, desk):
        document = {
            "customer": {"name": customer, "reference": reference},
            "question": _question(database, file, assessment),
            "valid_until": valid_until.date().isoformat(),
            "price_list": price_list,
        }
        content = read_request(_CONTENT, json_text.dumps(document).encode())
        with database.writing() as session:
            _print(keeping.add_draft(session, desk, content, desk.deed(Move.CREATE, by)), json=json)


@quotes.command("list")
def list_quotes(
    state: InState = None, reference: OfReference = None, part: WithPart = None
) -> None:
    """List quotes, the newest first."""
    wanted = QuoteFilter(state=state, customer_reference=reference, part=part)
    with _desk() as (database, _), database.reading() as session:
        for line in listed(find_quotes(session, wanted, limit=MOST_LISTED)):
            typer.echo(line)


@quotes.command()
def show(number: QuoteNumber, *, json: AsJson = False) -> None:
    """Show one quote with every line of its bill."""
    with _desk() as (database, desk), database.reading() as session:
        _print(keeping.quote_out(session, desk, load_quote(session, number)), json=json)


@quotes.command()
def declare(
    number: QuoteNumber,
    *,
    by: By,
    name: Annotated[str, typer.Option(help="Of the customer who says so.")],
    words: Annotated[str, typer.Option(help="What `show` prints, word for word.")],
) -> None:
    """Record that the customer acknowledged the use, word for word."""
    with _desk() as (database, desk), database.writing() as session:
        quote = load_quote(session, number, lock=True)
        _print(keeping.declare(session, desk, quote, by=by, name=name, text=words), json=False)


@quotes.command("issue")
def issue_quote(
    number: QuoteNumber,
    *,
    by: By,
    override_reason: Annotated[
        str | None, typer.Option(help="Why it is quoted although the fit check blocks it.")
    ] = None,
    json: AsJson = False,
) -> None:
    """Assess the kit anew and freeze the quote as its next revision."""
    with _desk() as (database, desk):
        assessed = keeping.assess_draft(database, desk, number)
        with database.writing() as session:
            quote = load_quote(session, number, lock=True)
            answer, act = assessed.answer_about(quote), desk.deed(Move.ISSUE, by)
            given = keeping.issue(
                session, desk, quote, answer, act, override_reason=override_reason
            )
            _print(given, json=json)


@quotes.command("pdf")
def write_pdf(
    number: QuoteNumber,
    file: Annotated[Path, typer.Argument(help="Where to write it.")],
    *,
    copy: Annotated[Copy, typer.Option(help="Whose copy.")] = Copy.CUSTOMER,
    revision: Annotated[int | None, typer.Option(help="Unsaid: the newest one.", min=1)] = None,
) -> None:
    """Write a copy of an issued revision, byte for byte as it was issued."""
    with _desk() as (database, _), database.reading() as session:
        quote = load_quote(session, number)
        kept = load_revision(session, number, revision or quote.revision)
    content = kept.customer_pdf if copy is Copy.CUSTOMER else kept.shop_pdf
    file.write_bytes(content)
    typer.echo(f"{file}: quote {number}, revision {kept.number}, SHA-256 {sha256(content)}")


@quotes.command("export")
def export_quotes(
    file: TableFile,
    state: InState = None,
    reference: OfReference = None,
    part: WithPart = None,
) -> None:
    """Write quotes to a file for a spreadsheet program, the newest first."""
    wanted = QuoteFilter(state=state, customer_reference=reference, part=part)
    with _desk() as (database, _), database.reading() as session:
        _write(quotes_table(every_quote(session, wanted)), file)


@quotes.command("export-bill")
def export_bill(number: QuoteNumber, file: TableFile) -> None:
    """Write every line of one quote to a file for a spreadsheet program."""
    with _desk() as (database, desk), database.reading() as session:
        quote = keeping.quote_out(session, desk, load_quote(session, number))
        _write(bill_table(quote.bill), file)


@quotes.command("export-prices")
def export_prices(
    key: Annotated[str, typer.Argument(help="Key of the price list.")], file: TableFile
) -> None:
    """Write a price list, with costs, to a file for a spreadsheet program."""
    with _desk() as (database, _), database.reading() as session:
        _write(price_list_table(PRICE_LISTS.load(session, key).value), file)


def _write(table: Table, file: Path) -> None:
    file_format = format_of(file, TableFormat)
    with file.open("wb") as opened:
        write_table(table, file_format, opened)


def _question(database: Database, file: Path | None, key: str | None) -> Any:  # noqa: ANN401 - JSON.
    """Return the question that a file or a kept answer holds."""
    if (file is None) is (key is None):
        detail = "Name a file or an assessment, and not both."
        raise InvalidInput(FieldProblem(pointer="file", code="missing", detail=detail))
    if key is not None:
        with database.reading() as session:
            document = parse_json(load_assessment(session, key))
    else:
        text = sys.stdin.buffer.read() if file in (None, Path("-")) else file.read_bytes()
        document = parse_json(text)
    is_answer = isinstance(document, dict) and "request" in document
    return document["request"] if is_answer else document


@contextmanager
def _desk() -> Iterator[tuple[Database, Desk]]:
    settings = get_settings()
    with (
        closing(Database.open(settings.database_url, pool_size=2)) as database,
        ThreadPoolExecutor(os.cpu_count()) as pool,
    ):
        desk = Desk(
            assessor=open_assessor(database, pool.map),
            shop_name=settings.shop_name,
            time_zone=settings.time_zone,
            caller=THIS_MACHINE,
        )
        yield database, desk


def _print(quote: QuoteOut, *, json: bool) -> None:
    if json:
        typer.echo(_QUOTE.dump_json(quote))
        return
    for line in in_full(quote):
        typer.echo(line)
