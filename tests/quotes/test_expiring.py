"""Quotes expire by a worker: each once, with an event, whoever is at work."""

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import col, update
from standardwebhooks import Webhook

from service.commands import work
from service.commands.upkeep import CHECKS
from service.database import Database
from service.quotes.expiring import expire_one
from service.quotes.tables import QuoteRow
from service.settings import Settings
from service.workers import chores_of
from tests.quotes.made import ADDRESS, create, issue, move, shop
from tests.webhooks.receiving import receiver

WITHIN_S = 20.0


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def let_time_pass(database: Database, *ids: int) -> None:
    """Let the last day of these quotes have ended a second ago."""
    over = datetime.now(UTC) - timedelta(seconds=1)
    with database.writing() as session:
        session.exec(update(QuoteRow).where(col(QuoteRow.id).in_(ids)).values(expires_at=over))


def history(client: TestClient, quote_id: int) -> list[dict[str, Any]]:
    return list(client.get(f"{ADDRESS}/{quote_id}/history").json())


def test_every_overdue_quote_expires_once_whoever_is_at_work(
    client: TestClient, database: Database
) -> None:
    ids = [issue(client, create(client))["id"] for _ in range(6)]
    let_time_pass(database, *ids)

    def expire_all() -> int:
        done, give_up = 0, time.monotonic() + WITHIN_S
        while time.monotonic() < give_up:
            done += expire_one(database)
            if not client.get(ADDRESS, params={"state": "issued"}).json()["items"]:
                break
        return done

    with ThreadPoolExecutor(4) as threads:
        found = [threads.submit(expire_all) for _ in range(4)]
    assert sum(each.result() for each in found) == len(ids)

    for quote_id in ids:
        told = history(client, quote_id)
        assert [each["kind"] for each in told][-2:] == ["issued", "expired"]
        assert (told[-1]["by"], told[-1]["revision"]) == ("worker", 1)
        assert client.get(f"{ADDRESS}/{quote_id}").json()["state"] == "expired"


def test_a_quote_is_good_until_its_last_day_is_over(client: TestClient, database: Database) -> None:
    quote = issue(client, create(client))

    assert not expire_one(database)
    assert client.get(f"{ADDRESS}/{quote['id']}").json()["state"] == "issued"


def test_a_quote_past_its_day_is_not_accepted_even_before_a_worker_looks(
    client: TestClient, database: Database
) -> None:
    quote = issue(client, create(client))
    let_time_pass(database, quote["id"])

    move(client, quote, "accept", status=409)


def test_what_was_issued_expires_on_its_day_whatever_is_being_drafted(
    client: TestClient, database: Database
) -> None:
    quote = issue(client, create(client))
    draft = move(client, quote, "revisions", status=201)
    let_time_pass(database, quote["id"])

    assert expire_one(database)
    assert not expire_one(database)

    assert history(client, quote["id"])[-1]["kind"] == "expired"
    assert history(client, quote["id"])[-1]["revision"] == 1
    drafted = client.get(f"{ADDRESS}/{quote['id']}").json()
    assert (drafted["state"], drafted["content"]) == ("draft", draft["content"])
    assert [each["state"] for each in drafted["revisions"]] == ["expired"]
    move(client, draft, "issue", status=412)  # It was seen before its last revision was over.
    second = move(client, drafted, "issue")
    assert [each["state"] for each in second["revisions"]] == ["superseded", "issued"]
    with database.reading() as session:
        assert [problem for check in CHECKS.values() for problem in check(session)] == []


def test_a_draft_that_is_given_up_leaves_a_quote_that_has_expired(
    client: TestClient, database: Database
) -> None:
    quote = issue(client, create(client))
    move(client, quote, "revisions", status=201)
    let_time_pass(database, quote["id"])
    assert expire_one(database)

    back = move(client, client.get(f"{ADDRESS}/{quote['id']}").json(), "discard")

    assert back["state"] == "expired"
    assert not expire_one(database)


def until_expired(database: Database, quote_id: int) -> None:
    give_up = time.monotonic() + WITHIN_S
    while time.monotonic() < give_up:
        with database.reading() as session:
            if session.get_one(QuoteRow, quote_id).state == "expired":
                return
        time.sleep(0.05)
    pytest.fail("It did not expire.")


def test_a_server_alone_lets_quotes_expire_and_tells_of_it(
    app: FastAPI, database: Database
) -> None:
    """Plain `kitwright serve`, on a file and on a server of databases: no worker is started."""
    app.state.settings = app.state.settings.model_copy(update={"webhook_loopback": True})
    with receiver(200) as told:
        with shop(app, database) as client:
            wanted = {"url": told.url, "events": ["quote.expired"]}
            secret = client.post("/v1/webhooks", json=wanted).json()["secret"]
            quote = issue(client, create(client))
        let_time_pass(database, quote["id"])
        app.state.chores_of = chores_of

        give_up = time.monotonic() + WITHIN_S
        with TestClient(app):
            while not told.came and time.monotonic() < give_up:
                time.sleep(0.05)

    ((head, body),) = told.came
    message = Webhook(secret).verify(body, head)
    assert message["type"] == "quote.expired"
    assert (message["data"]["quote_id"], message["data"]["state"]) == (quote["id"], "expired")


def test_a_worker_in_a_process_of_its_own_lets_quotes_expire(
    app: FastAPI, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    with shop(app, database) as client:
        quote_id: int = issue(client, create(client))["id"]
    let_time_pass(database, quote_id)
    settings: Settings = app.state.settings

    class WaitingWorker:
        """In place of work on jobs, which would go on for ever."""

        def __init__(self, **_: object) -> None:
            pass

        def run(self) -> None:
            until_expired(database, quote_id)

    monkeypatch.setattr(work, "get_settings", lambda: settings)
    monkeypatch.setattr(work, "Worker", WaitingWorker)
    monkeypatch.setattr(work, "compile_kernels", lambda: None)
    work.worker()
