"""A quote in plain text, for a terminal."""

from collections.abc import Iterable, Iterator

from service.money import money
from service.quotes.lists import QuoteSummary
from service.quotes.schemas import QuoteOut

ROW = "{:>6}  {:<10} {:>3}  {:<20} {:<24} {:<10} {:>18}"
LINE = "{:>4}  {:<60} {:>10} {:>12} {:>7} {:>12}"
LONGEST_TITLE = 60


def listed(found: Iterable[QuoteSummary]) -> Iterator[str]:
    """Return a line for each quote, below a head."""
    yield ROW.format("quote", "state", "rev", "reference", "customer", "until", "total").rstrip()
    for each in found:
        yield ROW.format(
            each.id,
            each.state.value,
            each.revision or "-",
            each.customer_reference[:20],
            each.customer_name[:24],
            str(each.valid_until),
            str(money(each.total_cents, each.currency)),
        )


def in_full(quote: QuoteOut) -> Iterator[str]:
    """Return one quote: whose it is, every line of its bill, its total, what it waits for."""
    customer = quote.content.customer
    yield f"Quote {quote.id}, {quote.state.value}, version {quote.version}"
    yield f"For {customer.name}, reference {customer.reference}"
    yield f"Good until the end of {quote.content.valid_until}"
    yield ""
    yield LINE.format("no.", "", "quantity", "each", "less", "amount")
    for place, line in enumerate(quote.bill.lines, 1):
        title = f"{line.sku} {line.title}" if line.sku else line.title
        yield LINE.format(
            place,
            title[:LONGEST_TITLE],
            f"{line.quantity} {line.unit}".strip(),
            line.unit_price.amount if line.unit_price else "",
            f"{line.discount_percent} %" if line.discount_percent else "",
            line.amount.amount,
        ).rstrip()
    yield f"Total {quote.bill.total}"
    if (changed := quote.prices_changed) is not None:
        now = changed.total or "; ".join(each.detail for each in changed.problems)
        yield f"Prices changed since. Now: {now}"
    for item in quote.not_priced:
        yield f"Not in it: {item}"
    if quote.margin is not None:
        yield f"Margin {quote.margin.amount}, where costs are known; for the shop alone"
    if quote.declaration is None:
        yield ""
        yield "The customer has not acknowledged this yet:"
        yield quote.declaration_text
