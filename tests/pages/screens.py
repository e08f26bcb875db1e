"""Every page in every state as a picture, to be looked at: `poe screens FOLDER`."""

import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from service.app import create_app
from service.database import Database
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
)
SITUATION = "family=orrin-4-4&model_year=1990&use=road&place=us-ca"
"""The smallest family of the demo: its first search takes a second, the largest's twenty."""
SCREENS = {
    "empty": "/desk",
    "results": f"/desk?{SITUATION}&aim=peak_power",
    "results-si": f"/desk?{SITUATION}&aim=peak_power&units=si",
    "wrong-year": f"/desk?{SITUATION.replace('1990', 'ninety')}&budget=1500",
    "wrong-budget": f"/desk?{SITUATION}&budget=much",
    "nothing-keeps-it": f"/desk?{SITUATION}&budget=1&power_at_least=400",
    "kit": f"/desk/kit?{SITUATION}",
    "kit-simulated": f"/desk/kit?{SITUATION}&tier=simulation",
    "kit-unknown-part": f"/desk/kit?{SITUATION}&camshaft=NO-SUCH-PART",
    "part": "/builder/parts/Q76-MANIFOLD-BITTERN",
    "part-without-price": "/builder/parts/Q76-MANIFOLD-CURLEW?no_price=yes",
    "part-unknown": "/builder/parts/NO-SUCH-PART",
    "shop": "/shop",
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
                put_surface(session, fitted)
        database.close()
        app = create_app(Settings(_env_file=None, database_url=url, job_worker=False))
        with served(app) as port:
            yield f"http://127.0.0.1:{port}"


@contextmanager
def opened_browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path(), args=list(FLAGS))
        yield browser
        browser.close()


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with shop() as address, opened_browser() as browser:
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        for name, path in SCREENS.items():
            page.goto(address + path)
            page.screenshot(path=folder / f"{name}.png", full_page=True)
        page.set_viewport_size({"width": 320, "height": 640})
        for name in ("results", "kit"):
            page.goto(address + SCREENS[name])
            page.screenshot(path=folder / f"{name}-320.png", full_page=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
