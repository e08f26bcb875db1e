"""Close two ways round the guards: to replace a row of SQLite, and to empty a table of PostgreSQL."""

from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

KEYS = {
    "quote_revision": ("quote_id", "number"),
    "quote_event": ("quote_id", "number"),
    "refusal": ("id",),
    "work_sheet": ("id",),
    "work_sheet_reading": ("work_sheet_id", "number"),
}


def upgrade() -> None:
    for table, key in KEYS.items():
        if op.get_bind().dialect.name == "sqlite":
            # REPLACE deletes what is in its way without asking the triggers for deletes.
            same = " AND ".join(f"{column} = NEW.{column}" for column in key)
            op.execute(
                f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
                f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
                f"BEGIN SELECT RAISE(ABORT, '{table} is never changed'); END"
            )
        else:
            op.execute(
                f"CREATE TRIGGER {table}_never_emptied BEFORE TRUNCATE ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
            )


def downgrade() -> None:
    for table in KEYS:
        if op.get_bind().dialect.name == "sqlite":
            op.execute(f"DROP TRIGGER {table}_no_replace")
        else:
            op.execute(f"DROP TRIGGER {table}_never_emptied ON {table}")
