"""Keys of callers: made, listed, revoked."""

from contextlib import closing
from typing import Annotated

import typer
from pydantic import TypeAdapter, ValidationError

from service.access.keys import AccessKey, Scope
from service.access.store import add_access_key, find_access_keys, revoke_access_key
from service.database import Database
from service.errors import FieldProblem, InvalidInput
from service.quantities import Key
from service.settings import get_settings

commands = typer.Typer()
keys = typer.Typer(help="Keys of callers; from the first one on, nobody is answered without.")
commands.add_typer(keys, name="key")

_NAME: TypeAdapter[str] = TypeAdapter(Key)
WIDTHS = "{:<24} {:<24} {:<11} {:<11} {}"


@keys.command()
def create(
    name: Annotated[str, typer.Option(help="Who will use it; remembered in histories.")],
    scope: Annotated[list[Scope], typer.Option(help="What it opens; may be given again.")],
) -> None:
    """Make a key and show it, this once."""
    try:
        _NAME.validate_python(name)
    except ValidationError as error:
        detail = "A name has 1 to 40 letters, digits, dots, dashes or underscores."
        raise InvalidInput(FieldProblem(pointer="name", code="name", detail=detail)) from error
    with closing(_database()) as database, database.writing() as session:
        text = add_access_key(session, name, scope)
    typer.echo(text)
    typer.echo("It is not shown again. Send it as `Authorization: Bearer`, then the key.", err=True)


@keys.command("list")
def list_keys() -> None:
    """List the keys with what they open and the day of their last use; never their text."""
    with closing(_database()) as database, database.reading() as session:
        found = find_access_keys(session)
    typer.echo(WIDTHS.format("name", "scopes", "made", "last used", "").rstrip())
    for each in found:
        typer.echo(_line(each))


@keys.command()
def revoke(name: Annotated[str, typer.Argument(help="Name of the key.")]) -> None:
    """Let a key open nothing any more; a service that runs knows within five seconds."""
    with closing(_database()) as database, database.writing() as session:
        revoke_access_key(session, name)
    typer.echo(f"{name} opens nothing any more.")


def _line(key: AccessKey) -> str:
    used = "never" if key.last_used_on is None else f"{key.last_used_on}"
    ended = "" if key.revoked_at is None else f"revoked {key.revoked_at:%Y-%m-%d}"
    made = f"{key.created_at:%Y-%m-%d}"
    return WIDTHS.format(key.name, ", ".join(key.scopes), made, used, ended).rstrip()


def _database() -> Database:
    return Database.open(get_settings().database_url, pool_size=1)
