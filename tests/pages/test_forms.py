"""Forms over the schema of the wire: what is shown, sent back and read is what is held."""

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.bodies import patched
from service.database import Database
from service.exchange.report import Kind
from service.exchange.store import find_values
from service.pages.api.kept import EDITABLE
from service.pages.filled import document_of
from service.pages.forms import Field, Group, Item, Rows
from tests.served import fill

OWN = {"Sec-Fetch-Site": "same-origin"}
HEADS = "/shop/change/parts/Q76-HEADS-FLINT"


class Sent(HTMLParser):
    """What a browser sends of the first form that changes something (HTML, section 4.10.22)."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.fields: list[tuple[str, str]] = []
        self._inside, self._over = False, False
        self._open: tuple[str, str] | None = None
        self._text = ""
        # A browser reads every end of a line as one sign (HTML, section 13.2.3.5).
        self.feed(text.replace("\r\n", "\n"))

    @property
    def data(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name, value in self.fields:
            found.setdefault(name, []).append(value)
        return found

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = {key: value or "" for key, value in attrs}
        if tag == "form":
            self._inside = named.get("method") == "post" and not self._over
        if not self._inside:
            return
        if tag == "input" and "name" in named:
            if named.get("type") != "checkbox" or "checked" in named:
                self.fields.append((named["name"], named["value"]))
        elif tag in ("select", "textarea"):
            self._open, self._text = (tag, named["name"]), ""
        elif tag == "option" and "selected" in named:
            self._text = named["value"]

    def handle_data(self, data: str) -> None:
        if self._open and self._open[0] == "textarea":
            self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._inside:
            self._inside, self._over = False, True
        if self._open and tag == self._open[0]:
            # The first line break of a text area is not part of its text.
            text = self._text.removeprefix("\n") if tag == "textarea" else self._text
            self.fields.append((self._open[1], text.replace("\n", "\r\n")))
            self._open = None


def sent(items: tuple[Item, ...]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for item in items:
        if isinstance(item, Group):
            found |= sent(item.items)
        elif isinstance(item, Rows):
            for row in item.rows:
                found |= sent(row)
        elif values := _values(item):
            found[item.name] = values
    return found


def _values(field: Field) -> list[str]:
    if field.look == "ticks":
        return list(field.value)
    if field.look == "tick":
        return ["yes"] if field.value else []
    return [str(field.value)]


@pytest.fixture
def shop(database: Database, client: TestClient) -> TestClient:
    fill(database)
    return client


def test_a_form_that_is_sent_as_it_was_shown_changes_no_item_of_the_demo(
    database: Database,
) -> None:
    """Every part, engine, rule and paper of the demo: nothing is lost or turned round."""
    fill(database)

    for kind, editable in EDITABLE.items():
        with database.reading() as session:
            values = find_values(session, kind)
        assert values
        for value in values:
            wire = editable.shape.to_wire(value)
            document = editable.shape.wire.dump_python(wire, mode="json")
            shown = sent(editable.form.filled(document, {}))
            again = document_of(editable.form, editable.schema, shown, document)
            changed = patched(editable.shape.wire, wire, again, key=editable.shape.key_field)
            assert changed == wire


def test_one_field_is_changed_and_the_api_tells_it(shop: TestClient) -> None:
    form = Sent(shop.get(HEADS).text)
    before = shop.get("/v1/parts/Q76-HEADS-FLINT").json()

    answer = shop.post(
        HEADS,
        data={**form.data, "title": "Flint, second run", "spec/intake/flow/0/flow_cfm": "61.5"},
        headers=OWN,
        follow_redirects=False,
    )

    part = shop.get("/v1/parts/Q76-HEADS-FLINT").json()
    assert answer.status_code == 303
    assert "Saved." in shop.get(answer.headers["Location"]).text
    assert part["title"] == "Flint, second run"
    assert part["spec"]["intake"]["flow"][0]["flow_cfm"] == 61.5
    assert part["version"] == before["version"] + 1
    assert part["spec"]["exhaust"] == before["spec"]["exhaust"]


def test_what_is_wrong_is_told_beside_its_field_and_nothing_typed_is_lost(
    shop: TestClient,
) -> None:
    form = Sent(shop.get(HEADS).text)
    typed = {
        **form.data,
        "title": 'Flint "two" <b>',
        "spec/chamber_cm3": "sixty",
        "spec/intake/flow/1/lift_mm": "99",
        "price/amount": "12,50",
        "families": "quay-7-6\r\nno-such-engine",
    }

    answer = shop.post(HEADS, data=typed, headers=OWN)

    again = Sent(answer.text).data
    assert answer.status_code == 422
    for name in ("spec/chamber_cm3", "spec/intake/flow/1/lift_mm", "price/amount"):
        assert f'href="#{name}"' in answer.text
        assert re.search(rf'id="{name}"[^>]*aria-invalid="true"', answer.text)
    assert {name: again[name] for name in typed} == {
        name: [value] if isinstance(value, str) else value for name, value in typed.items()
    }
    assert shop.get("/v1/parts/Q76-HEADS-FLINT").json()["version"] == 1


def test_a_reference_to_nothing_is_told_beside_its_field(shop: TestClient) -> None:
    form = Sent(shop.get(HEADS).text)

    answer = shop.post(HEADS, data={**form.data, "families": "no-such-engine"}, headers=OWN)

    assert answer.status_code == 422
    assert 'href="#families"' in answer.text


def test_who_saves_second_sees_both_and_may_then_decide(shop: TestClient) -> None:
    first, second = Sent(shop.get(HEADS).text), Sent(shop.get(HEADS).text)
    shop.post(HEADS, data={**first.data, "title": "Theirs"}, headers=OWN)

    stale = shop.post(HEADS, data={**second.data, "title": "Mine"}, headers=OWN)
    kept = shop.get("/v1/parts/Q76-HEADS-FLINT").json()["title"]
    again = shop.post(HEADS, data=Sent(stale.text).data, headers=OWN, follow_redirects=False)

    assert stale.status_code == 412
    differs = re.sub(r"<td[^>]*>", "<td>", stale.text)
    assert "<td>Theirs</td><td>Mine</td>" in differs
    assert kept == "Theirs"
    assert again.status_code == 303
    assert shop.get("/v1/parts/Q76-HEADS-FLINT").json()["title"] == "Mine"


def test_a_form_that_is_sent_twice_is_done_once(shop: TestClient) -> None:
    change = {**Sent(shop.get(HEADS).text).data, "title": "Flint, second run"}
    new = "/shop/new/parts?like=Q76-HEADS-FLINT"
    made = {**Sent(shop.get(new).text).data, "sku": "Q76-HEADS-LIKE-FLINT"}

    answers = [
        shop.post(address, data=form, headers=OWN, follow_redirects=False)
        for address, form in ((HEADS, change), (HEADS, change), (new, made), (new, made))
    ]
    other = shop.post(HEADS, data={**change, "title": "Third"}, headers=OWN)

    assert [one.status_code for one in answers] == [303] * 4
    assert answers[2].headers["Location"] == answers[3].headers["Location"]
    assert shop.get("/v1/parts/Q76-HEADS-FLINT").json()["version"] == 2
    assert other.status_code == 412
    assert Sent(other.text).data["title"] == ["Third"]


def test_a_row_is_added_on_request_and_an_emptied_one_is_gone(shop: TestClient) -> None:
    form = Sent(shop.get(HEADS).text)
    rows = len(shop.get("/v1/parts/Q76-HEADS-FLINT").json()["spec"]["intake"]["flow"])
    table = "spec/intake/flow"

    more = Sent(shop.post(HEADS, data={**form.data, "add": table}, headers=OWN).text)
    more = Sent(shop.post(HEADS, data={**more.data, "add": table}, headers=OWN).text)
    emptied = {f"{table}/0/lift_mm": "", f"{table}/0/flow_cfm": ""}
    shop.post(HEADS, data={**more.data, **emptied}, headers=OWN)

    assert f"{table}/{rows + 3}/lift_mm" in more.data
    flow = shop.get("/v1/parts/Q76-HEADS-FLINT").json()["spec"]["intake"]["flow"]
    assert len(flow) == rows - 1


def test_a_layout_of_bolts_is_changed_bolt_by_bolt_added_and_taken_out(shop: TestClient) -> None:
    engine = "/shop/change/engine-families/orrin-4-4"
    api = "/v1/engine-families/orrin-4-4"
    layouts = shop.get(api).json()["bolt_layouts"]
    form = Sent(shop.get(engine).text).data
    moved = "bolt_layouts/0/bolts/1/y_mm"

    more = Sent(shop.post(engine, data={**form, "add": "bolt_layouts"}, headers=OWN).text).data
    new = {
        name.replace("bolt_layouts/0/", f"bolt_layouts/{len(layouts)}/"): texts
        for name, texts in more.items()
        if name.startswith("bolt_layouts/0/")
    }
    shown = shop.post(engine, data={**more, **new, "drop": "bolt_layouts/1"}, headers=OWN)
    answer = shop.post(engine, data={**Sent(shown.text).data, moved: "83.5"}, headers=OWN)

    assert "Saved." in answer.text
    again = shop.get(api).json()["bolt_layouts"]
    assert again[0]["bolts"][1]["y_mm"] == 83.5
    assert again[1:-1] == layouts[2:]
    assert again[-1] == layouts[0]


def test_what_is_wrong_with_one_bolt_is_told_beside_it(shop: TestClient) -> None:
    engine = "/shop/change/engine-families/orrin-4-4"
    wrong = "bolt_layouts/1/bolts/2/x_mm"

    typed = {**Sent(shop.get(engine).text).data, wrong: "far"}
    answer = shop.post(engine, data=typed, headers=OWN)

    assert answer.status_code == 422
    assert re.search(rf'id="{wrong}"[^>]*aria-invalid="true"', answer.text)
    assert Sent(answer.text).data[wrong] == ["far"]


def test_a_part_like_another_is_taken_in_under_a_number_of_its_own(shop: TestClient) -> None:
    address = "/shop/new/parts?like=Q76-HEADS-FLINT"
    form = Sent(shop.get(address).text)

    unnamed = shop.post(address, data=form.data, headers=OWN)
    taken = shop.post(address, data={**form.data, "sku": "Q76-HEADS-LIKE-FLINT"}, headers=OWN)

    old = shop.get("/v1/parts/Q76-HEADS-FLINT").json()
    new = shop.get("/v1/parts/Q76-HEADS-LIKE-FLINT").json()
    assert unnamed.status_code == 422
    assert 'href="#sku"' in unnamed.text
    assert taken.status_code == 200
    assert new["spec"] == old["spec"]


@pytest.mark.parametrize("kind", list(Kind))
def test_an_empty_form_names_what_is_needed_and_makes_nothing(shop: TestClient, kind: Kind) -> None:
    address = f"/shop/new/{kind.value}"
    form = Sent(shop.get(address).text)

    answer = shop.post(address, data=form.data, headers=OWN)

    key = EDITABLE[kind].shape.key_field
    assert answer.status_code == 422
    assert f'href="#{key}"' in answer.text


def test_a_text_that_asks_to_mislead_is_refused_in_a_form_too(shop: TestClient) -> None:
    """The project's own rule: public-law.md, row 33."""
    form = Sent(shop.get(HEADS).text)
    words: dict[str, Any] = {"title": "Cover that hides the change from the inspector"}
    sent = {**form.data, **words}

    answer = shop.post(HEADS, data=sent, headers=OWN)

    again = Sent(answer.text).data
    assert answer.status_code == 422
    assert "no help" in answer.text
    assert again == {name: [one] if isinstance(one, str) else one for name, one in sent.items()}
    mended = shop.post(HEADS, data={**again, "title": "Cover"}, headers=OWN)
    assert "Saved." in mended.text
