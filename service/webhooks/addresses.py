"""Which addresses a message may be sent to: public ones, so that nobody reaches our own network.

A name is judged by the addresses that it resolves to at the moment of sending, and the
connection goes to the address that was judged.
"""

from collections.abc import Iterator
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from urllib.parse import urlsplit

from service.errors import FieldProblem

GLOBAL_UNICAST = IPv6Network("2000::/3")
"""RFC 4291, section 2.4, and the registry of IPv6 addresses: all else is for special use."""


def is_allowed(address: IPv4Address | IPv6Address, *, allow_loopback: bool = False) -> bool:
    """Say whether an address is public (the special-purpose registries of RFC 6890)."""
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped is not None:
            return is_allowed(address.ipv4_mapped, allow_loopback=allow_loopback)
        if address.sixtofour is not None:
            return is_allowed(address.sixtofour)
    if address.is_loopback:
        return allow_loopback
    special = address.is_multicast or address.is_reserved or not address.is_global
    return not special and (isinstance(address, IPv4Address) or address in GLOBAL_UNICAST)


def url_problems(url: str, *, allow_loopback: bool) -> Iterator[FieldProblem]:
    """Return why nothing can be sent to an address; a name is judged again at each sending."""

    def problem(detail: str) -> FieldProblem:
        return FieldProblem(pointer="/url", code="address", detail=detail)

    if not (url.isascii() and url.isprintable()) or " " in url:
        yield problem("An address is written in printable ASCII without spaces.")
        return
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        yield problem("This is no address of the form https://host/path.")
        return
    if not host or port == 0:
        yield problem("This is no address of the form https://host/path.")
        return
    if parts.scheme != "https" and not (allow_loopback and parts.scheme == "http"):
        yield problem("Messages are sent over https only.")
    if "@" in parts.netloc or parts.fragment:
        yield problem("An address has no user, password or fragment here; messages are signed.")
    if not _may_be_public(host, allow_loopback=allow_loopback):
        yield problem("Messages go to public addresses only, never into a private network.")


def _may_be_public(host: str, *, allow_loopback: bool) -> bool:
    try:
        return is_allowed(ip_address(host), allow_loopback=allow_loopback)
    except ValueError:
        is_local = host.rstrip(".") == "localhost" or host.rstrip(".").endswith(".localhost")
        return allow_loopback or not is_local
