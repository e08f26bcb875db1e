"""Compare two kits from files."""

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from service.app import open_assessor
from service.bodies import read_request
from service.comparisons.api import compared
from service.comparisons.figures import Comparison
from service.comparisons.plain import as_table
from service.comparisons.question import comparison_of
from service.database import Database
from service.kits.kit import AssessmentRequest
from service.settings import get_settings

commands = typer.Typer()

_REQUEST = TypeAdapter(AssessmentRequest)
_COMPARISON = TypeAdapter(Comparison)


@commands.command()
def compare(
    a: Annotated[Path, typer.Argument(help="A question as for `assess`; - for standard input.")],
    b: Annotated[Path, typer.Argument(help="Another, on the same family.")],
    *,
    json: Annotated[bool, typer.Option("--json", help="Print the answer for machines.")] = False,
) -> None:
    """Say whether kit B is really better than kit A, and by how much."""
    question = comparison_of(_read(a), _read(b))
    database = Database.open(get_settings().database_url, pool_size=1)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        answer = compared(open_assessor(database, pool.map), question)
    database.close()
    typer.echo(answer.body if json else as_table(_COMPARISON.validate_json(answer.body)))


def _read(file: Path) -> AssessmentRequest:
    text = sys.stdin.buffer.read() if file == Path("-") else file.read_bytes()
    return read_request(_REQUEST, text)
