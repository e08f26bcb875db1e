"""Keys of callers: what one looks like, what it opens, how it is kept."""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from service.errors import Conflict, NotFound

KEY_START = "kw_"
"""By which a key that was left lying about is told from other text."""


class Scope(StrEnum):
    """What a key is for; one key may have several."""

    DESK = "desk"
    """Quotes with costs and margins, price lists, tax rules, webhooks."""
    STOREFRONT = "storefront"
    """Reads the catalogue, asks and searches, begins drafts; never sees costs or margins."""
    SHOP = "shop"
    """Edits the catalogue, papers and rules."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """Who asks."""

    name: str | None
    """Of the key; null where no key was ever made and only this machine is answered."""
    scopes: frozenset[Scope]

    @property
    def sees_costs(self) -> bool:
        """Whether costs and margins are shown."""
        return Scope.DESK in self.scopes


THIS_MACHINE = Caller(name=None, scopes=frozenset(Scope))
"""Everybody at this machine, for as long as no key was ever made."""


STRANGER = Caller(name=None, scopes=frozenset())
"""Whoever looks into a frame of the shop's storefront."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessKey:
    """One key as it is kept: its text is nowhere."""

    name: str
    scopes: tuple[Scope, ...]
    created_at: datetime
    last_used_on: date | None
    """In UTC; null: never."""
    revoked_at: datetime | None


class AccessKeyTaken(Conflict):
    """A key of this name was made before."""

    def __init__(self, name: str) -> None:
        super().__init__(f"There is a key named {name!r} already; a name is used once.")


class AccessKeyNotFound(NotFound):
    """No key has this name."""

    def __init__(self, name: str) -> None:
        super().__init__(f"No key is named {name!r}.")


def key_digest(text: str) -> str:
    """Return what is kept of a key: SHA-256 (FIPS 180-4), enough for 256 random bits."""
    return hashlib.sha256(text.encode()).hexdigest()
