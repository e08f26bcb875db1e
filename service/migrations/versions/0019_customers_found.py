"""Quotes are found by a piece of what the customer calls them, or is called, whatever the case."""

import sqlalchemy as sa
from alembic import op

from service.columns import sorted_text

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

FOLDED = {"reference_folded": "customer_reference", "name_folded": "customer_name"}


def upgrade() -> None:
    for column in FOLDED:
        op.add_column("quote", sa.Column(column, sorted_text(400), nullable=False, server_default=sa.text("''")))
    number = sa.column("id", sa.Integer)
    quote = sa.table("quote", number, *(sa.column(n) for n in (*FOLDED, *FOLDED.values())))
    connection = op.get_bind()
    texts = sa.select(number, *(quote.c[source] for source in FOLDED.values()))
    changes = [
        {"of": row[0], "reference": _folded(row[1]), "name": _folded(row[2])}
        for row in connection.execute(texts)
    ]
    if changes:
        connection.execute(
            sa.update(quote)
            .where(quote.c.id == sa.bindparam("of"))
            .values(reference_folded=sa.bindparam("reference"), name_folded=sa.bindparam("name")),
            changes,
        )
    op.drop_index(op.f("ix_quote_customer_reference_id"), "quote")
    op.create_index(
        op.f("ix_quote_reference_folded_name_folded_id"),
        "quote",
        ["reference_folded", "name_folded", "id"],
    )


def _folded(text: str) -> str:
    """As the service wrote it at this revision."""
    return " ".join(text.casefold().split())


def downgrade() -> None:
    op.drop_index(op.f("ix_quote_reference_folded_name_folded_id"), "quote")
    op.create_index(
        op.f("ix_quote_customer_reference_id"), "quote", ["customer_reference", "id"]
    )
    for column in FOLDED:
        op.drop_column("quote", column)
