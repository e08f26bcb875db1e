"""Quotes, bills and price lists as tables for spreadsheet programs.

They say what a customer may read, but for what a price list's items cost the shop: that list
is the desk's own, and whole. A margin stands in none.
"""

from collections.abc import Iterable

from service.money import Money, decimal_text
from service.quotes.lists import QuoteSummary
from service.quotes.money import Bill
from service.quotes.price_lists import PriceList
from service.tabular import Cell, Column, Holds, Table

CURRENCY = Column(name="currency", width=9)


def quotes_table(quotes: Iterable[QuoteSummary]) -> Table:
    """Return a row for each quote; the total is that of its bill."""
    return Table(
        name="Quotes",
        columns=(
            _numbers("quote"),
            Column(name="state"),
            _numbers("revision"),
            Column(name="customer_reference", width=24),
            Column(name="customer_name", width=30),
            Column(name="valid_until", holds=Holds.DAY),
            _amounts("total"),
            CURRENCY,
            Column(name="created_at_utc", holds=Holds.MOMENT, width=20),
            Column(name="updated_at_utc", holds=Holds.MOMENT, width=20),
        ),
        rows=(
            (
                each.id,
                each.state.value,
                each.revision,
                each.customer_reference,
                each.customer_name,
                each.valid_until,
                decimal_text(each.total_cents),
                each.currency,
                each.created_at,
                each.updated_at,
            )
            for each in quotes
        ),
    )


def bill_table(bill: Bill) -> Table:
    """Return a row for each printed line, and the total as the last one."""
    currency = bill.total.currency
    lines: list[tuple[Cell, ...]] = [
        (
            place,
            line.kind.value,
            line.sku,
            line.title,
            line.quantity,
            line.unit,
            _amount(line.unit_price),
            line.discount_percent,
            line.amount.amount,
            currency,
            line.note,
        )
        for place, line in enumerate(bill.lines, start=1)
    ]
    total = (None, "total", None, "Total", *(None,) * 4, bill.total.amount, currency, None)
    return Table(
        name="Quote",
        columns=(
            _numbers("line"),
            Column(name="kind"),
            Column(name="sku", width=24),
            Column(name="title", width=44),
            _numbers("quantity"),
            Column(name="unit", width=7),
            _amounts("unit_price"),
            _numbers("discount_percent"),
            _amounts("amount"),
            CURRENCY,
            Column(name="note", width=44),
        ),
        rows=(*lines, total),
    )


def price_list_table(prices: PriceList) -> Table:
    """Return a row for each quantity from which a price holds."""
    return Table(
        name="Prices",
        columns=(
            Column(name="price_list", width=20),
            Column(name="price_list_title", width=30),
            Column(name="valid_from", holds=Holds.DAY),
            Column(name="valid_to", holds=Holds.DAY),
            Column(name="item", width=24),
            Column(name="title", width=44),
            _numbers("from_quantity"),
            _amounts("unit_price"),
            _amounts("core_deposit"),
            _amounts("unit_cost"),
            CURRENCY,
        ),
        rows=(
            (
                prices.key,
                prices.title,
                prices.valid_from,
                prices.valid_to,
                entry.item,
                entry.title,
                step.from_quantity,
                step.unit_price.amount,
                _amount(entry.core_deposit),
                _amount(entry.unit_cost),
                prices.currency,
            )
            for entry in prices.items
            for step in entry.breaks
        ),
    )


def _numbers(name: str) -> Column:
    return Column(name=name, holds=Holds.NUMBER, width=10)


def _amounts(name: str) -> Column:
    return Column(name=name, holds=Holds.MONEY)


def _amount(money: Money | None) -> str | None:
    return None if money is None else money.amount
