"""What a draft was charged when it was last written; null until it is written again."""

import sqlalchemy as sa
from alembic import op

from service.columns import JSON_VALUE

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("quote", sa.Column("charge", JSON_VALUE, nullable=True))


def downgrade() -> None:
    op.drop_column("quote", "charge")
