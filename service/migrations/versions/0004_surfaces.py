"""Fitted response surfaces, one for each family."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")


def upgrade() -> None:
    op.create_table(
        "surface",
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("family", sa.String(40), nullable=False),
        sa.Column("numbers", JSON_VALUE, nullable=False),
        sa.PrimaryKeyConstraint("family", name=op.f("pk_surface")),
    )


def downgrade() -> None:
    op.drop_table("surface")
