"""Quotes, their revisions and history, prices, taxes, and keyed requests."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

from service.columns import UtcDateTime, sorted_text

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")
NEVER_CHANGED = ("quote_revision", "quote_event")


def upgrade() -> None:
    op.create_table(
        "idempotency_key",
        sa.Column("caller", sa.String(120), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("headers", JSON_VALUE, nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("caller", "key", name=op.f("pk_idempotency_key")),
    )
    op.create_index(op.f("ix_idempotency_key_created_at"), "idempotency_key", ["created_at"])
    op.create_table(
        "quote",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("issued_state", sa.String(20), nullable=True),
        sa.Column("expires_at", UtcDateTime(), nullable=True),
        sa.Column("customer_reference", sorted_text(120), nullable=False),
        sa.Column("customer_name", sorted_text(120), nullable=False),
        sa.Column("valid_until", sa.Date(), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("total_cents", sa.BigInteger(), nullable=False),
        sa.Column("content", JSON_VALUE, nullable=False),
        sa.Column("declaration", JSON_VALUE, nullable=True),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("updated_at", UtcDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote")),
    )
    op.create_index(op.f("ix_quote_state_id"), "quote", ["state", "id"])
    op.create_index(
        op.f("ix_quote_customer_reference_id"), "quote", ["customer_reference", "id"]
    )
    op.create_index(op.f("ix_quote_issued_state_expires_at"), "quote", ["issued_state", "expires_at"])
    op.create_index(op.f("ix_quote_created_at"), "quote", ["created_at"])
    op.create_table(
        "quote_part",
        sa.Column("sku", sorted_text(40), nullable=False),
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_quote_part_quote_id_quote")),
        sa.PrimaryKeyConstraint("sku", "quote_id", name=op.f("pk_quote_part")),
    )
    op.create_index(op.f("ix_quote_part_quote_id"), "quote_part", ["quote_id"])
    op.create_table(
        "quote_revision",
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("issued_at", UtcDateTime(), nullable=False),
        sa.Column("total_cents", sa.BigInteger(), nullable=False),
        sa.Column("frozen", sa.LargeBinary(), nullable=False),
        sa.Column("frozen_sha256", sa.String(64), nullable=False),
        sa.Column("customer_pdf", sa.LargeBinary(), nullable=False),
        sa.Column("customer_pdf_sha256", sa.String(64), nullable=False),
        sa.Column("shop_pdf", sa.LargeBinary(), nullable=False),
        sa.Column("shop_pdf_sha256", sa.String(64), nullable=False),
        sa.ForeignKeyConstraint(
            ["quote_id"], ["quote.id"], name=op.f("fk_quote_revision_quote_id_quote")
        ),
        sa.PrimaryKeyConstraint("quote_id", "number", name=op.f("pk_quote_revision")),
    )
    op.create_table(
        "quote_event",
        sa.Column("quote_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(30), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("by", sa.String(120), nullable=False),
        sa.Column("key", sa.String(120), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("data", JSON_VALUE, nullable=False),
        sa.ForeignKeyConstraint(["quote_id"], ["quote.id"], name=op.f("fk_quote_event_quote_id_quote")),
        sa.PrimaryKeyConstraint("quote_id", "number", name=op.f("pk_quote_event")),
    )
    for table in ("price_list", "tax_rule"):
        op.create_table(
            table,
            sa.Column("key", sorted_text(40), nullable=False),
            sa.Column("value", JSON_VALUE, nullable=False),
            sa.Column("version", sa.Integer(), nullable=False),
            sa.Column("updated_at", UtcDateTime(), nullable=False),
            sa.PrimaryKeyConstraint("key", name=op.f(f"pk_{table}")),
        )
    _forbid_changes()


def _forbid_changes() -> None:
    """Let the database itself refuse what nobody should do to what was issued."""
    if op.get_bind().dialect.name == "sqlite":
        for table in NEVER_CHANGED:
            for deed in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is never changed'); END"
                )
        return
    op.execute(
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% is never changed', TG_TABLE_NAME; END $$"
    )
    for table in NEVER_CHANGED:
        op.execute(
            f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )


def downgrade() -> None:
    for table in ("tax_rule", "price_list", "quote_event", "quote_revision", "quote_part", "quote"):
        op.drop_table(table)
    op.drop_table("idempotency_key")
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION refuse_change()")
