"""Assess a kit from a file."""

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
from service.kits.assessment import Assessment
from service.kits.kit import AssessmentRequest
from service.kits.plain import in_full
from service.settings import get_settings

commands = typer.Typer()

_REQUEST = TypeAdapter(AssessmentRequest)
_ASSESSMENT = TypeAdapter(Assessment)


@commands.command()
def assess(
    file: Annotated[Path, typer.Argument(help="A question as JSON; - for standard input.")],
    *,
    json: Annotated[bool, typer.Option("--json", help="Print the answer for machines.")] = False,
) -> None:
    """Answer one question about one kit."""
    text = sys.stdin.buffer.read() if file == Path("-") else file.read_bytes()
    question = read_request(_REQUEST, text)
    database = Database.open(get_settings().database_url, pool_size=1)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        answer = open_assessor(database, pool.map).answer(question)
    database.close()
    if json:
        typer.echo(answer.body)
    else:
        typer.echo(in_full(_ASSESSMENT.validate_json(answer.body)))
