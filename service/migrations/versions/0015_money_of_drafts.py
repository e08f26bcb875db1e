"""Amounts of quotes and price lists say their currency; before, they were text alone.

What was issued stays byte for byte; `quotes/evidence.py` reads both shapes.
"""

import sqlalchemy as sa
from alembic import op

from service.columns import JSON_VALUE

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

AMOUNTS = ("unit_price", "core_deposit", "unit_cost")


def upgrade() -> None:
    quote = sa.table("quote", sa.column("id"), sa.column("content", JSON_VALUE))
    for number, content in op.get_bind().execute(sa.select(quote.c.id, quote.c.content)).all():
        lines = [_line(line, content["currency"]) for line in content["lines"]]
        if lines != content["lines"]:
            changed = {**content, "lines": lines}
            op.execute(quote.update().where(quote.c.id == number).values(content=changed))
    kept = sa.table("price_list", sa.column("key"), sa.column("value", JSON_VALUE))
    for key, value in op.get_bind().execute(sa.select(kept.c.key, kept.c.value)).all():
        items = [_item(item, value["currency"]) for item in value["items"]]
        if items != value["items"]:
            changed = {**value, "items": items}
            op.execute(kept.update().where(kept.c.key == key).values(value=changed))


def _item(item, currency):
    breaks = [_line(each, currency) for each in item["breaks"]]
    return {**_line(item, currency), "breaks": breaks}


def _line(line, currency):
    return {
        name: {"amount": value, "currency": currency}
        if name in AMOUNTS and isinstance(value, str)
        else value
        for name, value in line.items()
    }


def downgrade() -> None:
    """Revisions before this one read what is read now."""
