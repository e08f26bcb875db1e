"""Answers that were given, under the hash of what they were worked out from."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "assessment",
        sa.Column("key", sa.String(32), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_assessment")),
    )


def downgrade() -> None:
    op.drop_table("assessment")
