"""One request that was refused for what it asks."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

MOST_OF_ONE_REQUEST = 20
"""Places of one request that are recorded; the rest says no more."""


class RefusedPurpose(StrEnum):
    """What was asked for; more may be added."""

    HIDE_FROM_INSPECTION = "hide_from_inspection"
    IMITATE_A_LABEL = "imitate_a_label"
    SWAP_FOR_A_TEST = "swap_for_a_test"
    FAKE_READINESS = "fake_readiness"
    MISLEAD_AN_INSPECTOR = "mislead_an_inspector"


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """One place of a request that was refused. The text itself is not kept."""

    number: int
    """Rises with every one."""
    at: datetime
    purpose: RefusedPurpose
    method: str
    """Of the request, or `command`."""
    path: str
    """Where it was sent, or the words of the command; without its query."""
    place: str
    """Pointer into the body, name of a parameter, or line of a file."""
    words: str
    """The words of the service's own list that were found, and nothing between them."""
