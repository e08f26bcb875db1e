"""Keep the tables in step with the code."""

from pathlib import Path
from tempfile import TemporaryDirectory

import typer

from service.database import Database
from service.errors import Conflict
from service.schema import schema_difference, upgrade_schema
from service.settings import get_settings

commands = typer.Typer()


class TablesDiffer(Conflict):
    """The migrations do not lead to the tables that the code declares."""

    def __init__(self, difference: str) -> None:
        super().__init__(f"The migrations do not lead to the tables of the code. {difference}")


@commands.command()
def migrate() -> None:
    """Bring the tables of the database to the newest revision."""
    database = Database.open(get_settings().database_url, pool_size=1)
    upgrade_schema(database.engine)
    database.close()


@commands.command()
def check_schema() -> None:
    """Compare the migrations with the tables of the code, in a database made for it."""
    with TemporaryDirectory() as folder:
        database = Database.open(f"sqlite:///{Path(folder) / 'check.db'}", pool_size=1)
        upgrade_schema(database.engine)
        difference = schema_difference(database.engine)
        database.close()
    if difference:
        raise TablesDiffer(difference)
