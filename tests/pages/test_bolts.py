"""Bolts on a page of the desk: those of the work sheet, in its order."""

import csv
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.database import Database
from tests.install.made import demo_shop, made

KIT = {"family": "orrin-4-4", "use": "road", "place": "us-ca"}
MANIFOLD = {"intake_manifold": "O44-MANIFOLD-WAGTAIL"}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with demo_shop(app, database) as client:
        yield client


def test_bolts_stand_in_the_order_of_the_work_sheet(client: TestClient) -> None:
    sheet = made(client, {**KIT, "model_year": 1990, "parts": MANIFOLD}).json()["sheet"]
    asked = {**KIT, "model_year": "1990", **MANIFOLD}

    page = client.get("/desk/kit/bolts", params=asked)
    text = client.get("/desk/kit/bolts.csv", params=asked).text

    places = [one for joint in sheet["joints"] for one in joint["places"]]
    rows = list(csv.reader(text.splitlines()))[1:]
    assert rows
    assert [(float(row[2]), float(row[3])) for row in rows] == [
        (one["along_mm"], one["across_mm"]) for one in places
    ]
    assert page.text.count("<circle") == len(rows)
