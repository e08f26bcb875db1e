"""Work sheets and the readings entered from them: never changed."""

import sqlalchemy as sa
from alembic import op

from service.columns import UtcDateTime

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

NEVER_CHANGED = ("work_sheet", "work_sheet_reading")


def upgrade() -> None:
    op.create_table(
        "work_sheet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("assessment", sa.String(32), nullable=False),
        sa.Column("made_at", UtcDateTime(), nullable=False),
        sa.Column("made_by", sa.String(120), nullable=False),
        sa.Column("sheet", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work_sheet")),
    )
    op.create_index(op.f("ix_work_sheet_assessment"), "work_sheet", ["assessment"])
    op.create_table(
        "work_sheet_reading",
        sa.Column("work_sheet_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("check", sa.String(120), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.Column("unit", sa.String(10), nullable=False),
        sa.Column("outcome", sa.String(20), nullable=True),
        sa.Column("by", sa.String(120), nullable=False),
        sa.Column("at", UtcDateTime(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["work_sheet_id"],
            ["work_sheet.id"],
            name=op.f("fk_work_sheet_reading_work_sheet_id_work_sheet"),
        ),
        sa.PrimaryKeyConstraint("work_sheet_id", "number", name=op.f("pk_work_sheet_reading")),
    )
    _forbid_changes()


def _forbid_changes() -> None:
    """The function of PostgreSQL is that of the quotes."""
    for table in NEVER_CHANGED:
        if op.get_bind().dialect.name == "sqlite":
            for deed in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is never changed'); END"
                )
        else:
            op.execute(
                f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )


def downgrade() -> None:
    for table in reversed(NEVER_CHANGED):
        op.drop_table(table)
