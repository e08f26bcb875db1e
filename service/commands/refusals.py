"""List what was refused for what it asks."""

from contextlib import closing
from datetime import UTC, datetime
from typing import Annotated

import typer

from service.database import Database
from service.errors import RequestRefused
from service.refusals import RefusedField
from service.refused.refusal import RefusedPurpose
from service.refused.store import add_refusals, find_refusals
from service.settings import get_settings

commands = typer.Typer()


def note_refused(name: str, error: RequestRefused) -> None:
    """Record that a command was refused for what its file asks."""
    refused = [each for each in error.problems if isinstance(each, RefusedField)]
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.writing() as session,
    ):
        add_refusals(session, "command", f"kitwright {name}", refused)


@commands.command("refusals")
def list_refused(
    since: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], help="First day, in UTC; unsaid: from the beginning."),
    ] = None,
    purpose: Annotated[
        RefusedPurpose | None, typer.Option(help="Only what asked for this.")
    ] = None,
) -> None:
    """List the requests that were refused for what they ask, the latest first."""
    start = None if since is None else since.replace(tzinfo=UTC)
    with (
        closing(Database.open(get_settings().database_url, pool_size=1)) as database,
        database.reading() as session,
    ):
        found = find_refusals(session, purpose=purpose, since=start)
    for each in found:
        typer.echo(
            f"{each.number}  {each.at:%Y-%m-%d %H:%M:%SZ}  {each.purpose.value}  "
            f"{each.method} {each.path}  at {each.place or 'the whole'}: {each.words}"
        )
    typer.echo(f"{len(found)} refused")
