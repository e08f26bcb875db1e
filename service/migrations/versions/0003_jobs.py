"""Jobs, their finished pieces, and every change that they went through."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")


def moment():
    return sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("key", sa.String(64), nullable=True),
        sa.Column("payload", JSON_VALUE, nullable=False),
        sa.Column("item_count", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("progress", sa.Float(), nullable=False),
        sa.Column("phase", sa.String(200), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("attempt_limit", sa.Integer(), nullable=False),
        sa.Column("token", sa.Integer(), nullable=False),
        sa.Column("lease_until", moment(), nullable=True),
        sa.Column("cancel_requested", sa.Boolean(), nullable=False),
        sa.Column("created_at", moment(), nullable=False),
        sa.Column("started_at", moment(), nullable=True),
        sa.Column("finished_at", moment(), nullable=True),
        sa.Column("result_url", sa.String(200), nullable=True),
        sa.Column("problem", JSON_VALUE, nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("key", name=op.f("uq_job_key")),
    )
    op.create_index(op.f("ix_job_state"), "job", ["state"])
    op.create_table(
        "job_item",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_item_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", "position", name=op.f("pk_job_item")),
    )
    op.create_table(
        "job_event",
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("at", moment(), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("progress", sa.Float(), nullable=False),
        sa.Column("phase", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_event_job_id_job")),
        sa.PrimaryKeyConstraint("job_id", "number", name=op.f("pk_job_event")),
    )


def downgrade() -> None:
    op.drop_table("job_event")
    op.drop_table("job_item")
    op.drop_index(op.f("ix_job_state"), table_name="job")
    op.drop_table("job")
