"""Answers over HTTP, cached and not.

The first figure is a share, so that the machine cancels: the same worker process answers
a cached question and echoes a body of the size of that answer, in turns.
"""

import json
import multiprocessing
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import Request, Response

from service.app import create_app
from service.settings import Settings
from tests.bench.figures import REPEATS, migrated, spread, timed_ms
from tests.seed import MODIFIED_TWIN, QUAY_BIG
from tests.served import HOST, fill, sqlite_url, tcp_listener, wait_until_ready

CONNECTIONS = 4
ROUNDS = 7
ROUND_S = 1.5
QUESTION: dict[str, Any] = {
    "family": QUAY_BIG,
    "parts": {"intake_manifold": MODIFIED_TWIN},
    "use": "road",
    "place": "us-ca",
    "model_year": 1997,
}


async def echo(request: Request) -> Response:
    """Send back what came: what the same stack costs without any work."""
    return Response(await request.body(), media_type="application/json")


def serve(url: str, listener: socket.socket) -> None:
    """One worker: the application of the service, with the echo beside its routes."""
    app = create_app(Settings(_env_file=None, database_url=url))
    app.add_api_route("/echo", echo, methods=["POST"])
    uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False)).run([listener])


@contextmanager
def worker(folder: Path) -> Iterator[int]:
    """Run one worker process on a filled database."""
    url = sqlite_url(folder / "served.db")
    database = migrated(url)
    fill(database)
    database.close()
    with worker_on(url) as port:
        yield port


@contextmanager
def worker_on(url: str) -> Iterator[int]:
    """Run one worker process on a database."""
    with tcp_listener() as listener:
        process = multiprocessing.get_context("fork").Process(target=serve, args=(url, listener))
        process.start()
        port: int = listener.getsockname()[1]
        try:
            wait_until_ready(port)
            yield port
        finally:
            process.terminate()
            process.join()


def http_figures(folder: Path) -> dict[str, Any]:
    with worker(folder) as port:
        answer = post(port, QUESTION)
        ask = request_bytes("/v1/assessments", json.dumps(QUESTION).encode())
        same_size = request_bytes("/echo", answer)
        rate(port, ask)
        rate(port, same_size)
        cached, echoed = [], []
        for _ in range(ROUNDS):
            cached.append(rate(port, ask))
            echoed.append(rate(port, same_size))
        others = [at_pressure(99.0 - 0.1 * place) for place in range(1, REPEATS + 1)]
        uncached = [timed_ms(partial(post, port, other)) for other in others]
    shares = [a / b for a, b in zip(cached, echoed, strict=True)]
    return {
        "answer_bytes": len(answer),
        "connections": CONNECTIONS,
        "cached_assessments_per_s": spread(cached),
        "echoes_of_that_size_per_s": spread(echoed),
        "cached_share_of_echo": spread(shares),
        "uncached_post_ms": spread(uncached),
    }


def at_pressure(pressure_kpa: float) -> dict[str, Any]:
    """The question in other weather, which nobody asked before."""
    return {**QUESTION, "weather": {"pressure_kpa": pressure_kpa}}


def post(port: int, question: dict[str, Any]) -> bytes:
    connection = HTTPConnection(HOST, port)
    body = json.dumps(question)
    connection.request("POST", "/v1/assessments", body, {"Content-Type": "application/json"})
    answer = connection.getresponse()
    content = answer.read()
    connection.close()
    if answer.status != HTTPStatus.OK:
        raise RuntimeError(content.decode())
    return content


def request_bytes(path: str, body: bytes) -> bytes:
    head = (
        f"POST {path} HTTP/1.1\r\nHost: {HOST}\r\nContent-Type: application/json\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


def rate(port: int, request: bytes) -> float:
    """Answers per second over kept connections, each asking as soon as it has its answer.

    Plain sockets: a client that took longer than the server would bring every share near 1.
    """
    counts = [0] * CONNECTIONS
    end = time.perf_counter() + ROUND_S

    def ask(place: int) -> None:
        with socket.create_connection((HOST, port)) as connection:
            while time.perf_counter() < end:
                connection.sendall(request)
                receive(connection)
                counts[place] += 1

    threads = [threading.Thread(target=ask, args=(place,)) for place in range(CONNECTIONS)]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sum(counts) / (time.perf_counter() - start)


def receive(connection: socket.socket) -> None:
    """Read one answer to its end; anything but 200 ends the bench."""
    received = connection.recv(1 << 18)
    head, _, body = received.partition(b"\r\n\r\n")
    if not head.startswith(b"HTTP/1.1 200"):
        raise RuntimeError(received.decode())
    length = head.lower().partition(b"content-length:")[2].partition(b"\r\n")[0]
    missing = int(length) - len(body)
    while missing > 0:
        missing -= len(connection.recv(1 << 18))
