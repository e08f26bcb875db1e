"""Keep copies of papers that lie in a folder beside their records."""

from contextlib import closing
from pathlib import Path
from typing import Annotated
from urllib.parse import unquote

import typer

from service.compliance.documents import DocumentNotFound
from service.compliance.files import DocumentFile, FileRefused, FileType, document_file
from service.compliance.store import attach_file
from service.database import Database
from service.errors import RuleBroken
from service.settings import get_settings

commands = typer.Typer()

_TYPES = {
    ".pdf": FileType.PDF,
    ".png": FileType.PNG,
    ".jpg": FileType.JPEG,
    ".jpeg": FileType.JPEG,
}


class CopiesRefused(RuleBroken):
    """At least one file is no copy of a paper on record, so none was kept."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join((*problems, "No copy was kept.")))


@commands.command()
def attach_copies(
    folder: Annotated[
        Path,
        typer.Argument(
            help="Files named after the numbers of their papers, such as NUMBER.pdf; "
            "a stroke in a number is written %2F.",
            exists=True,
            file_okay=False,
        ),
    ],
) -> None:
    """Keep every file of a folder as the copy of the paper that it is named after, or none."""
    problems: list[str] = []
    files = sorted(file for file in folder.iterdir() if file.is_file())
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.writing() as session,
    ):
        for file in files:
            try:
                attach_file(session, unquote(file.stem), _read(file), lambda version: version)
            except (DocumentNotFound, FileRefused) as error:
                problems.append(f"{file}: {error.message}")
        if problems:
            raise CopiesRefused(problems)
    typer.echo(f"{len(files)} copies kept")


def _read(file: Path) -> DocumentFile:
    media_type = _TYPES.get(file.suffix.lower())
    if media_type is None:
        raise FileRefused("unknown_type", f"The name has to end in one of {', '.join(_TYPES)}.")
    return document_file(file.read_bytes(), media_type)
