"""The life of a quote over HTTP, on both databases."""

from collections.abc import Iterator
from datetime import UTC, datetime
from html import unescape

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy.exc import DBAPIError
from sqlmodel import update

from service.database import Database
from service.quotes.quote import ALLOWED, Move, QuoteState
from service.quotes.tables import QuoteRow
from tests.quotes.made import ADDRESS, Json, content, create, declare, issue, move, shop


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def test_a_quote_is_drafted_declared_issued_and_accepted_with_who_and_when(
    client: TestClient,
) -> None:
    quote = issue(client, create(client))
    accepted = move(client, quote, "accept", note="By telephone")

    history = client.get(f"{ADDRESS}/{quote['id']}/history").json()
    assert accepted["state"] == "accepted"
    assert [each["kind"] for each in history] == ["created", "use_declared", "issued", "accepted"]
    assert [each["number"] for each in history] == [1, 2, 3, 4]
    assert {each["by"] for each in history} == {"Demo desk"}
    assert history[-1]["note"] == "By telephone"
    assert [each["at"] for each in history] == sorted(each["at"] for each in history)


def test_the_history_says_what_an_edit_changed(client: TestClient) -> None:
    quote = create(client)
    work = {"kind": "labour", "title": "Fitting", "unit_price": {"amount": "90.00"}}
    costly = {**work, "unit_cost": {"amount": "40.00"}}
    change = {"customer": {"name": "Demo Other"}, "discount_percent": "10", "lines": [costly]}
    headers = {"If-Match": '"1"', "Content-Type": "application/merge-patch+json"}
    answer = client.patch(
        f"{ADDRESS}/{quote['id']}", json={"by": "Demo desk", "content": change}, headers=headers
    )
    assert answer.status_code == 200, answer.text

    event = client.get(f"{ADDRESS}/{quote['id']}/history").json()[-1]
    told = {each["sentence"] for each in event["data"]["differences"]}
    page = unescape(client.get(f"/desk/quotes/{quote['id']}").text)

    assert event["kind"] == "edited"
    assert told == {
        "Added: Fitting, 1 h at 90.00: 90.00.",
        "Added: Discount of 10 %: -50.91.",  # Of 419.05 for the camshaft and 90.00.
        "Customer, name: Demo Customer becomes Demo Other.",
        "Discount percent: 0 becomes 10.",
        "Fitting, unit cost: nothing becomes 40.00 USD.",
    }
    assert all(sentence in page for sentence in told)


def test_only_allowed_moves_are_made(client: TestClient) -> None:
    draft = create(client)

    for name in ("accept", "decline", "revisions"):
        move(client, draft, name, status=409)
    quote = issue(client, draft)
    move(client, quote, "issue", status=409)
    quote = move(client, quote, "decline")
    move(client, quote, "accept", status=409)


@pytest.mark.parametrize(
    ("state", "moves"),
    [
        # What was issued expires on its day also while the next revision is drafted.
        ("draft", "edited use_declared finding_overridden issued draft_discarded expired"),
        ("issued", "accepted declined expired revised"),
        ("accepted", "revised"),
        ("declined", "revised"),
        ("expired", "revised"),
        ("superseded", ""),
    ],
)
def test_each_state_allows_its_moves_and_no_other(state: str, moves: str) -> None:
    """The issue: what is issued is immutable, answered once, and revised by a new revision."""
    starts = {move.value for move, states in ALLOWED.items() if state in states}

    assert starts == set(moves.split())
    assert {each.value for each in QuoteState} == {
        "draft",
        "issued",
        "accepted",
        "declined",
        "expired",
        "superseded",
    }
    assert set(ALLOWED) == set(Move) - {Move.CREATE}


def test_a_quote_is_not_issued_before_its_use_is_declared_word_for_word(
    client: TestClient,
) -> None:
    draft = create(client)

    move(client, draft, "issue", status=422)
    move(client, draft, "declaration", status=422, name="X", text="Something else.")
    declared = declare(client, draft)

    assert declared["declaration"]["text"] == draft["declaration_text"]
    assert declared["declaration"]["acknowledged_at"]


def test_another_use_has_to_be_declared_anew(client: TestClient) -> None:
    quote = declare(client, create(client))

    answer = client.patch(
        f"{ADDRESS}/{quote['id']}",
        json={"by": "Demo desk", "content": {"question": {"competition_declared": True}}},
        headers={
            "If-Match": f'"{quote["version"]}"',
            "Content-Type": "application/merge-patch+json",
        },
    )

    assert answer.status_code == 200, answer.text
    assert answer.json()["declaration"] is None
    assert "competition only" in answer.json()["declaration_text"]


def test_a_revision_supersedes_the_last_one_when_it_is_issued(client: TestClient) -> None:
    quote = issue(client, create(client))
    draft = move(client, quote, "revisions", status=201)
    assert draft["state"] == "draft"
    assert [each["state"] for each in draft["revisions"]] == ["issued"]

    changed = client.patch(
        f"{ADDRESS}/{quote['id']}",
        json={"by": "Demo desk", "content": {"discount_percent": "10"}},
        headers={
            "If-Match": f'"{draft["version"]}"',
            "Content-Type": "application/merge-patch+json",
        },
    ).json()
    second = move(client, changed, "issue")

    assert [each["state"] for each in second["revisions"]] == ["superseded", "issued"]
    told = client.get(f"{ADDRESS}/{quote['id']}/revisions/2/differences").json()
    sentences = [each["sentence"] for each in told]
    assert "Added: Discount of 10 %: -41.91." in sentences
    assert "Total: 419.05 USD becomes 377.14 USD." in sentences


def test_a_draft_that_is_discarded_leaves_the_issued_revision_as_it_was(
    client: TestClient,
) -> None:
    move(client, create(client), "discard", status=409)
    quote = issue(client, create(client))
    draft = move(client, quote, "revisions", status=201)

    back = move(client, draft, "discard")

    assert back["state"] == "issued"
    assert back["bill"] == quote["bill"]
    assert move(client, back, "accept")["state"] == "accepted"


def test_a_duplicate_is_a_new_draft_that_says_the_same(client: TestClient) -> None:
    quote = issue(client, create(client, discount_percent="5"))

    copy = client.post(
        f"{ADDRESS}/{quote['id']}/duplicates",
        json={"by": "Demo desk", "valid_until": "2099-11-30", "customer_reference": "PO-8"},
    ).json()

    assert copy["id"] != quote["id"]
    assert copy["state"] == "draft"
    assert copy["declaration"] is None
    assert copy["bill"] == quote["bill"]
    assert copy["content"]["customer"]["reference"] == "PO-8"


@pytest.mark.parametrize("table", ["quote_revision", "quote_event"])
@pytest.mark.parametrize("deed", ["UPDATE {} SET number = number + 1", "DELETE FROM {}"])
def test_the_database_itself_refuses_to_change_what_was_issued(
    client: TestClient, database: Database, table: str, deed: str
) -> None:
    issue(client, create(client))

    with database.engine.connect() as connection, pytest.raises(DBAPIError, match="never changed"):
        connection.exec_driver_sql(deed.format(table))


def test_quotes_are_found_by_reference_part_state_and_date(client: TestClient) -> None:
    first = create(client)
    other = create(client, customer={"reference": "PO-9", "name": "Demo Other"})
    issue(client, other)

    def found(**wanted: str) -> list[int]:
        items = client.get(ADDRESS, params=wanted).json()["items"]
        return [item["id"] for item in items]

    assert found() == [other["id"], first["id"]]
    assert found(customer_reference="PO-9") == [other["id"]]
    for piece in ("po-9", "O-9", "PO-9 "):
        assert found(customer_reference=piece) == [other["id"]]
    assert found(customer_reference="po-") == [other["id"], first["id"]]
    for no_pattern in ("PO_9", "%", "PO-9x"):
        assert found(customer_reference=no_pattern) == []
    assert found(customer_name="demo  OTHER") == [other["id"]]
    assert found(customer_name="ther", customer_reference="0007") == []
    assert found(state="draft") == [first["id"]]
    assert found(part="CAM-HOT") == [other["id"], first["id"]]
    assert found(part="NOTHING") == []
    assert found(created_to="2000-01-01") == []
    assert found(created_from="2000-01-01") == [other["id"], first["id"]]


@pytest.mark.parametrize(
    ("time_zone", "day", "others"),
    [("UTC", "2026-03-01", "2026-03-02"), ("Pacific/Auckland", "2026-03-02", "2026-03-01")],
)
def test_a_day_of_a_search_is_one_of_the_shop(
    client: TestClient, app: FastAPI, database: Database, time_zone: str, day: str, others: str
) -> None:
    """Half past eleven at night in UTC is half past noon of the next day in Auckland (UTC+13)."""
    create(client)
    with database.writing() as session:
        session.exec(update(QuoteRow).values(created_at=datetime(2026, 3, 1, 23, 30, tzinfo=UTC)))
    app.state.settings = app.state.settings.model_copy(update={"time_zone": time_zone})

    def found(on: str) -> int:
        answer = client.get(ADDRESS, params={"created_from": on, "created_to": on})
        return len(answer.json()["items"])

    assert (found(day), found(others)) == (1, 0)


def test_a_day_after_which_there_is_none_is_refused_with_the_limit(client: TestClient) -> None:
    for answer in (
        client.get(ADDRESS, params={"created_to": "9999-12-31"}),
        client.post(ADDRESS, json={"by": "X", "content": content(valid_until="9999-12-31")}),
    ):
        assert answer.status_code == 422
        assert "2999-12-31" in answer.json()["errors"][0]["detail"]


@pytest.mark.parametrize(
    ("address", "body"),
    [
        ("/v1/price-lists/demo", {"title": "Demo", "valid_from": "2026-01-01", "items": []}),
        (
            "/v1/tax-rules/demo",
            {"title": "T", "rate_percent": "8", "kinds": [], "basis": "sum", "rounding": "half_up"},
        ),
    ],
)
def test_what_is_put_whole_replaces_only_the_version_that_was_seen(
    client: TestClient, address: str, body: Json
) -> None:
    """RFC 9110, section 13.1.1; RFC 6585, section 3."""

    def put(title: str, *tags: str) -> int:
        headers = {"If-Match": ", ".join(tags)} if tags else {}
        sent = {"key": "demo", **body, "title": title}
        return int(client.put(address, json=sent, headers=headers).status_code)

    assert put("First", '"1"') == 412
    assert put("First") == 200
    assert put("Second") == 428
    assert put("Second", '"2"') == 412
    assert put("Second", '"1"', '"7"') == 200
    assert client.get(address).json()["version"] == 2


def test_a_list_is_read_in_pieces_without_gaps_while_it_grows(client: TestClient) -> None:
    made = [create(client)["id"] for _ in range(5)]

    page = client.get(ADDRESS, params={"limit": 2}).json()
    create(client)
    seen = [item["id"] for item in page["items"]]
    while page["next_cursor"]:
        page = client.get(ADDRESS, params={"limit": 2, "cursor": page["next_cursor"]}).json()
        seen += [item["id"] for item in page["items"]]

    assert seen == made[::-1]


def test_a_change_names_the_version_that_it_is_meant_for(client: TestClient) -> None:
    """RFC 6585: 428 without If-Match; RFC 9110: 412 with an old one."""
    quote = create(client)
    declare(client, quote)

    without = client.post(f"{ADDRESS}/{quote['id']}/issue", json={"by": "Demo desk"})
    move(client, quote, "issue", status=412)

    assert without.status_code == 428


def test_a_revision_tells_another_note_on_a_line_and_another_name_under_the_use(
    client: TestClient,
) -> None:
    work = {"kind": "labour", "title": "Fitting", "unit_price": {"amount": "90.00"}}
    quote = issue(client, create(client, lines=[{**work, "note": "On Monday."}]))
    draft = move(client, quote, "revisions", status=201)
    changed = client.patch(
        f"{ADDRESS}/{quote['id']}",
        json={"by": "Demo desk", "content": {"lines": [{**work, "note": "On Friday."}]}},
        headers={
            "If-Match": f'"{draft["version"]}"',
            "Content-Type": "application/merge-patch+json",
        },
    ).json()
    said = {"name": "Demo Deputy", "text": changed["declaration_text"]}
    move(client, move(client, changed, "declaration", **said), "issue")

    told = client.get(f"{ADDRESS}/{quote['id']}/revisions/2/differences").json()
    sentences = " ".join(each["sentence"] for each in told)

    assert "Fitting (On Monday.), 1 h at 90.00: 90.00 becomes Fitting (On Friday.)" in sentences
    assert "Declared use, new: Acknowledged by Demo Deputy on" in sentences


def test_what_a_revision_changes_is_told_in_sentences_without_words_of_the_machine(
    client: TestClient,
) -> None:
    quote = issue(client, create(client))
    draft = move(client, quote, "revisions", status=201)
    work = {"kind": "labour", "title": "Fitting", "unit_price": {"amount": "90.00"}}
    question = {"use": "nonroad", "place": "us-federal", "model_year": 1999}
    changed = client.patch(
        f"{ADDRESS}/{quote['id']}",
        json={"by": "Demo desk", "content": {"question": question, "lines": [work]}},
        headers={
            "If-Match": f'"{draft["version"]}"',
            "Content-Type": "application/merge-patch+json",
        },
    ).json()
    issue(client, changed)

    told = client.get(f"{ADDRESS}/{quote['id']}/revisions/2/differences").json()
    sentences = [each["sentence"] for each in told]

    assert "Added: Fitting, 1 h at 90.00: 90.00." in sentences
    assert "Use: road becomes nonroad." in sentences
    assert "Model year: 2000 becomes 1999." in sentences
    assert "Place: California becomes United States, federal rules." in sentences
    assert "Total: 419.05 USD becomes 509.05 USD." in sentences
    assert not [each for each in sentences if "_" in each or "us-" in each]
    same = client.get(f"{ADDRESS}/{quote['id']}/revisions/2/differences", params={"since": 2})
    assert same.json() == []
