"""One browser, and one shop for it to look at, for all tests of pages that ask for them."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.pages.screens import HOW_TO_INSTALL, browser_path, locked_shop, opened_browser, shop


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if browser_path() is None:
        pytest.skip(HOW_TO_INSTALL)
    with opened_browser() as browser:
        yield browser


@pytest.fixture(scope="session")
def address(browser: Browser) -> Iterator[str]:
    """Where the demo is served."""
    del browser
    with shop() as address:
        yield address


@pytest.fixture(scope="session")
def locked(browser: Browser) -> Iterator[tuple[str, str]]:
    """Where a shop without anything in it asks for a key, and that key."""
    del browser
    with locked_shop() as found:
        yield found
