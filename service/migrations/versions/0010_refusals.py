"""What was refused for what it asks; never changed."""

import sqlalchemy as sa
from alembic import op

from service.columns import UtcDateTime

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "refusal",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("purpose", sa.String(40), nullable=False),
        sa.Column("method", sa.String(20), nullable=False),
        sa.Column("path", sa.String(200), nullable=False),
        sa.Column("place", sa.String(200), nullable=False),
        sa.Column("words", sa.String(400), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_refusal")),
    )
    op.create_index(op.f("ix_refusal_at"), "refusal", ["at"])
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER refusal_no_{deed.lower()} BEFORE {deed} ON refusal "
                "BEGIN SELECT RAISE(ABORT, 'refusal is never changed'); END"
            )
    else:
        # The function came with the quotes.
        op.execute(
            "CREATE TRIGGER refusal_never_changed BEFORE UPDATE OR DELETE ON refusal "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )


def downgrade() -> None:
    op.drop_table("refusal")
