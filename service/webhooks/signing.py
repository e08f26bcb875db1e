"""Signatures by which a receiver knows that a message is ours: Standard Webhooks 1.0.0, v1."""

import base64
import hmac
import secrets
from collections.abc import Iterable

SECRET_PREFIX = "whsec_"  # noqa: S105 - What follows it is the secret.
SECRET_BYTES = 32


def new_secret() -> str:
    """Return a secret for one receiver, as it is written down."""
    key = secrets.token_bytes(SECRET_BYTES)
    return SECRET_PREFIX + base64.b64encode(key).decode()


def signature(secret: str, message_id: str, timestamp_s: int, body: bytes) -> str:
    """Return `v1,` and the HMAC-SHA256 (FIPS 198-1) of number, time and body."""
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    signed = b".".join((message_id.encode(), str(timestamp_s).encode(), body))
    return "v1," + base64.b64encode(hmac.digest(key, signed, "sha256")).decode()


def signed_headers(
    secrets_in_use: Iterable[str], message_id: str, timestamp_s: int, body: bytes
) -> dict[str, str]:
    """Return the three headers of a signed message; one of its signatures has to hold."""
    signatures = (signature(each, message_id, timestamp_s, body) for each in secrets_in_use)
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(timestamp_s),
        "webhook-signature": " ".join(signatures),
    }
