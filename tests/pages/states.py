"""States of pages that no address leads to: what a form answers, and who is not let in."""

import json
from collections.abc import Callable
from urllib.parse import urlencode

from playwright.sync_api import Page

from tests.pages.screens import SCREENS, SITUATION
from tests.seed import SEED

Reach = Callable[[Page, str], None]
PAPER = "/shop/change/documents/DEMO-EX-0102"
MISLEADING = "Put the stock manifold back before the inspection."
EMPTY = (
    "/desk",
    "/desk/quotes",
    "/desk/sheets",
    "/shop",
    "/shop/parts",
    "/shop/families",
    "/shop/papers",
    "/shop/jobs",
    "/shop/surfaces",
    "/shop/rules",
)
"""Pages of a shop that has nothing yet."""


def _typed(path: str, button: str, **fields: str) -> Reach:
    """Type into fields by their names, and send."""

    def reach(page: Page, address: str) -> None:
        page.goto(address + path)
        for name, text in fields.items():
            page.locator(f"[name='{name.replace('__', '-')}']").first.fill(text)
        page.get_by_role("button", name=button).first.click()

    return reach


def _saved_by_another(page: Page, address: str) -> None:
    page.goto(address + PAPER)
    assert page.context.browser
    other = page.context.browser.new_page()
    for one, text in ((other, "Theirs"), (page, "Mine")):
        if one is other:
            one.goto(address + PAPER)
        one.locator("[name='issuer']").fill(text)
        one.get_by_role("button", name="Save").first.click()
    other.close()


def _compared_by_four(page: Page, address: str) -> None:
    page.goto(address + SCREENS["results"])
    for kit in (1, 4, 7, 10):
        page.get_by_label(f"Compare kit {kit}", exact=True).check()
    page.get_by_role("button", name="Compare the ticked kits").click()


def changed_rule() -> str:
    """Return a rule of the demo with another reason, as a line for an import."""
    line = json.loads((SEED / "shop_rules.jsonl").read_text().splitlines()[0])
    line["value"]["reason"] = "Demo: these lobes want other springs."
    return json.dumps(line)


STATES: dict[str, Reach] = {
    "compare-four": _compared_by_four,
    "quote-new-refused": _typed(
        SCREENS["quote-new"], "Begin the quote", valid_until="next week", customer__name="Demo"
    ),
    "quote-edit-refused": _typed(
        SCREENS["quote"], "Keep the changes", discount_percent="much", by="Demo desk"
    ),
    "quote-move-refused": _typed(SCREENS["quote"], "Issue the quote", note="Ring back"),
    "quote-words-refused": _typed(
        SCREENS["quote-new"], "Begin the quote", shop_note=MISLEADING, customer__name="Demo"
    ),
    "sheet-new-refused": _typed(SCREENS["sheet-new"], "Make the work sheet", by=""),
    "sheet-new-boat-refused": _typed(SCREENS["sheet-new-boat"], "Make the work sheet", by="Desk"),
    "sheet-evidence-refused": _typed(
        SCREENS["sheet-new-boat"], "File the evidence", number="DEMO-MS-0998"
    ),
    "sheet-readings-refused": _typed(
        SCREENS["sheet"], "Enter the readings", **{"reading-0-0": "much"}, by="Demo fitter"
    ),
    "shop-change-refused": _typed(PAPER, "Save", issued_on="last year"),
    "shop-change-one-more": _typed("/shop/new/engine-families", "One more: bolt layouts"),
    "shop-change-stale": _saved_by_another,
    "shop-import-report": _typed(
        f"{SCREENS['shop-import']}?units=si", "Say what it would change", lines=changed_rule()
    ),
    "shop-import-errors": _typed(
        SCREENS["shop-import"], "Say what it would change", lines='{"kind": "parts", "value": {}}'
    ),
}


def let_in(page: Page, address: str, key: str, to: str) -> None:
    """Give the key at the login, on the way to a page."""
    page.goto(f"{address}/login?{urlencode({'to': to})}")
    page.get_by_label("Key").fill(key)
    page.get_by_role("button", name="Go on").click()


def sent_too_late(page: Page, address: str, key: str) -> None:
    """Write a quote while the login runs out, and send it."""
    let_in(page, address, key, f"/desk/quotes/new?{SITUATION}")
    page.locator("[name='customer-name']").fill("Demo Customer")
    page.locator("[name='customer_note']").fill("Ring back\nbefore noon")
    page.context.clear_cookies()
    page.get_by_role("button", name="Begin the quote").click()


def given_back(page: Page, address: str, key: str) -> None:
    """Come back in after that."""
    sent_too_late(page, address, key)
    page.get_by_label("Key").fill(key)
    page.get_by_role("button", name="Go on").click()


LOCKED: dict[str, Callable[[Page, str, str], None]] = {
    "login-late": sent_too_late,
    "login-given-back": given_back,
}


def _empty(path: str) -> Callable[[Page, str, str], None]:
    return lambda page, address, key: let_in(page, address, key, path)


LOCKED |= {f"nothing-yet{path.replace('/', '-')}": _empty(path) for path in EMPTY}
