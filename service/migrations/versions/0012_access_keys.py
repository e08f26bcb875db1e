"""Keys of callers: the digest of each, never its text."""

import sqlalchemy as sa
from alembic import op

from service.columns import JSON_VALUE, UtcDateTime

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "access_key",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("scopes", JSON_VALUE, nullable=False),
        sa.Column("created_at", UtcDateTime(), nullable=False),
        sa.Column("last_used_on", sa.Date(), nullable=True),
        sa.Column("revoked_at", UtcDateTime(), nullable=True),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_access_key")),
        sa.UniqueConstraint("sha256", name=op.f("uq_access_key_sha256")),
    )


def downgrade() -> None:
    op.drop_table("access_key")
