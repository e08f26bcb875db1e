"""The whole service on a free port of this machine, with the demo catalogue in a file."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from threading import Thread

import uvicorn
from fastapi import FastAPI

from service.compliance.files import FileType, document_file
from service.compliance.store import attach_file
from service.database import Database
from service.exchange.report import FileFormat
from service.exchange.schemas import read_file
from service.exchange.store import import_rows
from tests.seed import FILES, SEED

HOST = "127.0.0.1"
READY_WITHIN_S = 180
"""On a new machine the physics is compiled first."""


def fill(database: Database) -> None:
    """Import the demo catalogue into migrated tables, with the copies of its papers."""
    with database.writing() as session:
        content = b"".join((SEED / f"{name}.jsonl").read_bytes() for name in FILES)
        report = import_rows(
            session, read_file(content, FileFormat.JSON_LINES, None), dry_run=False
        )
        for file in sorted((SEED / "copies").iterdir()):
            copy = document_file(file.read_bytes(), FileType.PDF)
            attach_file(session, file.stem, copy, lambda version: version)
    assert report.rejected == 0


def sqlite_url(path: Path) -> str:
    return f"sqlite:///{path}"


def tcp_listener() -> socket.socket:
    """Bind a free port.

    The protocol is named because asyncio sends small packets at once only where it is; an
    answer in two packets would wait 40 ms for the other side's delayed acknowledgement.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.bind((HOST, 0))
    return listener


@contextmanager
def served(app: FastAPI) -> Iterator[int]:
    """Run an application for as long as it is needed; gives the port."""
    with tcp_listener() as listener:
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
        thread = Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        port: int = listener.getsockname()[1]
        try:
            wait_until_ready(port)
            yield port
        finally:
            server.should_exit = True
            thread.join()


def wait_until_ready(port: int) -> None:
    deadline = time.monotonic() + READY_WITHIN_S
    while not is_ready(port):
        assert time.monotonic() < deadline, "the service does not get ready"
        time.sleep(0.1)


def is_ready(port: int) -> bool:
    connection = HTTPConnection(HOST, port, timeout=READY_WITHIN_S)
    try:
        connection.request("GET", "/readyz")
        return connection.getresponse().status == HTTPStatus.OK
    except ConnectionError:
        return False
    finally:
        connection.close()
