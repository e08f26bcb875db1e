"""How a quote stands on the wire: money as decimal text, the margin for the desk alone."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any

from annotated_types import MinLen

from service.errors import FieldProblem
from service.money import Money, money
from service.quantities import EDGE_CONFIG, IsoDate, Name, Text
from service.quotes.content import Declaration, QuoteContent
from service.quotes.lists import QuoteSummary
from service.quotes.money import Bill, Margin, TaxRule
from service.quotes.price_lists import PriceList
from service.quotes.quote import SHORTEST_REASON, QuoteState


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteIn:
    """A new quote."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    """Who makes it; remembered in the history."""
    content: QuoteContent


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclarationIn:
    """What the customer acknowledged."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    """Who at the shop took it down."""
    name: Name
    """Of the person who says so."""
    text: Text
    """The quote's `declaration_text`, word for word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deliberation:
    """A move, who makes it, and what they have to say."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IssueIn:
    """To issue a draft."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    note: Text = ""
    override_reason: Annotated[Text, MinLen(SHORTEST_REASON)] | None = None
    """Why it is quoted although the fit check blocks it; printed on both copies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DuplicateIn:
    """To make a new quote of what another one says."""

    __pydantic_config__ = EDGE_CONFIG

    by: Name
    valid_until: IsoDate
    customer_reference: Name | None = None
    """Absent: the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionLink:
    """One issued revision."""

    __pydantic_config__ = EDGE_CONFIG

    number: int
    state: QuoteState
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PricesNow:
    """What the prices of now would make of a draft that shows other ones."""

    __pydantic_config__ = EDGE_CONFIG

    total: Money | None
    """Null: it cannot be priced as it is written."""
    problems: tuple[FieldProblem, ...]
    """Why it cannot be priced, each at its field of the content."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteOut:
    """One quote, as the desk sees it."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    version: int
    """Also in the ETag."""
    state: QuoteState
    content: QuoteContent
    declaration_text: str
    """What the customer acknowledges before the quote is issued."""
    declaration: Declaration | None
    bill: Bill
    """Of a draft as it was written last; of an issued quote as it was issued."""
    prices_changed: PricesNow | None
    """Where the bill of a draft is not that of the prices of now: they are taken in by a
    PATCH that changes nothing but what `problems` names, and then it can be issued."""
    not_priced: tuple[str, ...]
    """What the kit takes and the bill does not charge, for want of a price."""
    margin: Margin | None
    """Of what the bill charges, for the scope `desk` alone; never on a copy."""
    revisions: tuple[RevisionLink, ...]
    expires_at: datetime | None
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteLineOut:
    """One quote in a list."""

    __pydantic_config__ = EDGE_CONFIG

    id: int
    state: QuoteState
    revision: int
    """The newest one issued; 0: none."""
    customer_reference: str
    customer_name: str
    valid_until: date
    total: Money
    """That of its bill: of a draft as it was written last."""
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyLink:
    """The copy of a paper that was on file when a revision was issued."""

    __pydantic_config__ = EDGE_CONFIG

    number: str
    """Of the paper."""
    sha256: str
    url: str
    """Where these very bytes are, also once the paper has a newer copy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionOut:
    """One issued revision, exactly as it was issued."""

    __pydantic_config__ = EDGE_CONFIG

    quote_id: int
    number: int
    state: QuoteState
    issued_at: datetime
    frozen: dict[str, Any]
    """What it says and rests on: content, bill, assessment, parts, documents, versions."""
    copies: tuple[CopyLink, ...]
    """Of the papers among its documents."""
    frozen_sha256: str
    customer_pdf_sha256: str
    shop_pdf_sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceListOut(PriceList):
    """One price list, as it is kept."""

    version: int
    """Also in the ETag."""
    updated_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxRuleOut(TaxRule):
    """One tax rule, as it is kept."""

    version: int
    """Also in the ETag."""
    updated_at: datetime


def line_out(summary: QuoteSummary) -> QuoteLineOut:
    """Return a quote as a list shows it."""
    return QuoteLineOut(
        id=summary.id,
        state=summary.state,
        revision=summary.revision,
        customer_reference=summary.customer_reference,
        customer_name=summary.customer_name,
        valid_until=summary.valid_until,
        total=money(summary.total_cents, summary.currency),
        created_at=summary.created_at,
        updated_at=summary.updated_at,
    )
