"""Answer requests."""

from contextlib import closing
from ipaddress import ip_address
from typing import Annotated

import typer
import uvicorn
from fastapi import FastAPI

from service.access.store import find_access_keys
from service.app import create_app
from service.database import Database
from service.errors import RuleBroken
from service.schema import schema_is_current
from service.settings import Settings, get_settings

SHUTDOWN_S = 5
"""A stream of events keeps a connection open; without a limit it would keep the process."""
WORKER_SILENCE_S = 30
"""A worker that compiles the physics at its start does not answer its parent for a while."""

commands = typer.Typer()


@commands.command()
def serve(
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.")] = 8000,
    workers: Annotated[int, typer.Option(help="Processes; one or two on SQLite.")] = 1,
) -> None:
    """Answer requests until stopped."""
    if not _is_this_machine(host):
        _require_keys(get_settings())
    uvicorn.run(
        "service.commands.serving:served_app",
        factory=True,
        host=host,
        port=port,
        workers=workers,
        server_header=False,
        timeout_graceful_shutdown=SHUTDOWN_S,
        timeout_worker_healthcheck=WORKER_SILENCE_S,
    )


def _require_keys(settings: Settings) -> None:
    """Raise unless other machines would be asked for a key, and signed for with a secret."""
    if settings.environment == "development":
        raise ServesOthersInDevelopment
    with closing(Database.open(settings.database_url, pool_size=1)) as database:
        if not schema_is_current(database.engine):
            raise TablesAreOld
        with database.reading() as session:
            if all(each.revoked_at for each in find_access_keys(session)):
                raise ServesOthersWithoutKeys


class ServesOthersInDevelopment(RuleBroken):
    """The known secret of development would be served to other machines."""

    def __init__(self) -> None:
        super().__init__(
            "In development only this machine is answered. Set KITWRIGHT_ENVIRONMENT to "
            "production, and KITWRIGHT_SECRET."
        )


class TablesAreOld(RuleBroken):
    """The tables are not those of this version."""

    def __init__(self) -> None:
        super().__init__("The tables are not those of this version; run `kitwright migrate`.")


class ServesOthersWithoutKeys(RuleBroken):
    """Costs and margins would be shown to whoever reaches the service."""

    def __init__(self) -> None:
        super().__init__(
            "Other machines are answered only where keys are asked for. Make the first one: "
            "kitwright key create --name NAME --scope desk."
        )


def served_app() -> FastAPI:
    """Build the application in a worker process."""
    return create_app(get_settings())


def _is_this_machine(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
