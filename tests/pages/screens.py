"""Every page that an address leads to, and the shop that serves it to a browser."""

import json
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

from playwright.sync_api import Browser, sync_playwright
from sqlmodel import Session

from service.access.keys import Scope
from service.access.store import add_access_key
from service.app import create_app
from service.database import Database
from service.jobs.job import JobOrder, JobProblem
from service.jobs.store.claims import claim_job, complete_job, fail_job, record_progress
from service.jobs.store.jobs import add_job, cancel_job
from service.schema import upgrade_schema
from service.settings import Settings
from service.surfaces.schemas import read_surfaces
from service.surfaces.store import put_surface
from tests.seed import SEED
from tests.served import fill, served, sqlite_url

HOW_TO_INSTALL = "No browser to try the pages in; install one with: apt-get install chromium"
# The machine's network may be closed: without these the browser calls home at every start.
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A page of this machine is held in a frame of a site that only the test serves.
    "--disable-features=LocalNetworkAccessChecks",
)
SITUATION = "family=orrin-4-4&model_year=1990&use=road&place=us-ca"
"""The smallest family of the demo: its first search takes a second, the largest's twenty."""
STOREFRONT = "http://store.localhost"
"""Holds the builder's page in a frame; no other site is spoken to (RFC 6761, section 6.3)."""
BOAT = "family=quay-7-6&model_year=2003&use=marine&place=us-marine"
STALE_SURFACE = "quay-5-3"
SCREENS = {
    "empty": "/desk",
    "results": f"/desk?{SITUATION}&aim=peak_power",
    "front": f"/desk/front?{SITUATION}",
    "results-si": f"/desk?{SITUATION}&aim=peak_power&units=si",
    "wrong-year": f"/desk?{SITUATION.replace('1990', 'ninety')}&budget=1500",
    "wrong-budget": f"/desk?{SITUATION}&budget=much",
    "nothing-keeps-it": f"/desk?{SITUATION}&budget=1&power_at_least=400",
    "kit": f"/desk/kit?{SITUATION}",
    "kit-simulated": f"/desk/kit?{SITUATION}&tier=simulation",
    "kit-swapped": f"/desk/kit?{SITUATION}&before_camshaft=O44-CAM-OVERHAND"
    "&camshaft=O44-CAM-TOGGLE",
    "machined": f"/desk?{SITUATION}&deck_cut=0.010+in&head_mill=not+measured"
    "&torque_intake_manifold=12+ft-lb,+120+in-lb",
    "machined-wrong": f"/desk?{SITUATION}&deck_cut=ten&torque_at_least=250",
    "kit-bolts-none": f"/desk/kit/bolts?{SITUATION}",
    "kit-bolts": f"/desk/kit/bolts?{SITUATION}&intake_manifold=O44-MANIFOLD-WAGTAIL",
    "goal": f"/desk/kit/goal?{SITUATION}&power_at_least=240",
    "goal-nothing-asked": f"/desk/kit/goal?{SITUATION}&power_at_least=much",
    "compare": f"/desk/compare?{SITUATION}&kit=camshaft:O44-CAM-TOGGLE&kit=",
    "quotes-none": "/desk/quotes?reference=nobody",
    "quotes": "/desk/quotes",
    "quote-new": f"/desk/quotes/new?{SITUATION}&camshaft=O44-CAM-TOGGLE",
    "quote": "/desk/quotes/1",
    "quote-issued": "/desk/quotes/2",
    "sheets": "/desk/sheets",
    "sheet-new": f"/desk/sheets/new?{SITUATION}&intake_manifold=O44-MANIFOLD-WAGTAIL",
    "sheet-new-boat": f"/desk/sheets/new?{BOAT}&intake_manifold=Q76-MANIFOLD-BITTERN",
    "sheet": "/desk/sheets/1",
    "sheet-si": "/desk/sheets/1?units=si",
    "sheet-unknown": "/desk/sheets/999",
    "quote-unknown": "/desk/quotes/999",
    "kit-unknown-part": f"/desk/kit?{SITUATION}&camshaft=NO-SUCH-PART",
    "builder": f"/builder?{SITUATION}",
    "builder-kit": f"/builder/kit?{SITUATION}&camshaft=O44-CAM-TOGGLE",
    "builder-kit-embedded": f"/builder/kit?{SITUATION}&no_price=yes&embed=yes",
    "builder-kit-embedded-wrong": "/builder/kit?family=orrin-4-4&model_year=old&embed=yes",
    "builder-kit-unknown": "/builder/kit?family=none&model_year=1990",
    "part": "/builder/parts/Q76-MANIFOLD-BITTERN",
    "part-without-price": "/builder/parts/Q76-MANIFOLD-CURLEW?no_price=yes",
    "part-heads": "/builder/parts/Q76-HEADS-FLINT",
    "part-unknown": "/builder/parts/NO-SUCH-PART",
    "shop": "/shop",
    "shop-parts": "/shop/parts",
    "shop-parts-none": "/shop/parts?q=nothing-like-it",
    "shop-parts-wrong": "/shop/parts?slot=carburettor",
    "shop-engines": "/shop/families",
    "shop-change-part": "/shop/change/parts/Q76-HEADS-FLINT",
    "shop-change-engine": "/shop/change/engine-families/orrin-4-4",
    "shop-change-rule": "/shop/change/shop-rules/any-long-event-weakens-booster",
    "shop-change-paper": "/shop/change/documents/DEMO-EX-0101",
    "shop-new-part": "/shop/new/parts?slot=camshaft",
    "shop-kind-unknown": "/shop/change/spoons/one",
    "shop-jobs-wrong": "/shop/jobs?before=yesterday",
    "shop-change-unknown": "/shop/change/parts/NO-SUCH-PART",
    "shop-import": "/shop/import",
    "shop-papers": "/shop/papers",
    "shop-jobs": "/shop/jobs",
    "shop-surfaces": "/shop/surfaces",
    "shop-rules": "/shop/rules",
    "login": f"/login?to=/desk?{SITUATION}",
    "nothing-to-compare": f"/desk/compare?{SITUATION}",
}


def browser_path() -> str | None:
    return shutil.which("chromium")


@contextmanager
def shop() -> Iterator[str]:
    """Serve the demo with its surfaces; gives the address."""
    with tempfile.TemporaryDirectory() as folder:
        url = sqlite_url(Path(folder) / "kitwright.db")
        database = Database.open(url, pool_size=2)
        upgrade_schema(database.engine)
        fill(database)
        with database.writing() as session:
            for fitted in read_surfaces((SEED / "surfaces.json").read_bytes()):
                # One is of an earlier model: what is stale is a state too.
                stale = fitted.family == STALE_SURFACE
                put_surface(session, replace(fitted, model_version="0") if stale else fitted)
            _add_jobs(session)
        database.close()
        settings = Settings(_env_file=None, database_url=url, job_worker=False, embed_in=STOREFRONT)
        with served(create_app(settings)) as port:
            write_quotes(f"http://127.0.0.1:{port}")
            make_sheet(f"http://127.0.0.1:{port}")
            yield f"http://127.0.0.1:{port}"


@contextmanager
def locked_shop() -> Iterator[tuple[str, str]]:
    """Serve a shop that has nothing yet and asks for a key; gives the address and the key."""
    with tempfile.TemporaryDirectory() as folder:
        url = sqlite_url(Path(folder) / "kitwright.db")
        database = Database.open(url, pool_size=2)
        upgrade_schema(database.engine)
        with database.writing() as session:
            key = add_access_key(session, "demo", list(Scope))
        database.close()
        settings = Settings(_env_file=None, database_url=url, job_worker=False)
        with served(create_app(settings)) as port:
            yield f"http://127.0.0.1:{port}", key


def write_quotes(address: str) -> None:
    """Begin two quotes at the API, and issue the second; keep a price list."""
    prices = {"key": "workshop", "title": "Demo prices", "valid_from": "2026-01-01", "items": []}
    _send(f"{address}/v1/price-lists/workshop", prices, method="PUT")
    question = {"family": "orrin-4-4", "model_year": 1990, "use": "road", "place": "us-ca"}
    content = {
        "customer": {"reference": "PO-0007", "name": "Demo Customer"},
        "question": {**question, "parts": {"camshaft": "O44-CAM-TOGGLE"}},
        "valid_until": "2099-12-31",
    }
    for _ in range(2):
        quote = _send(f"{address}/v1/quotes", {"by": "Demo desk", "content": content})
    at = f"{address}/v1/quotes/{quote['id']}"
    said = {"by": "Demo desk", "name": "Demo Customer", "text": quote["declaration_text"]}
    quote = _send(f"{at}/declaration", said, quote["version"])
    reason = "A demo of what is printed where the fit check blocks."
    _send(f"{at}/issue", {"by": "Demo desk", "override_reason": reason}, quote["version"])


def make_sheet(address: str) -> None:
    """Make a work sheet at the desk, and enter two readings of which one is out of range."""
    form = f"{SITUATION}&intake_manifold=O44-MANIFOLD-WAGTAIL&by=Demo+desk".encode()
    kind = "application/x-www-form-urlencoded"
    headers = {"Content-Type": kind, "Sec-Fetch-Site": "same-origin"}
    asked = Request(f"{address}/desk/sheets/new", form, headers)  # noqa: S310 - On this machine.
    with urlopen(asked):  # noqa: S310 - The same.
        pass
    readings = [
        {"check": "room.coils", "place": "cylinder 1", "value": 0.04, "unit": "in"},
        {"check": "room.hood", "value": 30.0, "unit": "mm"},
    ]
    _send(f"{address}/v1/work-sheets/1/readings", {"by": "Demo fitter", "readings": readings})


def _send(
    address: str, body: dict[str, Any], version: int = 0, method: str = "POST"
) -> dict[str, Any]:
    headers = {"Content-Type": "application/json"}
    if version:
        headers["If-Match"] = f'"{version}"'
    content = json.dumps(body).encode()
    asked = Request(address, content, headers, method=method)  # noqa: S310 - On this machine.
    with urlopen(asked) as answer:  # noqa: S310 - The same.
        found: dict[str, Any] = json.load(answer)
    return found


def _add_jobs(session: Session) -> None:
    """One job in each of its states; the running one is held for longer than a test takes."""
    for number in range(5):
        payload = {"family": "orrin-4-4", "number": number}
        add_job(session, JobOrder(kind="surface_fit", payload=payload, item_count=40))
    failed, done, running = (claim_job(session, {"surface_fit"}, lease_s=3600) for _ in range(3))
    assert failed is not None
    assert done is not None
    assert running is not None
    problem = JobProblem(
        type="/problems/internal-error", title="The service failed", status=500, detail="No memory."
    )
    fail_job(session, failed, problem)
    complete_job(session, done, "/v1/surfaces/orrin-4-4")
    record_progress(session, running, 0.4, "16 of 40 engines")
    cancel_job(session, running.job_id + 1)


@contextmanager
def opened_browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(FLAGS))
        yield browser
        browser.close()
