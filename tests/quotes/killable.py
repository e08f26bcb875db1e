"""A server of the whole application in a process of its own, there to be killed.

It is forked from a process that has built the application: a start takes a fraction of a
second instead of ten, so that there can be many.
"""

import asyncio
import multiprocessing
import os
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from multiprocessing.context import ForkServerProcess
from pathlib import Path
from random import Random

import uvicorn
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.settings import Settings
from tests.served import HOST, READY_WITHIN_S, is_ready

LONGEST_LIFE_S = 1.0
"""Of a server that is ready, until it is killed."""
ON_THE_WAY_S = 0.15
"""Every answer to a write."""

FORKED = multiprocessing.get_context("forkserver")
FORKED.set_forkserver_preload(["tests.quotes.prepared"])


def serve(url: str, port: int, log: Path) -> None:
    """Answer requests until the end, with the chores that are done beside them."""
    from tests.quotes.prepared import APP  # noqa: PLC0415 - Here alone it is built already.

    os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND), 2)
    APP.state.settings = Settings(_env_file=None, database_url=url, job_worker=True)
    slow = partial(answer_slowly, APP)
    config = uvicorn.Config(slow, host=HOST, port=port, log_level="warning", interface="asgi3")
    uvicorn.Server(config).run()


async def answer_slowly(app: ASGIApp, scope: Scope, receive: Receive, send: Send) -> None:
    """Have answers a while on their way: many are then lost after their work was done."""

    async def send_late(message: Message) -> None:
        if message["type"] == "http.response.start" and scope["method"] != "GET":
            await asyncio.sleep(ON_THE_WAY_S)
        await send(message)

    await app(scope, receive, send_late)


@dataclass
class Killable:
    """One server at one port; several may stand on one database."""

    url: str
    port: int
    log: Path
    process: ForkServerProcess | None = None

    def start(self) -> None:
        """Start it, and wait until it can work."""
        self.process = FORKED.Process(target=serve, args=(self.url, self.port, self.log))
        self.process.start()
        give_up = time.monotonic() + READY_WITHIN_S
        while not is_ready(self.port):
            assert time.monotonic() < give_up, self.log.read_text()
            self.require_alive()
            time.sleep(0.02)

    def kill(self) -> None:
        """End it with SIGKILL, which nothing can catch."""
        if self.process is not None:
            self.process.kill()
            self.process.join()

    def die_often(self, deaths: int, random: Random) -> None:
        """Kill it at random moments, and start it again each time."""
        for _ in range(deaths):
            time.sleep(random.uniform(0.0, LONGEST_LIFE_S))
            self.require_alive()
            self.kill()
            self.start()

    def require_alive(self) -> None:
        """Raise with what it said where it ended by itself."""
        assert self.process is not None
        assert self.process.is_alive(), self.log.read_text()


@contextmanager
def started(url: str, count: int, folder: Path) -> Iterator[list[Killable]]:
    """Run servers on one database."""
    servers = [Killable(url, _free_port(), folder / f"server-{place}") for place in range(count)]
    try:
        for server in servers:
            server.start()
        yield servers
    finally:
        for server in servers:
            server.kill()


def _free_port() -> int:
    with socket.socket() as one:
        one.bind((HOST, 0))
        port: int = one.getsockname()[1]
        return port
