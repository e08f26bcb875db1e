"""A parts list as a table for a spreadsheet."""

from collections.abc import Iterator

from service.kits.parts_list import PartsList
from service.money import Price
from service.tabular import Cell, Column, Holds, Table, number_column

ARTICLE, MACHINING, MISSING = "article", "machining", "missing"


def list_table(listed: PartsList) -> Table:
    """Return a row for each article and work, then for each thing that the shop does not list."""
    return Table(
        name="Parts list",
        columns=(
            Column(name="kind"),
            number_column("count"),
            Column(name="sku", width=28),
            Column(name="title", width=40),
            Column(name="needed_for", width=40),
            Column(name="slot"),
            Column(name="price", holds=Holds.MONEY),
            Column(name="currency"),
            number_column("weight_g"),
            Column(name="on_shelf"),
            number_column("wait_days"),
            Column(name="instead", width=28),
        ),
        rows=tuple(_rows(listed)),
    )


def _rows(listed: PartsList) -> Iterator[tuple[Cell, ...]]:
    for line in listed.lines:
        yield (
            ARTICLE,
            line.count,
            line.sku,
            line.title,
            "; ".join(line.needed_for),
            line.slot.value,
            *_money(line.price),
            line.weight_g,
            "yes" if line.on_shelf else "no",
            line.wait_days,
            "; ".join(line.instead),
        )
    for work in listed.machining:
        yield (
            *(MACHINING, 1, work.sku, work.title, work.finding, "machining"),
            *(*_money(work.price), None, None, None, None),
        )
    for item in listed.missing:
        # How many is part of what is missing, in words.
        yield (MISSING, None, None, item.what, item.needed_for, *(None,) * 7)


def _money(price: Price | None) -> tuple[str | None, str | None]:
    return (price.amount, price.currency) if price else (None, None)
