"""A call answered in a real browser, with and without scripts, and every page held to WCAG 2.2."""

import gzip
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.pages.hands import Keyboard
from tests.pages.screens import SCREENS
from tests.pages.states import LOCKED, STATES

Options = dict[str, Any]

pytestmark = pytest.mark.xdist_group("pages in a browser")

AXE_OPTIONS: Options = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
COLOURS_ALONE: Options = {
    "runOnly": {"type": "rule", "values": ["color-contrast"]},
    "resultTypes": ["violations"],
}
"""Where a system's own colours are shown, nothing else is another."""
REFLOW_WIDTH = 320
"""WCAG 2.2, 1.4.10: no scrolling in two directions at 320 CSS pixels."""
FIRST_PAGE_BYTES = 60_000


def violations(page: Page, options: Options = AXE_OPTIONS) -> list[str]:
    found = Axe().run(page, options=options).response["violations"]
    return [f"{one['id']}: {[node['html'] for node in one['nodes']]}" for one in found]


def test_kits_that_are_ticked_stand_side_by_side_and_what_differs_first(
    browser: Browser, address: str
) -> None:
    page = browser.new_page()

    page.goto(address + SCREENS["results"])
    for kit in (1, 2, 3, 4):
        page.get_by_label(f"Compare kit {kit}", exact=True).check()
    page.get_by_role("button", name="Compare the ticked kits").click()

    table = page.get_by_role("table", name="What differs stands first")
    rows = table.locator("tbody tr")
    differs = [
        len(set(rows.nth(place).locator("td").all_inner_texts())) > 1
        for place in range(rows.count())
    ]
    assert table.locator("thead th").count() == 5
    assert True in differs
    assert differs == sorted(differs, reverse=True)
    page.close()


def test_a_wrong_answer_is_named_and_everything_typed_is_still_there(
    browser: Browser, address: str
) -> None:
    page = browser.new_page()

    page.goto(address + SCREENS["wrong-year"])

    assert page.title().startswith("Error:")
    expect(page.get_by_label("Model year?")).to_have_value("ninety")
    expect(page.get_by_label("At most how much, in USD?")).to_have_value("1500")
    page.get_by_role("alert").get_by_role("link").click()
    expect(page.get_by_label("Model year?")).to_be_focused()
    page.close()


def test_the_desk_is_worked_by_keyboard_alone(browser: Browser, address: str) -> None:
    page = browser.new_page()
    page.goto(f"{address}/desk")

    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the content")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("o")
    page.keyboard.press("Tab")
    page.keyboard.type("1990")
    page.keyboard.press("Enter")

    expect(page.get_by_role("table", name="Kits, best first")).to_be_visible()
    hand = Keyboard(page)
    drawn = page.locator("svg circle").count()
    hand.follow("link", f"All {drawn} points as a table")
    hand.follow("link", str(drawn))
    expect(page.get_by_role("heading", name="One kit")).to_be_visible()
    page.close()


def holds_in_every_way(page: Page, arrive: Callable[[], object]) -> None:
    """axe-core with target-size on; the policy for content; reflow, large text, other colours."""
    refused: list[str] = []
    page.on(
        "console",
        lambda message: (
            refused.append(message.text) if "Content Security Policy" in message.text else None
        ),
    )
    arrive()

    assert violations(page) == []
    page.emulate_media(forced_colors="active")
    assert violations(page, COLOURS_ALONE) == []
    page.emulate_media(forced_colors="none", media="print")
    assert not page.locator("header nav").first.is_visible()
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": REFLOW_WIDTH, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= REFLOW_WIDTH
    page.set_viewport_size({"width": 1280, "height": 900})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    assert refused == []
    page.close()


@pytest.mark.parametrize("name", SCREENS)
def test_a_page_breaks_no_rule(browser: Browser, address: str, name: str) -> None:
    page = browser.new_page()

    holds_in_every_way(page, lambda: page.goto(address + SCREENS[name]))


@pytest.mark.parametrize("name", STATES)
def test_what_a_form_answers_breaks_no_rule(browser: Browser, address: str, name: str) -> None:
    page = browser.new_page()

    holds_in_every_way(page, lambda: STATES[name](page, address))


@pytest.mark.parametrize("name", LOCKED)
def test_a_shop_with_nothing_in_it_and_its_login_break_no_rule(
    browser: Browser, locked: tuple[str, str], name: str
) -> None:
    page = browser.new_page()

    holds_in_every_way(page, lambda: LOCKED[name](page, *locked))


def test_the_first_page_is_small(browser: Browser, address: str) -> None:
    page = browser.new_page()
    bodies: list[bytes] = []
    page.on("response", lambda response: bodies.append(response.body()))

    page.goto(address + SCREENS["results"])

    assert sum(len(gzip.compress(body)) for body in bodies) < FIRST_PAGE_BYTES
    page.close()
