"""The command `kitwright`: it knows which modules of `service.commands` there are."""

import sys

import typer

from service.commands import (
    assess,
    compare,
    copies,
    demo,
    document,
    files,
    keys,
    profiles,
    quote,
    refusals,
    schema,
    search,
    serving,
    simulate,
    surfaces,
    upkeep,
    work,
    work_sheet,
)
from service.errors import RequestRefused, ServiceError

MODULES = [
    demo,
    assess,
    compare,
    search,
    simulate,
    serving,
    work,
    work_sheet,
    surfaces,
    schema,
    files,
    copies,
    profiles,
    quote,
    refusals,
    upkeep,
    document,
    keys,
]

app = typer.Typer(
    help="Airflow kits for pushrod engines.",
    no_args_is_help=True,
    add_completion=False,
    # A stack trace with its variables would show secrets.
    pretty_exceptions_show_locals=False,
)
for module in MODULES:
    app.add_typer(module.commands)


def main() -> None:
    """Run one command; what the caller can mend is told in one line."""
    try:
        app()
    except RequestRefused as error:
        typer.echo(error.message, err=True)
        refusals.note_refused(sys.argv[1], error)
        sys.exit(1)
    except ServiceError as error:
        typer.echo(error.message, err=True)
        sys.exit(1)
