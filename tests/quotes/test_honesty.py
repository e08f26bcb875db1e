"""What a quote says on paper: all of it, always the same, and nothing that it must not say.

PDFs are read back with PDFium, which is not what writes them.
"""

import functools
import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pypdfium2
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from pypdfium2 import raw
from sqlmodel import update

from service.catalog.rules import RuleKind, RuleSeverity, Selector
from service.catalog.slots import Slot
from service.catalog.store.rules import add_rule
from service.compliance.store import add_document
from service.database import Database
from service.money import decimal_text
from service.quotes.api import desk
from service.quotes.differences import differences, printed_differences
from service.quotes.document import Copy, Issue, quote_document
from service.quotes.money import Item, TaxRule, bill, plain
from service.quotes.pdf import quote_pdf
from service.quotes.tables import QuoteRow
from service.wording import banned_words
from tests.factories import make_document, make_part, make_rule
from tests.printed import one_line, pages
from tests.quotes.made import ADDRESS, HOT_CAM, content, create, declare, issue, move, shop
from tests.quotes.test_exports import rows
from tests.quotes.test_money import ITEMS, PERCENT, TAXES

BLOCKS = ("1. Appearance", "2. Devices", "3. Papers", "4. Jurisdiction note")
REASON = "The customer has a mating part that the catalogue does not know."


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


@pytest.fixture
def blocked(client: TestClient, database: Database) -> TestClient:
    """A shop with a rule against the camshaft that its quotes are about."""
    rule = make_rule(
        key="no-camshaft",
        kind=RuleKind.EXCLUDES,
        severity=RuleSeverity.BLOCKS,
        when=Selector(slot=Slot.CAMSHAFT),
        other=Selector(slot=Slot.CYLINDER_HEADS),
        reason="The demo's camshaft does not go with these heads.",
        remedy="Take another one.",
    )
    with database.writing() as session:
        add_rule(session, rule)
    return client


def paper(client: TestClient, quote: dict[str, Any], copy: str) -> str:
    number = len(quote["revisions"])
    answer = client.get(f"{ADDRESS}/{quote['id']}/revisions/{number}/{copy}.pdf")
    return one_line("\n".join(pages(answer.content)))


def pictures_in(pdf: bytes) -> int:
    """Count what is drawn in dots; lines and letters are not."""
    document = pypdfium2.PdfDocument(pdf)
    dots = [raw.FPDF_PAGEOBJ_IMAGE]
    count = sum(len(list(page.get_objects(filter=dots, max_depth=9))) for page in document)
    document.close()
    return count


def minute(at: str) -> str:
    """A moment of the API as it is printed."""
    return f"{at[:16].replace('T', ' ')} UTC"


def frozen(client: TestClient, quote: dict[str, Any]) -> dict[str, Any]:
    return dict(client.get(f"{ADDRESS}/{quote['id']}/revisions/1").json())


def issue_of(kept: dict[str, Any]) -> Issue:
    """Return what a revision was printed from, out of its evidence."""
    return desk.issue_of(kept["frozen"])


def test_a_blocked_kit_is_issued_with_a_recorded_override_and_its_reason_alone(
    blocked: TestClient,
) -> None:
    draft = declare(blocked, create(blocked))

    without = move(blocked, draft, "issue", status=422)
    short = move(blocked, draft, "issue", status=422, override_reason="yes")
    blank = move(blocked, draft, "issue", status=422, override_reason=" " * 20)
    quote = move(blocked, draft, "issue", override_reason=REASON)

    assert "no-camshaft" in without["detail"]
    for each in (short, blank):
        assert each["errors"][0]["pointer"] == "/override_reason"
    history = blocked.get(f"{ADDRESS}/{quote['id']}/history").json()
    assert [each["kind"] for each in history][2:] == ["finding_overridden", "issued"]
    assert history[2]["note"] == REASON
    assert history[2]["by"] == "Demo desk"
    for copy in ("customer", "shop"):
        printed = paper(blocked, quote, copy)
        assert f"by Demo desk on {minute(history[2]['at'])}, for this reason: {REASON}" in printed
        assert "Does not go together" in printed
        # The codes of findings are the shop's own.
        assert ("shop_rule.no-camshaft" in printed) is (copy == "shop")


def test_a_revision_is_not_accepted_after_its_last_day(
    client: TestClient, database: Database
) -> None:
    quote = issue(client, create(client))
    over = datetime.now(UTC) - timedelta(seconds=1)
    with database.writing() as session:
        session.exec(update(QuoteRow).values(expires_at=over))

    refused = move(client, quote, "accept", status=409)

    assert "2099-12-31" in refused["detail"]
    assert "revise" in refused["detail"]


def test_each_copy_says_all_four_blocks_the_use_the_cautions_and_what_power_rests_on(
    client: TestClient,
) -> None:
    quote = issue(client, create(client, shop_note="Ring first.", customer_note="Thank you."))
    kept = frozen(client, quote)["frozen"]

    for copy in ("customer", "shop"):
        printed = paper(client, quote, copy)
        places = [printed.index(heading) for heading in BLOCKS]
        assert places == sorted(places)
        assert quote["declaration_text"] in printed
        said = quote["declaration"]["acknowledged_at"]
        assert f"Acknowledged by Demo Customer on {minute(said)}, in these words:" in printed
        for caution in kept["assessment"]["cautions"]:
            assert one_line(caution) in printed
        basis = kept["assessment"]["basis"]
        assert basis["rating"] in printed
        assert basis["bounds"] in printed
        power = kept["assessment"]["peaks"]["power"]
        assert f"{power['power_low_kw']:.0f} to {power['power_high_kw']:.0f} kW" in printed
        assert "SAE J1349" in printed
        assert "page 1 of" in printed
        assert banned_words(printed) == ()
        # Codes stand in brackets, on the shop's copy alone.
        plain_words = re.sub(r"\[.*?\]", "", printed) if copy == "shop" else printed
        assert not re.search(r"[a-z]_[a-z]|us-ca", plain_words)
    assert "Ring first." in paper(client, quote, "shop")
    assert "Ring first." not in paper(client, quote, "customer")


def test_a_competition_declaration_is_printed_and_changes_no_block(client: TestClient) -> None:
    said = {"competition_declared": True}
    plain = issue(client, create(client))
    question = {**plain["content"]["question"], **said}
    declared = issue(client, create(client, question=question))

    one, other = (frozen(client, each)["frozen"]["assessment"] for each in (plain, declared))
    for block in ("appearance", "devices", "paperwork", "street_use"):
        assert one[block] == other[block], block
    note, told = one["jurisdiction_note"], other["jurisdiction_note"]
    for field in ("outcome", "statements", "documented", "missing"):
        assert note[field] == told[field], field
    (more,) = [each for each in told["cautions"] if each not in note["cautions"]]
    assert "does not change this report" in more
    assert "competition only" in paper(client, declared, "customer")


def test_a_copy_is_printed_again_from_its_evidence_to_the_byte(client: TestClient) -> None:
    quote = issue(client, create(client))
    kept = frozen(client, quote)

    for copy in Copy:
        stored = client.get(f"{ADDRESS}/{quote['id']}/revisions/1/{copy.value}.pdf").content
        again = quote_pdf(quote_document(issue_of(kept), copy, kept["frozen_sha256"]))
        assert again == stored
        assert printed_elsewhere(kept, copy) == hashlib.sha256(stored).hexdigest()


AGAIN = """
import hashlib, json, sys
from service.quotes.document import Copy, quote_document
from service.quotes.pdf import quote_pdf
from tests.quotes.test_honesty import issue_of
kept = json.load(sys.stdin)
pdf = quote_pdf(quote_document(issue_of(kept), Copy(sys.argv[1]), kept["frozen_sha256"]))
print(hashlib.sha256(pdf).hexdigest())
"""


def printed_elsewhere(kept: dict[str, Any], copy: Copy) -> str:
    """Return the digest of a copy that another process prints, elsewhere in the world."""
    there = subprocess.run(  # noqa: S603 - This interpreter, these words.
        [sys.executable, "-c", AGAIN, copy.value],
        input=json.dumps(kept),
        env={**os.environ, "TZ": "Pacific/Auckland", "LANG": "C", "PYTHONHASHSEED": "7"},
        capture_output=True,
        text=True,
        check=True,
    )
    return there.stdout.strip()


BANNED = "Said to be street-legal everywhere"
"""A word of public law, section 11, that no text of the service may hold."""


def test_no_words_of_anybody_bring_a_banned_one_onto_paper(blocked: TestClient) -> None:
    rule = {**TAX, "key": "said", "title": BANNED}
    blocked.put("/v1/tax-rules/said", json=rule)
    asked = {"reference": BANNED, "name": "Demo Customer"}

    by_reason = move(
        blocked, declare(blocked, create(blocked)), "issue", status=422, override_reason=BANNED
    )
    draft = declare(blocked, create(blocked, tax_rules=["said"]))
    by_title = move(blocked, draft, "issue", status=422, override_reason=REASON)
    by_reference = blocked.post(ADDRESS, json={"by": "Demo", "content": content(customer=asked)})

    for problem in (by_reason, by_title):
        assert "street-legal" in problem["detail"]
        assert BANNED in problem["detail"]
    assert by_reference.json()["errors"][0]["pointer"] == "/customer/reference"


def test_a_customer_is_quoted_whatever_they_are_called(client: TestClient) -> None:
    """A name is no claim of the shop's, and only the name may hold the word."""
    asked = {"reference": "PO-0007", "name": "Approved Demo Repair"}

    client.put("/v1/tax-rules/demo", json={**TAX, "title": "A tax that is approved"})

    quote = issue(client, create(client, customer=asked))
    draft = declare(client, create(client, customer=asked, tax_rules=["demo"]))

    assert "Approved Demo Repair" in paper(client, quote, "customer")
    assert "A tax that is approved" in move(client, draft, "issue", status=422)["detail"]


def test_a_name_that_holds_a_banned_word_lets_it_pass_nowhere_else(blocked: TestClient) -> None:
    asked = {"reference": "PO-0007", "name": "legal"}
    reason = "It is legal, says the customer."

    draft = declare(blocked, create(blocked, customer=asked))
    refused = move(blocked, draft, "issue", status=422, override_reason=reason)

    assert reason in refused["detail"]


def test_an_address_and_who_declares_say_nothing_that_a_quote_must_not(
    client: TestClient,
) -> None:
    words = "This kit is approved and street-legal in California"
    asked = {"reference": "PO-0007", "name": "Demo Customer", "address": words}
    draft = create(client)

    by_address = client.post(ADDRESS, json={"by": "Demo", "content": content(customer=asked)})
    said = {"name": "This kit is compliant", "text": draft["declaration_text"]}
    by_declarer = move(client, draft, "declaration", status=422, **said)

    assert by_address.json()["errors"][0]["pointer"] == "/customer/address"
    assert by_declarer["errors"][0]["pointer"] == "/name"


def test_who_issues_papers_is_named_as_they_are_called(
    client: TestClient, database: Database
) -> None:
    """The made camshaft's paper; nothing but its issuer holds the word."""
    part = make_part(Slot.CAMSHAFT, sku=HOT_CAM)
    scope = replace(make_document().scope[0], part_references=(part.maker_reference,))
    paper_on_file = make_document(issuer="Approved Demo Papers", scope=(scope,))
    with database.writing() as session:
        add_document(session, paper_on_file)

    printed = paper(client, issue(client, create(client)), "customer")

    assert printed.count("Approved Demo Papers") >= 2


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_whatever_prints_otherwise_is_told_as_a_difference(client: TestClient) -> None:
    """Property: each text of the evidence, changed; what the customer reads then is told."""
    kept = frozen(client, issue(client, create(client, lines=[WORK], customer_note="Thanks.")))
    evidence = kept["frozen"]
    before = quote_document(desk.issue_of(evidence), Copy.CUSTOMER, "")
    seen = 0
    for path in texts_of(evidence):
        changed = deepcopy(evidence)
        place = functools.reduce(lambda value, step: value[step], path[:-1], changed)
        place[path[-1]] = f"{place[path[-1]]} changed"
        try:
            after = quote_document(desk.issue_of(changed), Copy.CUSTOMER, "")
        except (ValidationError, KeyError, ValueError):
            continue
        if after != before:
            seen += 1
            told = [*differences(evidence, changed), *printed_differences(before, after)]
            assert told, path
    assert seen > 40


def texts_of(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:  # noqa: ANN401
    """Yield where texts stand that may be printed; figures of the curve come in hundreds."""
    if isinstance(value, str):
        yield path
    elif path not in NOT_PRINTED:
        inside = dict(enumerate(value)) if isinstance(value, list) else value
        for step, each in inside.items() if isinstance(inside, dict) else ():
            yield from texts_of(each, (*path, step))


NOT_PRINTED = {
    ("parts",),
    ("items",),
    ("assessment", "parts_list"),
    ("assessment", "curve"),
    ("assessment", "street_use_by_place"),
}
WORK = {
    "kind": "labour",
    "title": "Fitting",
    "unit_price": {"amount": "90.00"},
    "note": "On Monday.",
}


def test_nobody_acts_without_a_name(client: TestClient) -> None:
    draft = create(client)

    said = {"name": " ", "text": draft["declaration_text"]}
    nameless = move(client, draft, "declaration", status=422, **said)
    unsigned = client.post(ADDRESS, json={"by": " ", "content": content()})

    assert nameless["errors"][0]["pointer"] == "/name"
    assert unsigned.json()["errors"][0]["pointer"] == "/by"
    assert client.get(f"{ADDRESS}/{draft['id']}").json()["declaration"] is None


LINES = st.lists(
    st.fixed_dictionaries(
        {
            "kind": st.sampled_from(["labour", "machining", "freight"]),
            "title": st.just("A line"),
            "quantity": st.decimals("0.001", 999, places=3).map(plain),
            "unit_price": st.integers(0, 10_000_000).map(
                lambda amount: {"amount": decimal_text(amount), "currency": "USD"}
            ),
            "discount_percent": PERCENT.map(plain),
            "core_deposit": st.none() | st.just({"amount": "12.34", "currency": "USD"}),
        }
    ),
    max_size=6,
)


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_api_page_list_evidence_and_both_papers_have_one_total_and_it_adds_up(
    client: TestClient,
) -> None:
    """Property: whatever the desk writes, each output's lines sum to the one total."""
    client.put("/v1/tax-rules/demo", json=TAX)

    @settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
    @given(lines=LINES, off=PERCENT)
    def agrees(lines: list[dict[str, Any]], off: Decimal) -> None:
        draft = create(client, lines=lines, discount_percent=plain(off), tax_rules=["demo"])
        adds_up_on_screen(client, draft)
        quote = issue(client, draft)
        total = adds_up_on_screen(client, quote)
        amounts = [each["amount"]["amount"] for each in quote["bill"]["lines"]]
        assert frozen(client, quote)["frozen"]["bill"] == quote["bill"]
        for copy in ("customer", "shop"):
            printed = paper(client, quote, copy)
            assert f"Total, {total['currency']} {total['amount']}" in printed
            at = 0
            for amount in amounts:
                at = printed.index(amount, at) + len(amount)

    agrees()


def adds_up_on_screen(client: TestClient, quote: dict[str, Any]) -> dict[str, str]:
    """Return the one total that API, list, page and files show of a draft or an issued quote."""
    total, lines = quote["bill"]["total"], quote["bill"]["lines"]
    amounts = [each["amount"]["amount"] for each in lines]
    assert Decimal(total["amount"]) == sum(map(Decimal, amounts))
    assert client.get(f"{ADDRESS}/{quote['id']}").json()["bill"] == quote["bill"]
    assert client.get(ADDRESS).json()["items"][0]["total"] == total
    page = client.get(f"/desk/quotes/{quote['id']}").text
    billed = page[page.index("<tbody>") : page.index("</tfoot>")]
    shown = re.findall(r'<td class="number"[^>]*>(-?[0-9.]+) USD</td></tr>', billed)
    assert shown == amounts
    assert f"<strong>{total['amount']} {total['currency']}</strong>" in billed
    *exported, last = rows(client.get(f"{ADDRESS}/{quote['id']}/export.csv"))
    assert [each["amount"] for each in exported] == amounts
    assert last["amount"] == total["amount"]
    everything = rows(client.get(f"{ADDRESS}/export.csv"))
    assert everything[0]["total"] == total["amount"]
    return dict(total)


TAX = {
    "key": "demo",
    "title": "Demo tax",
    "rate_percent": "8.25",
    "kinds": ["part", "labour"],
    "basis": "line",
    "rounding": "half_even",
}


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_every_printed_bill_adds_up_on_paper(client: TestClient) -> None:
    """Property: of any bill the printed lines sum to the printed total, on both copies."""
    issued = issue_of(frozen(client, issue(client, create(client))))

    @settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])
    @given(items=ITEMS, off=PERCENT, taxes=TAXES)
    def adds_up(items: list[Item], off: Decimal, taxes: list[TaxRule]) -> None:
        made = bill(items, currency="USD", discount_percent=off, taxes=taxes)
        for copy in Copy:
            data = quote_document(replace(issued, bill=made), copy, "0" * 64)
            printed = one_line("\n".join(pages(quote_pdf(data))))
            amounts = [row[-1] for row in data["bill"]]
            assert amounts == [line.amount.amount for line in made.lines]
            assert Decimal(made.total.amount) == sum(map(Decimal, amounts))
            assert f"Total, USD {made.total.amount}" in printed
            at = 0
            for amount in amounts:
                at = printed.index(amount, at) + len(amount)

    adds_up()


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
@pytest.mark.parametrize("count", [1, 40, 120])
def test_a_bill_of_any_length_has_its_header_on_each_page_and_every_number_once(
    client: TestClient, count: int
) -> None:
    line = {"kind": "labour", "title": "Fitting", "unit_price": {"amount": "110.00"}}
    lines = [{**line, "title": f"Work {place:03}"} for place in range(count - 1)]
    quote = issue(client, create(client, lines=lines))
    content = client.get(f"{ADDRESS}/{quote['id']}/revisions/1/customer.pdf").content

    printed = pages(content)

    assert all(f"page {place} of {len(printed)}" in text for place, text in enumerate(printed, 1))
    assert all("Description" in text for text in printed if re.search(r"Work \d{3}", text))
    found = re.findall(r"Work \d{3}", "\n".join(printed))
    assert found == [each["title"] for each in lines]
    assert pictures_in(content) == 0


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_the_total_stands_on_the_page_of_the_last_line_wherever_a_page_ends(
    client: TestClient,
) -> None:
    """Every length of a bill around the end of a page, a line at a time."""
    issued = issue_of(frozen(client, issue(client, create(client))))
    (line,) = issued.bill.lines
    ends = set()
    for count in range(32, 42):
        lines = (*(count - 1) * (line,), replace(line, title="The last line"))
        made = replace(issued, bill=replace(issued.bill, lines=lines))

        printed = pages(quote_pdf(quote_document(made, Copy.CUSTOMER, "0" * 64)))

        (page,) = [at for at, text in enumerate(printed) if "Total, USD" in text]
        assert "The last line" in printed[page], count
        ends.add(page)
    assert ends == {0, 1}


def test_a_search_with_filters_is_read_in_pieces_without_gaps(client: TestClient) -> None:
    """Keyset paging: what is made meanwhile moves nothing."""
    made = []
    for place in range(6):
        reference = "PO-EVEN" if place % 2 == 0 else "PO-ODD"
        customer = {"reference": reference, "name": "Demo Customer"}
        made.append(create(client, customer=customer)["id"])
    wanted: dict[str, str] = {
        "customer_reference": "PO-EVEN",
        "part": "CAM-HOT",
        "state": "draft",
        "limit": "1",
    }
    seen: list[int] = []
    cursor: dict[str, str] = {}
    while True:
        page = client.get(ADDRESS, params={**wanted, **cursor}).json()
        seen += [item["id"] for item in page["items"]]
        create(client, customer={"reference": "PO-EVEN", "name": "Demo Later"})
        if page["next_cursor"] is None:
            break
        cursor = {"cursor": page["next_cursor"]}

    assert seen == [made[4], made[2], made[0]]
    assert client.get(ADDRESS, params={"limit": 1, **cursor}).status_code == 400


def test_work_of_a_finding_is_taken_into_the_draft_and_costs_the_same_when_issued(
    blocked: TestClient,
) -> None:
    quote = declare(blocked, create(blocked))
    told = move(blocked, quote, "issue", status=422)["detail"]
    code = re.search(r"\(([^)]+)\)", told)
    assert code is not None
    prices = {
        "key": "work",
        "title": "Work",
        "valid_from": "2020-01-01",
        "items": [
            {
                "item": code[1],
                "title": "Clearing the heads",
                "breaks": [{"from_quantity": 1, "unit_price": {"amount": "180.00"}}],
            }
        ],
    }
    assert blocked.put("/v1/price-lists/work", json=prices).status_code == 200
    draft = declare(blocked, create(blocked, price_list="work"))

    taken = move(blocked, draft, "machining")
    again = move(blocked, taken, "machining")
    quote = move(blocked, again, "issue", override_reason=REASON)

    kinds = [line["kind"] for line in taken["bill"]["lines"]]
    assert kinds == ["part", "machining"]
    assert taken["bill"]["lines"][1]["title"] == "Clearing the heads"
    assert quote["bill"] == again["bill"] == taken["bill"]
    page = blocked.get(f"/desk/quotes/{draft['id']}").text
    assert "Clearing the heads" in page
    assert json.dumps(taken["declaration"]) == json.dumps(draft["declaration"])
