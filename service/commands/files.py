"""Read files into the catalogue and write them out."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from service.database import Database
from service.errors import RuleBroken
from service.exchange.batch import refused_lines
from service.exchange.files import Row
from service.exchange.report import FileFormat, ImportReport, Kind, LineProblem
from service.exchange.schemas import read_file, write_file
from service.exchange.store import find_values, import_rows
from service.refused.store import add_refusals
from service.settings import get_settings

commands = typer.Typer()

F = TypeVar("F", bound=StrEnum)


class FormatUnknown(RuleBroken):
    """The end of a file's name does not say how it is written."""

    def __init__(self, file: Path, formats: Iterable[str]) -> None:
        endings = " or ".join(f".{each}" for each in formats)
        super().__init__(f"The name {file.name!r} has to end in {endings}.")


class FileUnreadable(RuleBroken):
    """A file cannot be opened."""

    def __init__(self, file: Path, reason: str) -> None:
        super().__init__(f"{file} cannot be opened: {reason}.")


class ImportRefused(RuleBroken):
    """At least one line cannot be taken, so none was."""

    def __init__(self, report: ImportReport) -> None:
        super().__init__(f"{report.rejected} lines cannot be taken, so none was.")


@commands.command("import")
def import_files(
    files: Annotated[list[Path], typer.Argument(help="Read as one, in any order.")],
    kind: Annotated[
        Kind | None, typer.Option(help="Of every row; not needed where lines name their own.")
    ] = None,
    dry_run: Annotated[  # noqa: FBT002 - A flag of the command line.
        bool, typer.Option("--dry-run", help="Check everything, keep nothing.")
    ] = False,
) -> None:
    """Write whole files into the catalogue, or nothing of them."""
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.writing() as session,
    ):
        report = import_rows(session, _rows(files, kind), dry_run=dry_run)
        if refused := refused_lines(report.problems):
            add_refusals(session, "command", "kitwright import", refused)
    if report.rejected:
        _list_problems(report)
        raise ImportRefused(report)
    would = "would be " if dry_run else ""
    typer.echo(
        f"{report.created} {would}created, {report.updated} {would}updated, "
        f"{report.unchanged} unchanged"
    )


@commands.command("export")
def export_file(
    kind: Annotated[Kind, typer.Argument(help="What to write out.")],
    file: Annotated[Path, typer.Argument(help="Its name ends in .csv or .jsonl.")],
) -> None:
    """Write everything of one kind to a file that an import takes back unchanged."""
    file_format = format_of(file, FileFormat)
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.reading() as session,
    ):
        content = write_file(kind, file_format, find_values(session, kind))
    file.write_bytes(content)


def _rows(files: Sequence[Path], kind: Kind | None) -> Iterator[Row | LineProblem]:
    for file in files:
        file_format = format_of(file, FileFormat)
        try:
            content = file.read_bytes()
        except OSError as error:
            raise FileUnreadable(file, error.strerror or "unknown reason") from error
        for row in read_file(content, file_format, kind):
            yield replace(row, file=str(file))


def format_of(file: Path, formats: type[F]) -> F:
    """Return how a file is written, by the end of its name."""
    try:
        return formats(file.suffix.removeprefix(".").lower())
    except ValueError as error:
        raise FormatUnknown(file, formats) from error


def _list_problems(report: ImportReport) -> None:
    for problem in report.problems:
        place = f"{problem.file}:{problem.row}: {problem.column or problem.pointer}"
        shown = "" if problem.value is None else f" ({problem.value})"
        typer.echo(f"{place}: {problem.detail}{shown} [{problem.code}]", err=True)
    unlisted = report.problem_count - len(report.problems)
    if unlisted:
        typer.echo(f"{unlisted} more problems are not listed.", err=True)
