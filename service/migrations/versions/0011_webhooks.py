"""Webhooks: subscriptions, messages, deliveries and their log."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

from service.columns import UtcDateTime

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")


def upgrade() -> None:
    op.create_table(
        "webhook",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("url", sa.String(500), nullable=False),
        sa.Column("events", JSON_VALUE, nullable=False),
        sa.Column("is_active", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("secret", sa.String(120), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("updated_at", UtcDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_webhook")),
    )
    op.create_table(
        "webhook_message",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("event", sa.String(60), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_webhook_message")),
    )
    op.create_index(op.f("ix_webhook_message_created_at"), "webhook_message", ["created_at"])
    op.create_table(
        "webhook_delivery",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("webhook_id", sa.Integer(), nullable=False),
        sa.Column("message_id", sa.String(40), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("next_at", UtcDateTime(), nullable=True),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["webhook_id"], ["webhook.id"], name=op.f("fk_webhook_delivery_webhook_id_webhook")
        ),
        sa.ForeignKeyConstraint(
            ["message_id"],
            ["webhook_message.id"],
            name=op.f("fk_webhook_delivery_message_id_webhook_message"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_webhook_delivery")),
    )
    for columns in (["message_id"], ["state", "next_at"], ["webhook_id", "id"]):
        name = op.f("ix_webhook_delivery_" + "_".join(columns))
        op.create_index(name, "webhook_delivery", columns)
    op.create_table(
        "webhook_attempt",
        sa.Column("delivery_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("detail", sa.String(200), nullable=False),
        sa.Column("duration_ms", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["delivery_id"],
            ["webhook_delivery.id"],
            name=op.f("fk_webhook_attempt_delivery_id_webhook_delivery"),
        ),
        sa.PrimaryKeyConstraint("delivery_id", "number", name=op.f("pk_webhook_attempt")),
    )


def downgrade() -> None:
    for table in ("webhook_attempt", "webhook_delivery", "webhook_message", "webhook"):
        op.drop_table(table)
