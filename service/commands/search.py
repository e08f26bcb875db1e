"""Search the catalogue for the best kits."""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from service.app import open_assessor
from service.bodies import read_request
from service.database import Database
from service.searches.answer import Search
from service.searches.api.keeping import confirm_here, keep_search
from service.searches.api.searcher import Searcher
from service.searches.plain import in_full
from service.searches.question import SearchRequest
from service.settings import get_settings

commands = typer.Typer()

_REQUEST = TypeAdapter(SearchRequest)
_SEARCH = TypeAdapter(Search)


@commands.command()
def search(
    file: Annotated[Path, typer.Argument(help="A search as JSON; - for standard input.")],
    *,
    json: Annotated[bool, typer.Option("--json", help="Print the answer for machines.")] = False,
) -> None:
    """Rank every kit of a family that keeps the limits, and keep the search."""
    text = sys.stdin.buffer.read() if file == Path("-") else file.read_bytes()
    asked = read_request(_REQUEST, text)
    database = Database.open(get_settings().database_url, pool_size=2)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        assessor = open_assessor(database, pool.map)
        kept = Searcher.beside(assessor).answer(asked)
        confirm_here(assessor, kept)
        found = keep_search(database, kept)
    database.close()
    typer.echo(_SEARCH.dump_json(found) if json else in_full(found))
