"""Where messages may go, how they are signed, and what a receiver may do to the sender."""

import socket
import time
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from threading import Thread

import pytest
from standardwebhooks import Webhook, WebhookVerificationError

from service.webhooks.addresses import is_allowed, url_problems
from service.webhooks.sending import send
from service.webhooks.signing import new_secret, signature, signed_headers
from service.webhooks.webhook import RETRY_AFTER, next_attempt
from tests.webhooks.receiving import HOST, receiver

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def test_the_reference_library_verifies_our_signature_and_nothing_else() -> None:
    """Checked by `standardwebhooks`, the library of the specification's own authors."""
    secret, body = new_secret(), '{"a":"ü"}'.encode()
    headers = signed_headers([secret], "msg_1", int(time.time()), body)

    assert Webhook(secret).verify(body, headers) == {"a": "ü"}
    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(body + b" ", headers)
    with pytest.raises(WebhookVerificationError):
        Webhook(secret).verify(body, {**headers, "webhook-id": "msg_2"})
    with pytest.raises(WebhookVerificationError):
        Webhook(new_secret()).verify(body, headers)
    assert signature(secret, "msg_1", 1, body) == Webhook(secret).sign(
        "msg_1", datetime.fromtimestamp(1, UTC), body.decode()
    )


@pytest.mark.parametrize(
    "address",
    [
        "0.0.0.0",  # noqa: S104 - It is refused.
        "10.1.2.3",
        "100.64.0.1",
        "127.0.0.1",
        "169.254.169.254",
        "172.16.0.1",
        "192.0.2.1",
        "192.168.1.1",
        "198.18.0.1",
        "224.0.0.1",
        "240.0.0.1",
        "255.255.255.255",
        "::",
        "::1",
        "::ffff:10.0.0.1",
        "::ffff:127.0.0.1",
        "64:ff9b::a00:1",
        "64:ff9b:1::1",
        "100::1",
        "2001:db8::1",
        "2001::1",
        "2002:a00:1::1",
        "fc00::1",
        "fe80::1",
        "fec0::1",
        "ff02::1",
    ],
)
def test_an_address_for_special_use_is_refused(address: str) -> None:
    """IANA's registries of special-purpose addresses (RFC 6890), multicast (RFC 5771, 4291)."""
    assert not is_allowed(ip_address(address))


@pytest.mark.parametrize("address", ["1.1.1.1", "93.184.216.34", "2606:4700::1111"])
def test_a_public_address_is_allowed(address: str) -> None:
    assert is_allowed(ip_address(address))


@pytest.mark.parametrize(
    "url",
    [
        "http://example.org/hook",
        "ftp://example.org/hook",
        "https:///hook",
        "https://user@example.org/hook",
        "https://example.org/hook#part",
        "https://example.org:0/",
        "https://example.org:70000/",
        "https://10.0.0.1/hook",
        "https://[::1]/hook",
        "https://localhost/hook",
        "https://inner.localhost./hook",
        "https://example.org/a b",
        "example.org",
    ],
)
def test_an_address_that_nothing_is_sent_to_is_told_at_once(url: str) -> None:
    assert list(url_problems(url, allow_loopback=False))
    assert not list(url_problems("https://example.org:8443/hook?a=b", allow_loopback=False))


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "2130706433", "0x7f.1", "[::1]"])
def test_a_name_is_judged_by_the_address_it_stands_for(host: str) -> None:
    """Ways to write the loopback address that a check of the text alone would miss."""
    with receiver(200) as told:
        port = told.url.split(":")[2].split("/")[0]
        outcome = send(f"http://{host}:{port}/hook", {}, b"{}")

    assert outcome.status is None
    assert not told.came


def test_a_name_that_stands_for_one_inner_address_among_public_ones_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (a, 443)) for a in ("1.1.1.1", "10.0.0.1")]
    monkeypatch.setattr("socket.getaddrinfo", lambda *_, **__: found)
    monkeypatch.setattr("socket.create_connection", lambda *_: pytest.fail("It was connected."))

    assert "not public" in send("https://example.org/", {}, b"{}").detail


def test_the_connection_goes_to_the_address_that_was_judged(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A second look-up could answer otherwise."""
    with receiver(204) as told:
        port = int(told.url.split(":")[2].split("/")[0])
        asked: list[str] = []

        def look_up(host: str, *_: object, **__: object) -> list[object]:
            asked.append(host)
            return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (HOST, port))]

        connect = socket.socket.connect
        monkeypatch.setattr("service.webhooks.sending.socket.getaddrinfo", look_up)
        monkeypatch.setattr(
            "service.webhooks.sending.socket.create_connection",
            lambda address, timeout: connected(connect, address, timeout),
        )
        outcome = send(f"http://receiver.test:{port}/", {}, b"{}", allow_loopback=True)

    assert outcome.status == 204
    assert asked == ["receiver.test"]
    assert told.came[0][0]["host"] == f"receiver.test:{port}"


def connected(connect: object, address: tuple[str, int], timeout: float) -> socket.socket:
    assert address[0] == HOST
    made = socket.socket()
    made.settimeout(timeout)
    assert callable(connect)
    connect(made, address)
    return made


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_redirect_is_a_failure_and_is_not_followed(status: int) -> None:
    with receiver(status, 200) as told:
        outcome = send(told.url, {}, b"{}", allow_loopback=True)

    assert (outcome.status, outcome.is_delivered) == (status, False)
    assert len(told.came) == 1


def test_a_receiver_that_drips_bytes_is_cut_off() -> None:
    with socket.create_server((HOST, 0)) as listener:

        def drip() -> None:
            connection, _ = listener.accept()
            with connection:
                try:
                    for _ in range(100):
                        connection.sendall(b"H")
                        time.sleep(0.05)
                except OSError:
                    return

        Thread(target=drip, daemon=True).start()
        start = time.monotonic()
        url = f"http://{HOST}:{listener.getsockname()[1]}/"
        outcome = send(url, {}, b"{}", allow_loopback=True, timeout_s=0.3)

    assert outcome.status is None
    assert time.monotonic() - start < 2.0


def test_a_failure_is_tried_again_later_and_later_for_three_days() -> None:
    """Standard Webhooks 1.0.0, the example of a schedule: 75:35:05 in all."""
    assert sum(RETRY_AFTER, timedelta()) == timedelta(hours=75, minutes=35, seconds=5)
    assert list(RETRY_AFTER) == sorted(RETRY_AFTER)

    assert next_attempt(0, NOON, 0.0) == NOON + timedelta(seconds=5)
    assert next_attempt(1, NOON, 0.1) == NOON + timedelta(seconds=330)
    assert next_attempt(len(RETRY_AFTER), NOON, 0.0) is None
