"""The secret that a webhook had before, for as long as messages are signed with it too."""

import sqlalchemy as sa
from alembic import op

from service.columns import UtcDateTime

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("webhook", sa.Column("old_secret", sa.String(120), nullable=True))
    op.add_column("webhook", sa.Column("old_secret_until", UtcDateTime(), nullable=True))


def downgrade() -> None:
    op.drop_column("webhook", "old_secret_until")
    op.drop_column("webhook", "old_secret")
