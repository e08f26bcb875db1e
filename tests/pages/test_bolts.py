"""Bolts on a page of the desk: those of the work sheet, in its order."""

import csv
import re
from collections.abc import Iterator
from html import unescape

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.database import Database
from tests.install.made import demo_shop, made

FILE = "/desk/kit/bolts.csv"
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
    us, si = (
        list(csv.reader(client.get(FILE, params={**asked, "units": units}).text.splitlines()))
        for units in ("us", "si")
    )

    places = [one for joint in sheet["joints"] for one in joint["places"]]
    assert places
    assert [(float(row[2]), float(row[3])) for row in si[1:]] == [
        (one["along_mm"], one["across_mm"]) for one in places
    ]
    assert page.text.count("<circle") == len(places)
    # 1 in = 25.4 mm (NIST SP 811, appendix B.8).
    assert us[0][2] == "along the crank, in"
    assert [float(row[2]) * 25.4 for row in us[1:]] == pytest.approx(
        [one["along_mm"] for one in places], abs=0.13
    )


def test_the_units_of_the_bolts_are_kept_by_the_way_there_and_back(client: TestClient) -> None:
    asked = {**KIT, "model_year": "1990", **MANIFOLD, "units": "si"}

    kit = unescape(client.get("/desk/kit", params=asked).text)
    there = re.search(r'href="(/desk/kit/bolts\?[^"]*)"', kit)
    assert there
    page = unescape(client.get(there[1]).text)

    assert "along the crank, mm" in page
    for link in (r"/desk/kit\?", r"/desk/kit/bolts\.csv\?"):
        found = re.search(rf'href="{link}([^"]*)"', page)
        assert found
        assert "units=si" in found[1]
