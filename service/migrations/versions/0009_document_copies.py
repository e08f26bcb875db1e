"""Which file was sent as the copy of which paper."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("document") as table:
        table.add_column(sa.Column("copy_sha256", sa.String(64), nullable=True))
        table.create_foreign_key(
            op.f("fk_document_copy_sha256_document_file"),
            "document_file",
            ["copy_sha256"],
            ["sha256"],
        )
    _take_over_copies()


def _take_over_copies() -> None:
    """Until now a file was kept only when it was sent for the paper that names its digest."""
    connection = op.get_bind()
    document = sa.table(
        "document", sa.column("id"), sa.column("value", sa.JSON), sa.column("copy_sha256")
    )
    kept = {row.sha256 for row in connection.execute(sa.text("SELECT sha256 FROM document_file"))}
    for row in list(connection.execute(sa.select(document.c.id, document.c.value))):
        digest = row.value.get("file_sha256")
        if digest in kept:
            connection.execute(
                sa.update(document).where(document.c.id == row.id).values(copy_sha256=digest)
            )


def downgrade() -> None:
    with op.batch_alter_table("document") as table:
        table.drop_constraint(op.f("fk_document_copy_sha256_document_file"), type_="foreignkey")
        table.drop_column("copy_sha256")
