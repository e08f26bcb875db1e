"""How fast: answers over HTTP, uncached curves, surfaces, imports. JSON on standard output.

Run it with `poe bench`; it ends by itself within some three minutes. It asserts nothing: a
number of seconds depends on the machine, and no test of the suite is timed.

The first figure is a share, so that the machine cancels: the same worker process answers
a cached question and echoes a body of the size of that answer, in turns.
"""

import json
import multiprocessing
import os
import platform
import socket
import sqlite3
import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from http import HTTPStatus
from http.client import HTTPConnection
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import uvicorn
from fastapi import Request, Response

from service.app import create_app
from service.catalog.parts import PartStatus
from service.catalog.slots import Slot, UseClass
from service.database import Database
from service.engine.cycle import simulate_cycle
from service.engine.design import space_filling
from service.engine.example import compile_kernels
from service.engine.surface import surface_curves
from service.exchange.report import FileFormat
from service.exchange.schemas import read_file
from service.exchange.store import import_rows
from service.kits.fitted import FittedSurface
from service.kits.kit import AssessmentRequest, Kit, kit_of
from service.kits.power import CURVE_POINTS, power_answer
from service.kits.translation import ambient, engine_spec
from service.schema import upgrade_schema
from service.settings import Settings
from service.surfaces.catalogue import family_airflow
from service.surfaces.fitting import design_of, fit_family
from service.surfaces.schemas import read_surfaces
from service.units import rpm_to_rad_per_s
from tests.seed import MODIFIED_TWIN, QUAY_BIG, SEED, families, lines, of, parts, stock_kit
from tests.served import HOST, fill, sqlite_url, tcp_listener, wait_until_ready

CONNECTIONS = 4
ROUNDS = 7
ROUND_S = 1.5
REPEATS = 5
IMPORT_REPEATS = 3
SCORED_KITS = 1 << 15
IMPORT_ROWS = 1000
POINT_RPM = (2000.0, 4000.0, 6000.0)
QUESTION: dict[str, Any] = {
    "family": QUAY_BIG,
    "parts": {"intake_manifold": MODIFIED_TWIN},
    "use": "road",
    "place": "us-ca",
    "model_year": 1997,
}


def main() -> None:
    with TemporaryDirectory() as folder:
        figures = {
            "machine": machine(),
            "http": http_figures(Path(folder)),
            "engine": engine_figures(),
            "surface": surface_figures(),
            "import": import_figures(Path(folder)),
        }
    json.dump(figures, sys.stdout, indent=2)
    sys.stdout.write("\n")


def machine() -> dict[str, Any]:
    described = Path("/proc/cpuinfo")
    names = [
        line.partition(":")[2].strip()
        for line in (described.read_text().splitlines() if described.exists() else ())
        if line.startswith("model name")
    ]
    packages = ("fastapi", "uvicorn", "pydantic", "sqlalchemy", "numpy", "numba")
    return {
        "processor": names[0] if names else platform.processor(),
        "cores": os.cpu_count(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "sqlite": sqlite3.sqlite_version,
        **{name: version(name) for name in packages},
    }


def spread(values: Sequence[float]) -> dict[str, Any]:
    """Median and range, to three digits."""
    figures = {"median": statistics.median(values), "low": min(values), "high": max(values)}
    rounded = {name: float(f"{value:.3g}") for name, value in figures.items()}
    return {**rounded, "repetitions": len(values)}


def timed_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1e3


# --- Over HTTP -----------------------------------------------------------------------


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


# --- The engine ----------------------------------------------------------------------


def engine_figures() -> dict[str, Any]:
    compile_kernels()
    kit = bench_kit()
    spec, air = engine_spec(kit), ambient(kit.request.weather)
    points, steps = [], []
    for rpm in POINT_RPM * REPEATS:
        speed = float(rpm_to_rad_per_s(rpm))
        start = time.perf_counter()
        cycle = simulate_cycle(spec, air, speed)
        seconds = time.perf_counter() - start
        points.append(seconds * 1e3)
        steps.append(seconds * 1e9 / (cycle.cycles * cycle.steps))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        pooled = [timed_ms(partial(power_answer, kit, run=pool.map)) for _ in range(REPEATS)]
    alone = [timed_ms(partial(power_answer, kit, run=map)) for _ in range(REPEATS)]
    return {
        "uncached_curve_ms": spread(pooled),
        "uncached_curve_one_thread_ms": spread(alone),
        "point_ms": spread(points),
        "step_ns": spread(steps),
    }


def bench_kit() -> Kit:
    """The question of the HTTP part, as the engine gets it."""
    family = families()[QUAY_BIG]
    chosen = stock_kit(QUAY_BIG, intake_manifold=MODIFIED_TWIN)
    request = AssessmentRequest(
        family=QUAY_BIG, use=UseClass.ROAD, place="us-ca", model_year=1997, parts=chosen
    )
    found = {slot: parts()[sku] for slot, sku in chosen.items()}
    heads = parts()[family.stock_parts[Slot.CYLINDER_HEADS]]
    return kit_of(request, family, found, heads)


# --- Surfaces ------------------------------------------------------------------------


def surface_figures() -> dict[str, Any]:
    """Kits scored by a surface of the demo, and all of the demo's surfaces from nothing."""
    surfaces = {each.family: each for each in read_surfaces((SEED / "surfaces.json").read_bytes())}
    surface = surfaces[QUAY_BIG].surface
    rows = space_filling(surface.box, SCORED_KITS, np.random.default_rng(0))
    speeds = np.linspace(surface.box.slowest, surface.box.fastest, CURVE_POINTS)
    scored = [timed_ms(partial(surface_curves, surface, rows, speeds)) for _ in range(REPEATS)]
    seconds = {family: timed_ms(partial(built, family)) / 1e3 for family in surfaces}
    return {
        "speeds": CURVE_POINTS,
        "kits_scored_per_s": spread([SCORED_KITS / (ms / 1e3) for ms in scored]),
        "built_from_nothing_s": {**seconds, "all": sum(seconds.values())},
    }


def built(family: str) -> FittedSurface:
    """What `kitwright fit-surfaces` does for one family, with the parts in memory."""
    current = {
        slot: [part for part in of(family, slot) if part.status is PartStatus.CURRENT]
        for slot in Slot
    }
    design = design_of(family_airflow(families()[family], current))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return fit_family(family, design, pool)


# --- Imports -------------------------------------------------------------------------


def import_figures(folder: Path) -> dict[str, Any]:
    content = part_lines()
    rates = []
    for place in range(IMPORT_REPEATS):
        database = migrated(sqlite_url(folder / f"import-{place}.db"))
        fill(database)
        with database.writing() as session:
            start = time.perf_counter()
            report = import_rows(
                session, read_file(content, FileFormat.JSON_LINES, None), dry_run=False
            )
            rates.append(report.created / (time.perf_counter() - start))
        database.close()
    return {"rows": IMPORT_ROWS, "rows_per_s": spread(rates)}


def part_lines() -> bytes:
    """The demo's parts again and again, each time under other SKUs."""
    seeds = list(lines("parts_quay_7_6"))
    rows = []
    for place in range(IMPORT_ROWS):
        row = json.loads(json.dumps(seeds[place % len(seeds)]))
        row["value"]["sku"] = f"BENCH-{place}"
        row["value"]["maker_reference"] = f"BENCH-REF-{place}"
        rows.append(json.dumps(row))
    return "\n".join(rows).encode()


def migrated(url: str) -> Database:
    database = Database.open(url, pool_size=4)
    upgrade_schema(database.engine)
    return database


if __name__ == "__main__":
    main()
