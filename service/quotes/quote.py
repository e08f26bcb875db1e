"""The life of a quote: its states, the moves between them, and what is remembered of each.

The newest issued revision is what the customer holds. While the next one is being drafted
the quote is a draft: it cannot be accepted until the draft is issued or discarded. Its day
comes all the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from service.errors import Conflict, FieldProblem, InvalidInput, NotFound, RuleBroken
from service.money import Money
from service.quantities import EDGE_CONFIG, Name, Text
from service.quotes.charge import Charge
from service.quotes.content import Declaration, QuoteContent, banned_problems


class QuoteState(StrEnum):
    """Where a quote, or one of its revisions, stands."""

    DRAFT = "draft"
    ISSUED = "issued"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    EXPIRED = "expired"
    SUPERSEDED = "superseded"
    """Of a revision alone: a later one was issued."""


class Move(StrEnum):
    """What can happen to a quote; also the kind of the event that remembers it."""

    CREATE = "created"
    EDIT = "edited"
    DECLARE = "use_declared"
    OVERRIDE = "finding_overridden"
    ISSUE = "issued"
    ACCEPT = "accepted"
    DECLINE = "declined"
    EXPIRE = "expired"
    REVISE = "revised"
    DISCARD = "draft_discarded"


_ISSUED = frozenset({QuoteState.ISSUED})
_DRAFT = frozenset({QuoteState.DRAFT})
ALLOWED: Mapping[Move, frozenset[QuoteState]] = {
    Move.EDIT: _DRAFT,
    Move.DECLARE: _DRAFT,
    Move.OVERRIDE: _DRAFT,
    Move.ISSUE: _DRAFT,
    Move.DISCARD: _DRAFT,
    Move.ACCEPT: _ISSUED,
    Move.DECLINE: _ISSUED,
    Move.EXPIRE: _ISSUED | _DRAFT,
    Move.REVISE: frozenset(QuoteState) - {QuoteState.DRAFT, QuoteState.SUPERSEDED},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """One quote as it stands."""

    id: int
    version: int
    content: QuoteContent
    """Of the draft, else of the newest revision."""
    declaration: Declaration | None = None
    charge: Charge | None = None
    """Of a draft, when its prices were last taken in; null: never, or issued."""
    is_draft: bool = True
    revision: int = 0
    """The newest one issued; 0: none."""
    issued_state: QuoteState | None = None
    """Where that one stands."""
    expires_at: datetime | None = None
    """The moment after its last day."""
    created_at: datetime
    updated_at: datetime

    @property
    def state(self) -> QuoteState:
        """Where the quote stands."""
        if self.is_draft or self.issued_state is None:
            return QuoteState.DRAFT
        return self.issued_state

    def revision_state(self, number: int) -> QuoteState:
        """Where one of its issued revisions stands."""
        if number < self.revision or self.issued_state is None:
            return QuoteState.SUPERSEDED
        return self.issued_state


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteEvent:
    """One thing that happened to a quote; never changed, never removed."""

    __pydantic_config__ = EDGE_CONFIG

    number: int
    """1 for the first."""
    kind: Move
    revision: int
    """Which revision it is about."""
    at: datetime
    by: Name
    """Who did it, as they say; the worker where nobody did."""
    key: str | None = None
    """Name of the API key that was used; null: keys are not asked for."""
    note: Text = ""
    data: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """Who did what to a quote, to be remembered."""

    move: Move
    by: str
    at: datetime
    key: str | None = None
    note: str = ""
    data: dict[str, Any] | None = None


SHORTEST_REASON = 10
"""Of an override. [characters]"""


class QuoteNotFound(NotFound):
    """No quote has this number."""

    def __init__(self, quote_id: int) -> None:
        super().__init__(f"There is no quote {quote_id}.")


class RevisionNotFound(NotFound):
    """A quote has no such revision."""

    def __init__(self, quote_id: int, number: int) -> None:
        super().__init__(f"Quote {quote_id} has no issued revision {number}.")


class MoveNotAllowed(Conflict):
    """The quote is in a state that this move does not start from."""

    def __init__(self, move: Move, state: QuoteState) -> None:
        starts = " or ".join(sorted(ALLOWED[move]))
        super().__init__(f"This needs a quote that is {starts}; this one is {state}.")


class NothingToGoBackTo(Conflict):
    """The first draft of a quote is all there is of it."""

    def __init__(self) -> None:
        super().__init__("No revision was issued yet; there is nothing to go back to.")


class HasExpired(Conflict):
    """The last day of the revision is over."""

    def __init__(self, quote: Quote) -> None:
        super().__init__(
            f"Revision {quote.revision} was good until {quote.content.valid_until}; revise it."
        )


class UseNotDeclared(RuleBroken):
    """A quote is issued for a use that the customer has not declared in these words."""

    def __init__(self) -> None:
        super().__init__(
            "The customer has not acknowledged the use that this quote is for; its words stand "
            "in `declaration_text` and go to the quote's `declaration`."
        )


class PricesChanged(Conflict):
    """A draft would be issued at other prices than whoever issues it has seen."""

    def __init__(self, seen: Money, now: Money) -> None:
        super().__init__(
            f"Prices changed since this draft was written: it says {seen}, and now it would be "
            f"{now}. Take the prices of now in, with a change that changes nothing, and look."
        )


class FindingBlocks(RuleBroken):
    """The fit check blocks the kit, and nobody has taken that on themselves."""

    def __init__(self, codes: tuple[str, ...]) -> None:
        super().__init__(
            f"The fit check blocks this kit ({', '.join(codes)}). Change the kit, or record an "
            "override with its reason."
        )


def end_of_day(day: date, time_zone: str) -> datetime:
    """Return the moment after a day of the shop."""
    midnight = datetime.combine(day + timedelta(days=1), time(), tzinfo=ZoneInfo(time_zone))
    return midnight.astimezone(UTC)


def require_override(codes: tuple[str, ...], reason: str | None) -> None:
    """Raise unless whoever issues a kit that findings block says why."""
    if codes and reason is None:
        raise FindingBlocks(codes)
    if codes and len((reason or "").strip()) < SHORTEST_REASON:
        detail = f"A reason takes {SHORTEST_REASON} characters or more."
        raise InvalidInput(
            FieldProblem(pointer="/override_reason", code="too_short", detail=detail)
        )


def require_prices_stand(quote: Quote, now: Charge) -> None:
    """Raise where the draft would be issued with another bill than it shows."""
    seen = quote.charge
    if seen is not None and not seen.charges_as(now):
        raise PricesChanged(seen.bill.total, now.bill.total)


def require(move: Move, quote: Quote) -> None:
    """Raise unless the move starts from where the quote stands."""
    if quote.state not in ALLOWED[move]:
        raise MoveNotAllowed(move, quote.state)


def edited(quote: Quote, content: QuoteContent, words: str) -> Quote:
    """Return the draft with other content; other words of the use are declared anew."""
    require(Move.EDIT, quote)
    said = quote.declaration
    if said is not None and said.text != words:
        said = None
    return replace(quote, content=content, declaration=said)


def declared(quote: Quote, said: Declaration, words: str) -> Quote:
    """Return the draft with the customer's declaration, which has to be these words."""
    require(Move.DECLARE, quote)
    if problems := tuple(banned_problems("/name", said.name)):
        raise InvalidInput(*problems)
    if said.text != words:
        detail = "The text has to be the quote's `declaration_text`, word for word."
        raise InvalidInput(FieldProblem(pointer="/text", code="other_words", detail=detail))
    return replace(quote, declaration=said)


def issued(quote: Quote, expires_at: datetime) -> Quote:
    """Return the quote with its draft issued as the next revision."""
    return replace(
        quote,
        is_draft=False,
        revision=quote.revision + 1,
        issued_state=QuoteState.ISSUED,
        expires_at=expires_at,
    )


def answered(quote: Quote, move: Move, at: datetime) -> Quote:
    """Return the quote accepted or declined by the customer."""
    require(move, quote)
    if move is Move.ACCEPT and quote.expires_at is not None and at >= quote.expires_at:
        raise HasExpired(quote)
    return replace(quote, issued_state=QuoteState(move.value))


def expired(quote: Quote) -> Quote:
    """Return the quote whose issued revision is over; a draft in hand stays in hand."""
    if quote.issued_state is not QuoteState.ISSUED:
        raise MoveNotAllowed(Move.EXPIRE, quote.issued_state or QuoteState.DRAFT)
    return replace(quote, issued_state=QuoteState.EXPIRED)


def revised(quote: Quote) -> Quote:
    """Return the quote with a draft of the next revision, which begins as a copy."""
    require(Move.REVISE, quote)
    return replace(quote, is_draft=True)


def discarded(quote: Quote, content: QuoteContent, said: Declaration | None) -> Quote:
    """Return the quote without its draft: as the newest revision says."""
    require(Move.DISCARD, quote)
    if not quote.revision:
        raise NothingToGoBackTo
    return replace(quote, is_draft=False, content=content, declaration=said)
