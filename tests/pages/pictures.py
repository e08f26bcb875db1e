"""Every page in every state as a picture, to be looked at: `poe screens FOLDER`."""

import sys
from pathlib import Path

from playwright.sync_api import Page

from tests.pages.screens import SCREENS, locked_shop, opened_browser, shop
from tests.pages.states import LOCKED, STATES

LOOKED_AT = (
    "results",
    "kit-swapped",
    "compare",
    "quote",
    "sheet",
    "goal",
    "builder-kit",
    "shop-parts",
    "shop-change-part",
    "shop-jobs",
    "shop-papers",
    "shop-rules",
    "part-heads",
    "kit-bolts",
)
"""Also on a narrow screen, on paper, in other colours, with large text."""
PAPER_WIDTH = 718
"""A4 between margins of 10 mm, at 96 dots to the inch."""


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with shop() as address, locked_shop() as locked, opened_browser() as browser:
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        for name, path in SCREENS.items():
            page.goto(address + path)
            page.screenshot(path=folder / f"{name}.png", full_page=True)
        for name, reach in STATES.items():
            reach(page, address)
            page.screenshot(path=folder / f"{name}.png", full_page=True)
        for name, reach_locked in LOCKED.items():
            reach_locked(page, *locked)
            page.screenshot(path=folder / f"{name}.png", full_page=True)
        page.set_viewport_size({"width": 320, "height": 640})
        for name in LOOKED_AT:
            page.goto(address + SCREENS[name])
            page.screenshot(path=folder / f"{name}-320.png", full_page=True)
        page.set_viewport_size({"width": 1280, "height": 900})
        for name in LOOKED_AT:
            page.goto(address + SCREENS[name])
            _otherwise(page, folder / name)


def _otherwise(page: Page, name: Path) -> None:
    """Take the page as others see it: on paper, in a system's colours, grey, with large text."""
    page.set_viewport_size({"width": PAPER_WIDTH, "height": 1000})
    page.emulate_media(media="print")
    page.screenshot(path=f"{name}-print.png", full_page=True)
    page.set_viewport_size({"width": 1280, "height": 900})
    page.emulate_media(media="screen", forced_colors="active")
    page.screenshot(path=f"{name}-forced.png", full_page=True)
    page.emulate_media(forced_colors="none")
    page.evaluate("document.documentElement.style.filter = 'grayscale(1)'")
    page.screenshot(path=f"{name}-grey.png", full_page=True)
    page.evaluate("document.documentElement.style.filter = ''")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    page.screenshot(path=f"{name}-large.png", full_page=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
