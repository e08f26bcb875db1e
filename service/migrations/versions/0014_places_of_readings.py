"""Where a reading of a work sheet was taken: a check may have a value for each cylinder or bolt."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("work_sheet_reading", sa.Column("place", sa.String(120), nullable=True))


def downgrade() -> None:
    op.drop_column("work_sheet_reading", "place")
