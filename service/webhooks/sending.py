"""One message sent once: to an address that was judged, within a time, redirects left alone."""

import socket
import ssl
import time
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from ipaddress import ip_address
from threading import Timer
from urllib.parse import SplitResult, urlsplit, urlunsplit

from service.webhooks.addresses import is_allowed

TIMEOUT_S = 15.0
"""For the whole exchange; Standard Webhooks advises 15 to 30 s."""
MOST_READ_BYTES = 1024
LONGEST_DETAIL = 200
HTTPS_PORT, HTTP_PORT = 443, 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How one attempt went."""

    status: int | None
    detail: str
    duration_ms: int

    @property
    def is_delivered(self) -> bool:
        """Whether the receiver took it: any status of 200 to 299."""
        return self.status is not None and 200 <= self.status < 300  # noqa: PLR2004 - RFC 9110.

    @property
    def is_gone(self) -> bool:
        """Whether the receiver wants nothing more: status 410."""
        return self.status == 410  # noqa: PLR2004 - RFC 9110.


class AddressRefused(Exception):
    """The name of the receiver stands for an address that nothing is sent to."""


def send(
    url: str,
    headers: Mapping[str, str],
    body: bytes,
    *,
    allow_loopback: bool = False,
    timeout_s: float = TIMEOUT_S,
) -> Outcome:
    """Send a message; whatever goes wrong is told in the outcome."""
    start = time.monotonic()
    status = None
    try:
        status, detail = _exchange(
            urlsplit(url), headers, body, allow_loopback=allow_loopback, timeout_s=timeout_s
        )
    except AddressRefused as error:
        detail = str(error)
    except (OSError, HTTPException, ValueError) as error:
        detail = f"{type(error).__name__}: {error}"
    # What a stranger answers is kept short and printable.
    shown = "".join(each if each.isprintable() else " " for each in detail)[:LONGEST_DETAIL]
    return Outcome(
        status=status, detail=shown, duration_ms=round((time.monotonic() - start) * 1000)
    )


def judged_addresses(host: str, port: int, *, allow_loopback: bool) -> list[str]:
    """Return the addresses of a host, or raise `AddressRefused` when any is not public.

    One bad address is enough: a name with both kinds is somebody's attempt.
    """
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    addresses = list(dict.fromkeys(str(each[4][0]) for each in found))
    for address in addresses:
        if not is_allowed(ip_address(address), allow_loopback=allow_loopback):
            msg = "The receiver's name stands for an address that is not public; nothing was sent."
            raise AddressRefused(msg)
    return addresses


def _exchange(
    url: SplitResult,
    headers: Mapping[str, str],
    body: bytes,
    *,
    allow_loopback: bool,
    timeout_s: float,
) -> tuple[int, str]:
    host = url.hostname or ""
    port = url.port or (HTTPS_PORT if url.scheme == "https" else HTTP_PORT)
    addresses = judged_addresses(host, port, allow_loopback=allow_loopback)
    connected = _connect(addresses, port, timeout_s)
    if url.scheme == "https":
        connected = ssl.create_default_context().wrap_socket(
            connected, server_hostname=host, do_handshake_on_connect=False
        )
    # Each read has its own timeout; a receiver that drips bytes is cut off by this one.
    cut_off = Timer(timeout_s, _shut, args=(connected,))
    cut_off.daemon = True
    cut_off.start()
    try:
        if isinstance(connected, ssl.SSLSocket):
            connected.do_handshake()
        connection = HTTPConnection(host, port)
        connection.sock = connected
        target = urlunsplit(("", "", url.path or "/", url.query, ""))
        connection.request("POST", target, body, {**headers, "Host": url.netloc})
        answer = connection.getresponse()
        return answer.status, answer.read(MOST_READ_BYTES).decode(errors="replace")
    finally:
        cut_off.cancel()
        connected.close()


def _connect(addresses: list[str], port: int, timeout_s: float) -> socket.socket:
    """Connect to the first address that answers; names are not looked up again."""
    for place, address in enumerate(addresses, start=1):
        try:
            return socket.create_connection((address, port), timeout_s / len(addresses))
        except OSError:
            if place == len(addresses):
                raise
    raise AddressRefused("The receiver's name stands for no address.")


def _shut(connected: socket.socket) -> None:
    try:
        connected.shutdown(socket.SHUT_RDWR)
    except OSError:
        return
