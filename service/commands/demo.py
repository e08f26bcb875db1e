"""The whole service once, on the demo catalogue: set up, start, ask, print the answer."""

import json
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from threading import Thread

import typer
import uvicorn
from pydantic import TypeAdapter

from service.app import create_app
from service.commands.copies import attach_copies
from service.commands.files import import_files
from service.commands.schema import migrate
from service.commands.surfaces import load_surfaces
from service.errors import RuleBroken
from service.kits.assessment import Assessment
from service.kits.plain import side_by_side, wrapped
from service.settings import get_settings

HOST = "127.0.0.1"
SEED = Path("seed_data")
QUESTIONS = "questions.jsonl"
SURFACES = "surfaces.json"
COPIES = "copies"
FACTORY, SAME_OUTSIDE = "factory kit", "factory outside, throat cut out"
READY_WITHIN_S = 180
"""The physics is compiled once on a new machine; that takes some ten seconds on its own."""
POLL_S = 0.2

commands = typer.Typer()

_ASSESSMENT = TypeAdapter(Assessment)


class DemoDataMissing(RuleBroken):
    """The demo is run where its data are not."""

    def __init__(self) -> None:
        super().__init__(f"Run the demo at the top of the repository, beside {SEED}/.")


class QuestionRefused(RuleBroken):
    """The service did not answer a question of the demo."""

    def __init__(self, problem: bytes) -> None:
        super().__init__(f"The service did not answer: {problem.decode()}")


class DoesNotGetReady(RuleBroken):
    """The service was started and does not say that it can work."""

    def __init__(self) -> None:
        super().__init__(f"The service was not ready within {READY_WITHIN_S} s.")


@commands.command()
def demo() -> None:
    """Set everything up with the demo catalogue, ask the service, and print its answers."""
    if not SEED.is_dir():
        raise DemoDataMissing
    migrate()
    files = sorted(file for file in SEED.glob("*.jsonl") if file.name != QUESTIONS)
    import_files(files)
    attach_copies(SEED / COPIES)
    load_surfaces(SEED / SURFACES)
    with _served() as port:
        answers = {name: _ask(port, question) for name, question in _questions()}
    _print(answers)


def _questions() -> Iterator[tuple[str, dict[str, object]]]:
    for line in (SEED / QUESTIONS).read_text().splitlines():
        entry = json.loads(line)
        yield entry["name"], entry["question"]


@contextmanager
def _served() -> Iterator[int]:
    """Run the service on a free port of this machine for as long as it is needed."""
    with socket.socket() as listener:
        listener.bind((HOST, 0))
        config = uvicorn.Config(create_app(get_settings()), log_level="warning")
        server = uvicorn.Server(config)
        thread = Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        port = listener.getsockname()[1]
        _wait_until_ready(port)
        yield port
        server.should_exit = True
        thread.join()


def _wait_until_ready(port: int) -> None:
    deadline = time.monotonic() + READY_WITHIN_S
    while time.monotonic() < deadline:
        try:
            if _send(port, "GET", "/readyz")[0] == HTTPStatus.OK:
                return
        except ConnectionError:
            pass
        time.sleep(POLL_S)
    raise DoesNotGetReady


def _ask(port: int, question: dict[str, object]) -> Assessment:
    status, body = _send(port, "POST", "/v1/assessments", json.dumps(question))
    if status != HTTPStatus.OK:
        raise QuestionRefused(body)
    return _ASSESSMENT.validate_json(body)


def _send(port: int, method: str, path: str, body: str | None = None) -> tuple[int, bytes]:
    connection = HTTPConnection(HOST, port)
    connection.request(method, path, body, {"Content-Type": "application/json"})
    answer = connection.getresponse()
    content = answer.read()
    connection.close()
    return answer.status, content


def _print(answers: dict[str, Assessment]) -> None:
    bolts_together = {name: each for name, each in answers.items() if each.fits}
    best = max(bolts_together, key=lambda name: bolts_together[name].score.peak_power_kw)
    shown = [(name, answers[name]) for name in (FACTORY, SAME_OUTSIDE)]
    shown.append((f"best of {len(answers)}: {best}", answers[best]))
    typer.echo(f"\n{_situation(answers[FACTORY])}\n\n{side_by_side(shown)}\n\nCautions")
    typer.echo("\n".join(map(wrapped, answers[FACTORY].cautions)))
    typer.echo("\nStart the service with `.venv/bin/kitwright serve`, then ask it yourself.")


def _situation(assessment: Assessment) -> str:
    asked, basis = assessment.request, assessment.basis
    return (
        f"{asked.family}, {basis.displacement_l:.2f} l, model year {asked.model_year}, "
        f"{asked.use.value} use, {asked.place}\n"
        f"power {basis.rating};\n"
        f"corrected to {basis.standard.value}, {basis.weather.pressure_kpa:g} kPa, "
        f"{basis.weather.temperature_c:g} degrees C"
    )
