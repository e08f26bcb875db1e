"""Subscriptions over HTTP, and messages from the quote's transaction to the receiver."""

import json
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import col, select, update
from standardwebhooks import Webhook, WebhookVerificationError

from service.database import Database
from service.quotes.quote import Move
from service.settings import SettingsRefused, get_settings
from service.webhooks.delivering import deliver_one
from service.webhooks.store.outbox import claim_delivery, is_due, remove_old_messages
from service.webhooks.tables import WebhookDeliveryRow, WebhookMessageRow, WebhookRow
from service.webhooks.webhook import RETRY_AFTER, EventType
from service.workers import forget_some
from tests.quotes.made import Json, create, declare, issue, move, shop
from tests.webhooks.receiving import receiver

ADDRESS = "/v1/webhooks"


@pytest.fixture
def client(app: FastAPI, database: Database) -> Iterator[TestClient]:
    app.state.settings = app.state.settings.model_copy(update={"webhook_loopback": True})
    with shop(app, database) as client:
        yield client


def subscribe(client: TestClient, url: str, *events: str) -> Json:
    answer = client.post(ADDRESS, json={"url": url, "events": events or ["quote.issued"]})
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def deliveries(client: TestClient, webhook: Json) -> list[Json]:
    return list(client.get(f"{ADDRESS}/{webhook['id']}/deliveries").json()["items"])


def deliver_all(database: Database) -> int:
    count = 0
    while deliver_one(database, allow_loopback=True):
        count += 1
    return count


def let_time_pass(database: Database) -> None:
    """Let every waiting attempt be due."""
    with database.writing() as session:
        pending = update(WebhookDeliveryRow).where(col(WebhookDeliveryRow.state) == "pending")
        session.exec(pending.values(next_at=datetime.now(UTC)))


def test_every_move_of_a_quote_has_its_event() -> None:
    assert {each.value for each in EventType} == {f"quote.{move.value}" for move in Move}


def test_issued_and_accepted_are_told_signed_with_the_secret_that_was_told_once(
    client: TestClient, database: Database
) -> None:
    with receiver(200) as told:
        webhook = subscribe(client, told.url, "quote.issued", "quote.accepted")
        assert "secret" not in client.get(f"{ADDRESS}/{webhook['id']}").json()
        quote = move(client, issue(client, create(client)), "accept")
        assert deliver_all(database) == 2

    verified = [Webhook(webhook["secret"]).verify(body, head) for head, body in told.came]
    assert [each["type"] for each in verified] == ["quote.issued", "quote.accepted"]
    assert verified[1]["data"] == {
        "quote_id": quote["id"],
        "number": 4,
        "revision": 1,
        "state": "accepted",
        "customer_reference": "PO-0007",
        "total": quote["bill"]["total"],
        "url": f"/v1/quotes/{quote['id']}",
    }
    history = client.get(f"/v1/quotes/{quote['id']}/history").json()
    assert [datetime.fromisoformat(each["timestamp"]) for each in verified] == [
        datetime.fromisoformat(each["at"]) for each in history[2:]
    ]
    assert {each["state"] for each in deliveries(client, webhook)} == {"delivered"}


def test_for_a_while_after_it_was_replaced_either_secret_verifies_a_message(
    client: TestClient, database: Database
) -> None:
    """Standard Webhooks 1.0.0: signatures with a space between, for rotation without a gap."""
    with receiver(200) as told:
        webhook = subscribe(client, told.url)
        address = f"{ADDRESS}/{webhook['id']}"
        assert client.post(f"{address}/secret", json={}).status_code == 428
        newer = client.post(
            f"{address}/secret", json={"overlap_hours": 2}, headers={"If-Match": '"1"'}
        ).json()
        quote = issue(client, create(client))
        deliver_all(database)
        with database.writing() as session:
            over = datetime.now(UTC) - timedelta(seconds=1)
            session.exec(update(WebhookRow).values(old_secret_until=over))
        issue(client, move(client, quote, "revisions", status=201))
        deliver_all(database)
        shown = client.get(address).json()
        client.post(f"{address}/secret", json={"overlap_hours": 0}, headers={"If-Match": '"2"'})
        issue(client, create(client))
        deliver_all(database)

    old, new = Webhook(webhook["secret"]), Webhook(newer["secret"])
    (first, head), (second, later), (third, last) = ((b, h) for h, b in told.came)
    assert old.verify(first, head) == new.verify(first, head)
    assert new.verify(second, later)
    assert "secret" not in shown
    for secret, body, headers in ((old, second, later), (old, third, last), (new, third, last)):
        with pytest.raises(WebhookVerificationError):
            secret.verify(body, headers)
    tried = client.post(
        f"{address}/secret", json={"overlap_hours": 169}, headers={"If-Match": '"3"'}
    )
    assert tried.status_code == 422


def test_a_move_that_is_refused_tells_nothing(client: TestClient, database: Database) -> None:
    with receiver(200) as told:
        subscribe(client, told.url, *EventType)
        draft = declare(client, create(client))
        before = len(told.came) + deliver_all(database)
        move(client, draft, "accept", status=409)

        assert deliver_all(database) == 0
    assert before == len(told.came) == 2


def test_a_failure_is_tried_again_with_the_same_number_and_logged(
    client: TestClient, database: Database
) -> None:
    with receiver(500, 503, 200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        for _ in range(3):
            assert deliver_all(database) == 1
            let_time_pass(database)

    (delivery,) = deliveries(client, webhook)
    log = client.get(f"{ADDRESS}/{webhook['id']}/deliveries/{delivery['id']}").json()
    assert [each["status"] for each in log["attempts"]] == [500, 503, 200]
    assert log["attempts"][0]["detail"] == "Answered by the test "
    assert {head["webhook-id"] for head, _ in told.came} == {delivery["message_id"]}
    assert {body for _, body in told.came} == {log["body"].encode()}
    assert (delivery["state"], delivery["next_at"]) == ("delivered", None)


def test_after_the_last_attempt_it_is_given_up_and_can_be_replayed(
    client: TestClient, database: Database
) -> None:
    with receiver(*[404] * (len(RETRY_AFTER) + 1), 200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        for _ in range(len(RETRY_AFTER) + 1):
            assert deliver_all(database) == 1
            (delivery,) = deliveries(client, webhook)
            if delivery["state"] == "pending":
                let_time_pass(database)
        assert (delivery["state"], delivery["attempt_count"]) == ("failed", len(RETRY_AFTER) + 1)

        replay = f"{ADDRESS}/{webhook['id']}/deliveries/{delivery['id']}/replay"
        assert client.post(replay).status_code == 202
        assert client.post(replay).status_code == 409
        assert deliver_all(database) == 1

    assert deliveries(client, webhook)[0]["state"] == "delivered"
    assert len({head["webhook-id"] for head, _ in told.came}) == 1


def test_a_receiver_that_is_gone_is_sent_nothing_more(
    client: TestClient, database: Database
) -> None:
    """Standard Webhooks 1.0.0: after 410 the sender stops."""
    with receiver(410) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        deliver_all(database)
        issue(client, create(client))

        assert deliver_all(database) == 0
    assert client.get(f"{ADDRESS}/{webhook['id']}").json()["is_active"] is False
    assert len(told.came) == 1


def test_many_senders_send_each_message_once(client: TestClient, database: Database) -> None:
    at_once, together = 4, Barrier(4)
    with receiver(200) as told:
        subscribe(client, told.url, "quote.created")
        for _ in range(8):
            create(client)

        def send_all() -> None:
            together.wait()
            while _is_due(database):
                deliver_one(database, allow_loopback=True)

        with ThreadPoolExecutor(at_once) as threads:
            for each in [threads.submit(send_all) for _ in range(at_once)]:
                each.result()

    assert Counter(Counter(head["webhook-id"] for head, _ in told.came).values()) == {1: 8}


def _is_due(database: Database) -> bool:
    with database.reading() as session:
        return is_due(session, datetime.now(UTC))


def test_an_attempt_of_a_process_that_died_is_made_again(
    client: TestClient, database: Database
) -> None:
    with receiver(200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        with database.writing() as session:
            assert claim_delivery(session, datetime.now(UTC)) is not None
        assert deliver_all(database) == 0
        let_time_pass(database)

        assert deliver_all(database) == 1
    assert deliveries(client, webhook)[0]["attempt_count"] == 2


def test_what_was_over_long_ago_is_forgotten_and_what_waits_is_not(
    client: TestClient, database: Database
) -> None:
    with receiver(200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        deliver_all(database)
        issue(client, create(client))
        old = datetime.now(UTC) - timedelta(days=100)
        with database.writing() as session:
            session.exec(update(WebhookMessageRow).values(created_at=old))

        kept_for = timedelta(days=90)
        assert forget_some(database, remove_old_messages, retention=kept_for) is False

    assert [each["state"] for each in deliveries(client, webhook)] == ["pending"]
    with database.reading() as session:
        assert len(session.exec(select(WebhookMessageRow)).all()) == 1


def test_a_subscription_is_changed_and_deleted_in_the_version_seen(
    client: TestClient, database: Database
) -> None:
    with receiver(200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        address, patch = f"{ADDRESS}/{webhook['id']}", "application/merge-patch+json"

        def change(tag: str, **body: object) -> int:
            headers = {"If-Match": tag, "Content-Type": patch}
            return client.patch(address, content=json.dumps(body), headers=headers).status_code

        assert change('"1"', is_active=False) == 200
        assert change('"1"', note="Late") == 412
        assert change('"2"', events=["quote.nothing"]) == 422
        assert change('"2"', url="https://10.0.0.1/") == 422
        assert deliver_all(database) == 0
        assert client.delete(address, headers={"If-Match": '"1"'}).status_code == 412
        assert client.delete(address, headers={"If-Match": '"2"'}).status_code == 204
        assert client.get(address).status_code == 404
    assert not told.came


def test_without_the_setting_nothing_is_sent_to_this_machine(
    client: TestClient, app: FastAPI, database: Database
) -> None:
    with receiver(200) as told:
        webhook = subscribe(client, told.url)
        issue(client, create(client))
        deliver_one(database, allow_loopback=False)
        app.state.settings = app.state.settings.model_copy(update={"webhook_loopback": False})
        refused = client.post(ADDRESS, json={"url": told.url, "events": ["quote.issued"]})

    assert not told.came
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/url")
    log = client.get(f"{ADDRESS}/{webhook['id']}/deliveries/1").json()
    assert "not public" in log["attempts"][0]["detail"]


def test_production_refuses_the_setting_for_tests(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KITWRIGHT_ENVIRONMENT", "production")
    monkeypatch.setenv("KITWRIGHT_SECRET", "s" * 40)
    monkeypatch.setenv("KITWRIGHT_WEBHOOK_LOOPBACK", "true")
    get_settings.cache_clear()

    with pytest.raises(SettingsRefused, match="WEBHOOK_LOOPBACK"):
        get_settings()
    get_settings.cache_clear()
