"""The paper trail of a kit; PDFs are read back with PDFium, which is not what writes them."""

from collections.abc import Iterator
from ctypes import byref, c_float
from dataclasses import replace
from datetime import date, datetime, tzinfo

import pypdfium2
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from pypdfium2 import raw

from service.catalog.appearance import Exterior
from service.catalog.slots import Slot
from service.catalog.store.families import add_family, save_family
from service.catalog.store.parts import add_part, load_part, save_part
from service.compliance.files import FileType, document_file
from service.compliance.store import add_document, attach_file
from service.database import Database
from service.kits.api import Assessor
from service.wording import banned_words
from tests.compliance.cases import PROFILES, paper, scope
from tests.factories import FAMILY_KEY, make_family, make_kit_parts, make_part
from tests.install.made import demo_shop
from tests.kits.assembled import level_torque
from tests.printed import one_line, pages
from tests.seed import OPEN_KIT, QUAY_BIG

CAM = make_part(
    Slot.CAMSHAFT,
    sku="CAM-HOT",
    maker_reference="REF-CAM-HOT",
    factory_part=False,
    exterior=Exterior(assessed=True, internal_change="The lobes differ."),
)
COPY = document_file(b"%PDF-1.7 demo", FileType.PDF)
PAPER = paper("DEMO-CAM", lines=(scope("REF-CAM-HOT", covers_internal_change=True),))
QUESTION = {
    "family": FAMILY_KEY,
    "use": "road",
    "place": "us-ca",
    "model_year": 2000,
    "parts": {"camshaft": "CAM-HOT"},
    "certified_for_road": True,
    "engine_swapped": False,
    "specially_constructed": False,
}


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    """A started service with one family, its factory parts, a camshaft and its paper."""
    with database.writing() as session:
        add_family(session, make_family(stock_parts={}))
        for part in (*make_kit_parts().values(), CAM):
            add_part(session, part)
        save_family(session, make_family(), version=1)
        add_document(session, PAPER)
        attach_file(session, PAPER.number, COPY, lambda version: version)
    with TestClient(app) as client:
        app.state.assessor = Assessor(database=app.state.database, run=level_torque)
        yield client


def move_clock(monkeypatch: pytest.MonkeyPatch, day: date) -> None:
    class Moved(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override] # The base says Self.
            return datetime(day.year, day.month, day.day, tzinfo=tz)

    monkeypatch.setattr("service.kits.api.datetime", Moved)


def address(client: TestClient) -> str:
    answer = client.post("/v1/assessments", json=QUESTION)
    return f"{answer.headers['Content-Location']}/paper-trail"


def test_it_says_what_is_documented_what_is_missing_and_who_decides(client: TestClient) -> None:
    trail = client.get(address(client)).json()

    cam = next(part for part in trail["parts"] if part["sku"] == "CAM-HOT")
    assert cam["outcome"] == "paper_matches"
    assert cam["documents"] == [
        "DEMO-CAM (exemption order, in force, copy kept, checked 2026-11-02)"
    ]
    assert any(text.startswith("CAM-HOT: DEMO-CAM") for text in trail["documented"])
    assert any("identical" in text for text in trail["missing"])
    assert trail["declared_inside"] == ["CAM-HOT: The lobes differ."]
    assert trail["street_use"]["street_legal_flag"] == "undetermined"
    assert all(text.endswith("not a finding of compliance.") for text in trail["statements"])
    assert all(trail["decided_by"] in text for text in trail["statements"])
    places = {one["place"]: one["street_use"] for one in trail["street_use_by_place"]}
    assert set(places) == set(PROFILES)
    assert places["us-ca"] == trail["street_use"]
    assert {source["citation"] for source in trail["sources"]} >= {"VC 27156(c)"}


def test_it_stays_as_it_was_when_the_catalogue_moves_on(
    client: TestClient, database: Database
) -> None:
    old = address(client)
    before = client.get(old).json()

    with database.writing() as session:
        stored = load_part(session, "CAM-HOT")
        save_part(session, replace(stored.value, revision="B"), version=stored.version)

    assert client.get(old).json() == before
    assert address(client) != old


def test_the_pdf_is_one_page_with_the_same_words(client: TestClient) -> None:
    url = address(client)
    trail = client.get(url).json()

    answer = client.get(f"{url}.pdf")

    (page,) = pages(answer.content)
    words = one_line(page)
    for text in (*trail["statements"], *trail["cautions"], *trail["documented"]):
        assert text.replace("- ", "-") in words.replace("- ", "-")
    assert f"{trail['decided_by']} decides." in words
    assert "VC 27156(c)" in words
    assert banned_words(words) == ()
    assert client.get(f"{url}.pdf").content == answer.content


def test_the_page_of_a_kit_that_changes_everything_is_still_large_enough_to_read(
    app: FastAPI, database: Database
) -> None:
    """No standard sets it: 7 pt is what small print of newspapers has (common practice)."""
    question = {"family": QUAY_BIG, "use": "road", "place": "us-ca", "model_year": 1997}
    with demo_shop(app, database) as client:
        answer = client.post("/v1/assessments", json={**question, "parts": OPEN_KIT})
        found = client.get(f"{answer.headers['Content-Location']}/paper-trail.pdf")
    document = pypdfium2.PdfDocument(found.content)
    assert len(document) == 1
    assert "Quay 7.6, model year 1997, road use" in document[0].get_textpage().get_text_bounded()
    sizes = []
    for item in document[0].get_objects(filter=(raw.FPDF_PAGEOBJ_TEXT,)):
        size = c_float()
        raw.FPDFTextObj_GetFontSize(item.raw, byref(size))
        sizes.append(size.value)
    document.close()

    assert min(sizes) >= 7.0


def test_an_assessment_that_was_never_given_has_none(client: TestClient) -> None:
    missing = f"/v1/assessments/{'0' * 32}/paper-trail"

    assert client.get(missing).status_code == 404
    assert client.get(f"{missing}.pdf").status_code == 404


def test_an_old_assessment_is_read_again_under_the_profile_of_its_day(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """California's second version is read from 25 Nov 2026 on."""
    move_clock(monkeypatch, date(2026, 11, 24))
    old = address(client)
    before = client.get(old).json()
    move_clock(monkeypatch, date(2026, 11, 25))

    new = client.get(address(client)).json()

    assert client.get(old).json() == before
    assert (before["profile_version"], new["profile_version"]) == (1, 2)
    held = client.get("/v1/jurisdictions/us-ca", params={"version": 1, "on": "2026-11-24"})
    assert [row["citation"] for row in before["sources"]] == [
        row["citation"] for row in held.json()["rows"] if not row["uses"] or "road" in row["uses"]
    ]


def test_when_the_clock_moves_on_every_row_shows_as_not_confirmed(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Row 32: 180 days; the profiles were checked on 1 Nov 2026."""
    move_clock(monkeypatch, date(2027, 4, 30))
    fresh = client.get(address(client)).json()
    move_clock(monkeypatch, date(2027, 5, 1))

    stale = client.get(address(client)).json()

    assert any(source["confirmed"] for source in fresh["sources"])
    assert not any(source["confirmed"] for source in stale["sources"])
    assert not any("No profile covers" in text for text in fresh["statements"])
    assert any("not confirmed" in text for text in stale["statements"])
    cam = next(part for part in stale["parts"] if part["sku"] == "CAM-HOT")
    assert cam["outcome"] == "paper_partial"
