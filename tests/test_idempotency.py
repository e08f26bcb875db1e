"""draft-ietf-httpapi-idempotency-key-header-08, sections 2.6 and 2.7: replay, 409, 422."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Event
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlmodel import Session, col, delete, select, update

from service.database import Database
from service.idempotency import api as idempotency
from service.idempotency.api import Once
from service.idempotency.store import KEPT_FOR, KeyedRequest, begin, remove_old_keys
from service.idempotency.tables import IdempotencyKeyRow
from service.quotes.api import quotes
from service.quotes.api.keeping import add_draft
from service.quotes.schemas import QuoteOut
from service.workers import forget_some
from tests.quotes.made import ADDRESS, content, create, shop

WITHIN_S = 4.0
"""Shorter than a writer waits for the one before it on a file."""


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    with shop(app, database) as client:
        yield client


def test_a_repeat_is_answered_with_the_first_answer(client: TestClient) -> None:
    body = {"by": "Demo desk", "content": content()}
    first = client.post(ADDRESS, json=body, headers={"Idempotency-Key": '"one"'})
    again = client.post(ADDRESS, json=body, headers={"Idempotency-Key": '"one"'})

    assert again.status_code == first.status_code == 201
    assert again.content == first.content
    assert again.headers["Location"] == first.headers["Location"]
    assert again.headers["ETag"] == first.headers["ETag"]
    assert again.headers["Idempotent-Replayed"] == "true"
    assert "Idempotent-Replayed" not in first.headers
    assert len(client.get(ADDRESS).json()["items"]) == 1


def test_another_key_is_another_request(client: TestClient) -> None:
    assert create(client, "one")["id"] != create(client, "two")["id"]


def test_a_key_with_another_body_is_refused(client: TestClient) -> None:
    create(client, "one")

    answer = client.post(
        ADDRESS,
        json={"by": "Somebody else", "content": content()},
        headers={"Idempotency-Key": "one"},
    )

    assert answer.status_code == 422
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert len(client.get(ADDRESS).json()["items"]) == 1


def test_a_request_that_was_refused_may_be_mended_under_its_key(client: TestClient) -> None:
    wrong = client.post(ADDRESS, json={"by": "Demo desk"}, headers={"Idempotency-Key": "one"})

    assert wrong.status_code == 422
    assert create(client, "one")["id"]


def grow_older(database: Database, key: str) -> None:
    """Let a key be a little older than it is kept."""
    at = datetime.now(UTC) - KEPT_FOR - timedelta(seconds=1)
    with database.writing() as session:
        named = update(IdempotencyKeyRow).where(col(IdempotencyKeyRow.key) == key)
        session.exec(named.values(created_at=at))


def test_after_a_day_a_key_names_another_request_and_is_forgotten(
    client: TestClient, database: Database
) -> None:
    first, second = create(client, "one"), create(client, "two")
    grow_older(database, "one")

    assert create(client, "one")["id"] not in (first["id"], second["id"])
    grow_older(database, "one")
    forget_some(database, remove_old_keys, retention=KEPT_FOR)
    forget_some(database, remove_old_keys, retention=KEPT_FOR)

    with database.reading() as session:
        assert session.exec(select(IdempotencyKeyRow.key)).all() == ["two"]


def test_requests_under_different_keys_do_not_wait_for_each_other(postgres_url: str) -> None:
    """Where old keys are about, whoever came first would hold them; a file has one writer."""
    database = Database.open(postgres_url, pool_size=2)
    old, one, two = (KeyedRequest(caller="", key=key, fingerprint="") for key in ("0", "1", "2"))
    with database.writing() as session:
        begin(session, old)
    grow_older(database, "0")

    with database.writing() as first, database.writing() as second:
        begin(first, one)
        second.connection().exec_driver_sql("SET LOCAL lock_timeout = '1s'")
        begin(second, two)
        second.rollback()
        first.rollback()
    with database.writing() as session:
        session.exec(delete(IdempotencyKeyRow))
    database.close()


@pytest.mark.parametrize("elsewhere", [False, True], ids=["in this process", "in another"])
def test_while_a_request_is_in_hand_its_repeat_is_told_to_come_again(
    client: TestClient, app: FastAPI, monkeypatch: pytest.MonkeyPatch, *, elsewhere: bool
) -> None:
    """Here it is told at once; another process finds the key in a transaction, and waits for it."""
    inside, waits, go_on, made = Event(), Event(), Event(), list[int]()

    def held(*given: Any) -> QuoteOut:  # noqa: ANN401 - As `add_draft` takes it.
        made.append(1)
        inside.set()
        assert go_on.wait(WITHIN_S)
        return add_draft(*given)

    def seen(session: Session, asked: KeyedRequest) -> None:
        if inside.is_set():
            waits.set()
        begin(session, asked)

    def send() -> Response:
        body = {"by": "Demo desk", "content": content()}
        return client.post(ADDRESS, json=body, headers={"Idempotency-Key": "one"})

    monkeypatch.setattr(quotes, "add_draft", held)
    monkeypatch.setattr(idempotency, "begin", seen)
    with ThreadPoolExecutor(2) as threads:
        first = threads.submit(send)
        try:
            assert inside.wait(WITHIN_S)
            if elsewhere:
                # What another process has in hand, this one does not know.
                app.state.once = Once(app.state.database)
            second = threads.submit(send)
            assert waits.wait(WITHIN_S) if elsewhere else second.result(WITHIN_S)
            assert not first.done()
        finally:
            go_on.set()

    assert (first.result().status_code, second.result().status_code) == (201, 409)
    assert int(second.result().headers["Retry-After"]) > 0
    assert len(made) == 1
    again = send()
    assert again.headers["Idempotent-Replayed"] == "true"
    assert again.content == first.result().content
    assert len(client.get(ADDRESS).json()["items"]) == 1


def test_a_change_that_is_sent_again_is_answered_and_not_refused_as_stale(
    client: TestClient,
) -> None:
    """Section 1 of the draft: PATCH as well as POST."""
    quote = create(client)
    patch = {"by": "Demo desk", "content": {"discount_percent": "5"}}
    headers = {
        "Idempotency-Key": "one",
        "If-Match": f'"{quote["version"]}"',
        "Content-Type": "application/merge-patch+json",
    }

    first = client.patch(f"{ADDRESS}/{quote['id']}", json=patch, headers=headers)
    again = client.patch(f"{ADDRESS}/{quote['id']}", json=patch, headers=headers)

    assert (first.status_code, again.status_code) == (200, 200)
    assert again.content == first.content
    assert again.headers["Idempotent-Replayed"] == "true"
    assert len(client.get(f"{ADDRESS}/{quote['id']}/history").json()) == 2


def test_the_document_tells_of_the_key_wherever_it_is_taken(app: FastAPI) -> None:
    written = [
        operation
        for methods in app.openapi()["paths"].values()
        for method, operation in methods.items()
        if method in ("post", "patch")
    ]

    assert len(written) > 20
    for operation in written:
        named = {each["name"] for each in operation["parameters"]}
        assert "Idempotency-Key" in named
        assert "409" in operation["responses"]
