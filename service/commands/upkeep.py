"""Copy a database, put a copy back, look a database over."""

from collections.abc import Callable, Iterator
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from service.compliance.store import copy_problems
from service.database import Database, ReadSessionDep
from service.errors import Conflict
from service.quotes.store.shown import copy_problems_of_quotes, shown_problems
from service.quotes.store.soundness import (
    history_problems,
    reading_problems,
    revision_problems,
    standing_problems,
)
from service.schema import knows_revision, rebuild_schema, schema_is_current
from service.settings import get_settings
from service.upkeep.archive import read_manifest
from service.upkeep.backup import BackupUnreadable, Manifest
from service.upkeep.store.integrity import (
    file_problems,
    guard_problems,
    orphan_problems,
    why_file_is_not_read,
)
from service.upkeep.store.snapshot import fill_tables, require_empty, write_backup

commands = typer.Typer()

CHECKS: dict[str, Callable[[ReadSessionDep], Iterator[str]]] = {
    "the file of the database": file_problems,
    "rows that point nowhere": orphan_problems,
    "guards of what never changes": guard_problems,
    "digests and totals of issued quotes": revision_problems,
    "history of quotes": history_problems,
    "where quotes stand": standing_problems,
    "quotes and prices that can be read": reading_problems,
    "what is shown and found of quotes": shown_problems,
    "copies of papers": copy_problems,
    "copies that quotes rest on": copy_problems_of_quotes,
}
NOT_LOOKED_AT: dict[str, Callable[[ReadSessionDep], str]] = {
    "the file of the database": why_file_is_not_read
}
"""Says why a check sees nothing; empty where it looks."""


class NotSound(Conflict):
    """Something in the database is not as it was written."""

    def __init__(self, count: int) -> None:
        super().__init__(
            f"{count} things are wrong. Stop the service, keep this database as it is, and "
            "restore the last backup into a new one."
        )


class TablesMissing(Conflict):
    """The tables are not those of this version."""

    def __init__(self) -> None:
        super().__init__("The tables are not those of this version; run `kitwright migrate`.")


@commands.command()
def backup(file: Annotated[Path, typer.Argument(help="A new file.")]) -> None:
    """Copy everything in the database into one file, while others go on writing.

    The file holds one moment of the data, is read back and compared before it gets its
    name, and is put back by `restore` on SQLite and PostgreSQL alike. Keep it where few can
    read it: it holds customers, prices and secrets.
    """
    with closing(_opened()) as database, database.reading() as session:
        typer.echo(f"{_told(write_backup(session, file))} written to {file}")


@commands.command()
def restore(
    file: Annotated[Path, typer.Argument(help="Written by `backup`.")],
    replace: Annotated[  # noqa: FBT002 - A flag of the command line.
        bool, typer.Option("--replace", help="Delete everything that is in the database first.")
    ] = False,
) -> None:
    """Put a copy back into an empty database, compare it, and bring its tables up to date.

    All of it or nothing: whatever goes wrong, the database is as it was.
    """
    manifest = read_manifest(file)
    if not knows_revision(manifest.schema_revision):
        raise BackupUnreadable(file, "it was made by a later version of the service")
    with closing(_opened()) as database:
        rebuild_schema(
            database.engine,
            manifest.schema_revision,
            look=(lambda _: None) if replace else require_empty,
            fill=partial(fill_tables, file=file, manifest=manifest),
        )
    typer.echo(f"{_told(manifest)} restored and compared")


@commands.command()
def doctor() -> None:
    """Look the database over: file, rows that point nowhere, digests, totals, histories."""
    with closing(_opened()) as database:
        if not schema_is_current(database.engine):
            raise TablesMissing
        count = 0
        for name, find in CHECKS.items():
            with database.reading() as session:
                unseen = NOT_LOOKED_AT[name](session) if name in NOT_LOOKED_AT else ""
                found = list(find(session))
            sound = f"not looked at: {unseen}" if unseen else "sound"
            typer.echo(f"{name}: {f'{len(found)} wrong' if found else sound}")
            for problem in found:
                typer.echo(f"  {problem}")
            count += len(found)
    if count:
        raise NotSound(count)


def _opened() -> Database:
    return Database.open(get_settings().database_url, pool_size=1)


def _told(manifest: Manifest) -> str:
    return (
        f"{manifest.row_count} rows of {len(manifest.tables)} tables "
        f"(revision {manifest.schema_revision}, {manifest.made_at:%Y-%m-%d %H:%M:%S} UTC)"
    )
