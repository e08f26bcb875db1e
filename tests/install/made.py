"""Work sheets for tests: a service with the demo catalogue, a kit and a joint that is told of."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pypdfium2
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from service.app import open_assessor
from service.database import Database
from tests.kits.assembled import level_torque
from tests.served import fill

MACHINED = {
    "right": {"head_mill_mm": 0.1},
    "end_rail_gap_mm": 3.0,
    "end_rail_length_mm": 140.0,
}
QUESTION = {
    "family": "quay-7-6",
    "use": "road",
    "place": "us-ca",
    "model_year": 1997,
    "parts": {"intake_manifold": "Q76-MANIFOLD-BITTERN"},
    "engine": {"machined": MACHINED},
}
JOINT = {
    "slot": "intake_manifold",
    "thread": "M8 x 1.25",
    "grade": "8.8",
    "tapped_into": "356-T6 aluminium",
    "friction": "oil",
    "bolt_length_mm": 35.0,
    "grip_mm": 14.2,
    "hole": {"full_thread_mm": 22.0, "drilled_mm": 27.0, "countersink_mm": 1.2},
    "places": [
        {"along_mm": 60.0 * rank, "across_mm": side}
        for side in (120.0, -120.0)
        for rank in range(6)
    ],
}


@contextmanager
def demo_shop(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with the demo catalogue; engines give one level torque."""
    fill(database)
    with TestClient(app) as client:
        app.state.assessor = open_assessor(app.state.database, level_torque)
        yield client


def made(client: TestClient, question: dict[str, Any], *joints: dict[str, Any]) -> Response:
    answer = client.post("/v1/assessments", json=question)
    key = answer.headers["Content-Location"].rpartition("/")[2]
    body = {"assessment": key, "by": "Demo desk", "joints": list(joints)}
    return client.post("/v1/work-sheets", json=body)


def words(response: Response) -> str:
    document = pypdfium2.PdfDocument(response.content)
    read = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    document.close()
    return read
