"""Answer requests."""

from ipaddress import ip_address
from typing import Annotated

import typer
import uvicorn
from fastapi import FastAPI

from service.app import create_app
from service.errors import RuleBroken
from service.settings import get_settings

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
    if get_settings().environment == "development" and not _is_this_machine(host):
        raise ServesOthersInDevelopment
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


class ServesOthersInDevelopment(RuleBroken):
    """The known secret of development would be served to other machines."""

    def __init__(self) -> None:
        super().__init__(
            "In development only this machine is answered. Set KITWRIGHT_ENVIRONMENT to "
            "production, and KITWRIGHT_SECRET."
        )


def served_app() -> FastAPI:
    """Build the application in a worker process."""
    return create_app(get_settings())


def _is_this_machine(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
