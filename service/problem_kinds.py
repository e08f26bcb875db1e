"""The kinds of problem: one status, title and help text each."""

from collections.abc import Mapping
from dataclasses import dataclass

HELP_PATH = "/problems"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of problem."""

    status: int
    slug: str
    """Last part of its type address; never changes."""
    title: str
    help: str
    """What happened and what to do, for the reader of the help page."""

    @property
    def type_uri(self) -> str:
        """Address of the help page; the `type` of the problem document."""
        return f"{HELP_PATH}/{self.slug}"


KINDS = (
    Kind(
        400,
        "bad-request",
        "The request cannot be read",
        "The body is not JSON, or a cursor belongs to another list. The detail says which and, "
        "for JSON, at which line and column.",
    ),
    Kind(
        401,
        "key-missing",
        "This address asks for a key",
        "Send `Authorization: Bearer` and a key that was made with `kitwright key create` and is "
        "not revoked (RFC 6750).",
    ),
    Kind(
        403,
        "key-too-small",
        "The key does not open this address",
        "The WWW-Authenticate header names the scopes of which a key needs one. A key may have "
        "several.",
    ),
    Kind(
        404,
        "not-found",
        "There is nothing here",
        "No item has the key in the address, or the address itself is unknown.",
    ),
    Kind(
        405,
        "method-not-allowed",
        "This address does not take this method",
        "The Allow header lists every method that the address takes.",
    ),
    Kind(
        406,
        "not-acceptable",
        "None of the accepted media types can be made",
        "The Accept header names no media type that this address answers in. The detail lists "
        "those it can make.",
    ),
    Kind(
        409,
        "conflict",
        "The request does not go with what is stored",
        "Most often a key is taken already, or an item is still in use. Read the items named in "
        "the detail, then decide again.",
    ),
    Kind(
        412,
        "stale-version",
        "The item has changed since it was read",
        "If-Match names a version that is no longer the current one. Read the item again, apply "
        "the change to what you get, and send it with the new ETag.",
    ),
    Kind(
        413,
        "body-too-large",
        "The body is too large",
        "The address takes smaller bodies than this. Split the content over several requests.",
    ),
    Kind(
        415,
        "unsupported-media-type",
        "The body has the wrong media type",
        "Content-Type has to be the media type that the detail names. A change of part of an "
        "item is sent as application/merge-patch+json (RFC 7396).",
    ),
    Kind(
        422,
        "invalid-input",
        "Some values are outside their limits",
        "The list of errors says for each value where it stands, which rule it breaks, and the "
        "limit. Nothing was changed.",
    ),
    Kind(
        422,
        "rule-broken",
        "The request is understood and cannot be done",
        "Every value is within its limits, but together they break a rule that the detail names.",
    ),
    Kind(
        422,
        "refused",
        "The request asks for help to mislead",
        "A text asks to hide a change from an inspection, to imitate a label, to swap parts for a "
        "test or to mislead whoever inspects. No part of it is answered, nothing was changed, and "
        "the refusal is logged. Describe what is fitted, as it is.",
    ),
    Kind(
        428,
        "precondition-missing",
        "The change does not say which version it is meant for",
        "Send If-Match with the ETag of the version that you read. It keeps you from undoing "
        "somebody else's change unseen.",
    ),
    Kind(
        429,
        "too-many-requests",
        "Too many requests",
        "Wait as many seconds as Retry-After says, then go on.",
    ),
    Kind(
        500,
        "internal-error",
        "The service failed",
        "The fault is ours. Report it with the Request-Id of the answer; the log holds more.",
    ),
    Kind(
        503,
        "not-ready",
        "The service cannot answer now",
        "It is starting, busy or cut off from its database. Try again in a few seconds.",
    ),
)

KIND_BY_SLUG: Mapping[str, Kind] = {kind.slug: kind for kind in KINDS}
KIND_BY_STATUS: Mapping[int, Kind] = {kind.status: kind for kind in reversed(KINDS)}
"""Where a status has several kinds, the first of them."""
