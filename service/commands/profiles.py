"""Say which rows of the jurisdiction profiles count on a day, and until when."""

from datetime import UTC, datetime
from typing import Annotated

import typer

from service.compliance.days import FRESH_FOR_DAYS
from service.compliance.jurisdictions import profiles_on
from service.compliance.profiles.store import find_profile_versions

commands = typer.Typer()


@commands.command()
def check_profiles(
    on: Annotated[
        datetime | None,
        typer.Option(formats=["%Y-%m-%d"], help="Day to ask about; unsaid: today."),
    ] = None,
) -> None:
    """List what is not confirmed in each profile, and the day on which more will be."""
    day = (on or datetime.now(UTC)).date()
    typer.echo(f"On {day}; a row counts for {FRESH_FOR_DAYS} days after it was checked.")
    for profile in profiles_on(find_profile_versions(), day).values():
        stale = profile.next_stale_on(day)
        until = "nothing counts" if stale is None else f"next row goes stale on {stale}"
        typer.echo(f"{profile.key}, version {profile.version} of {profile.issued_on}: {until}")
        for row in profile.rows:
            reason = row.doubt(day)
            if reason:
                typer.echo(f"  {row.citation}: {reason}")
