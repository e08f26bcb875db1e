"""How a page is worked: with a mouse where no script runs, or with the keyboard alone."""

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, Locator, Page

MOST_STEPS = 400
"""Of the Tab key, before something counts as out of reach."""


class Mouse:
    """Works a page in which scripts are off."""

    scripts = False

    def __init__(self, page: Page) -> None:
        self.page = page

    def write(self, label: str, text: str, *, within: str = "body") -> None:
        _labelled(self.page, label, within).fill(text)

    def choose(self, label: str, title: str) -> None:
        _labelled(self.page, label).select_option(label=title)

    def tick(self, label: str) -> None:
        _labelled(self.page, label).check()

    def follow(self, role: str, name: str) -> None:
        """Click on a link or a button that leads to another page."""
        with self.page.expect_navigation():
            _named(self.page, role, name).click()


class Keyboard:
    """Works a page by Tab, Enter, Space and letters; scripts are on."""

    scripts = True

    def __init__(self, page: Page) -> None:
        self.page = page

    def write(self, label: str, text: str, *, within: str = "body") -> None:
        self._reach(_labelled(self.page, label, within))
        self.page.keyboard.press("Control+A")
        self.page.keyboard.insert_text(text)

    def choose(self, label: str, title: str) -> None:
        self._reach(_labelled(self.page, label))
        self.page.keyboard.type(title)

    def tick(self, label: str) -> None:
        self._reach(_labelled(self.page, label))
        self.page.keyboard.press("Space")

    def follow(self, role: str, name: str) -> None:
        self._reach(_named(self.page, role, name))
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def _reach(self, wanted: Locator) -> None:
        wanted.wait_for()
        for _ in range(MOST_STEPS):
            if wanted.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        message = f"Tab does not reach {wanted}."
        raise AssertionError(message)


Hand = Mouse | Keyboard


@contextmanager
def at_work(browser: Browser, hand: type[Hand]) -> Iterator[Hand]:
    """Open an empty page for a hand."""
    context = browser.new_context(java_script_enabled=hand.scripts)
    yield hand(context.new_page())
    context.close()


def _labelled(page: Page, label: str, within: str = "body") -> Locator:
    return page.locator(within).get_by_label(label, exact=True)


def _named(page: Page, role: str, name: str) -> Locator:
    return page.get_by_role(role, name=name, exact=True).first  # type: ignore[arg-type] # A role.
