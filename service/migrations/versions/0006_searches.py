"""Searches as they were asked and answered."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")


def upgrade() -> None:
    op.create_table(
        "search",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("catalog_revision", sa.Integer(), nullable=False),
        sa.Column("model_version", sa.String(40), nullable=False),
        sa.Column("request", JSON_VALUE, nullable=False),
        sa.Column("result", JSON_VALUE, nullable=False),
        sa.Column("yardstick", JSON_VALUE, nullable=False),
        sa.Column("parts", JSON_VALUE, nullable=False),
        sa.Column("since_then", JSON_VALUE, nullable=True),
        sa.Column("simulation_id", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_search")),
    )


def downgrade() -> None:
    op.drop_table("search")
