"""Whether a form was sent by a page of this service (Fetch Metadata; RFC 6454, section 7)."""

from collections.abc import Mapping
from urllib.parse import urlsplit

HARMLESS = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing (RFC 9110, section 9.2.1)."""


def is_from_own_site(headers: Mapping[str, str]) -> bool:
    """Return whether a request comes from our own page, or from its user alone.

    A browser says so itself: in Sec-Fetch-Site, or, where it does not send that, in Origin,
    which has to name the host that was asked. What says neither is no page of ours.
    """
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = urlsplit(headers.get("origin", ""))
    return bool(origin.netloc) and origin.netloc == headers.get("host")
