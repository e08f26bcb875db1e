"""First tables: families, parts, shop rules, documents, and the count of their writes."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

JSON_VALUE = sa.JSON().with_variant(JSONB(), "postgresql")


def sorted_text(length):
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "document",
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sorted_text(60), nullable=False),
        sa.Column("status", sa.String(20), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_document")),
        sa.UniqueConstraint("number", name=op.f("uq_document_number")),
    )
    with op.batch_alter_table("document", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_document_status"), ["status"], unique=False)

    op.create_table(
        "engine_family",
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sorted_text(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_engine_family")),
        sa.UniqueConstraint("key", name=op.f("uq_engine_family_key")),
    )
    op.create_table(
        "part",
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sku", sorted_text(40), nullable=False),
        sa.Column("slot", sa.String(40), nullable=False),
        sa.Column("status", sa.String(20), nullable=False),
        sa.Column("superseded_by", sorted_text(40), nullable=True),
        sa.Column("title", sorted_text(120), nullable=False),
        sa.Column("search_text", sa.String(), nullable=False),
        sa.Column("price_cents", sa.BigInteger(), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("stock_count", sa.Integer(), nullable=False),
        sa.Column("lead_time_days", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
        sa.UniqueConstraint("sku", name=op.f("uq_part_sku")),
    )
    with op.batch_alter_table("part", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_part_price_cents"), ["price_cents"], unique=False)
        batch_op.create_index(batch_op.f("ix_part_slot"), ["slot"], unique=False)
        batch_op.create_index(batch_op.f("ix_part_title"), ["title"], unique=False)

    op.create_table(
        "revision",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_revision")),
    )
    op.create_table(
        "shop_rule",
        sa.Column("value", JSON_VALUE, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sorted_text(40), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop_rule")),
        sa.UniqueConstraint("key", name=op.f("uq_shop_rule_key")),
    )
    op.create_table(
        "document_reference",
        sa.Column("document_id", sa.Integer(), nullable=False),
        sa.Column("part_reference", sa.String(120), nullable=False),
        sa.ForeignKeyConstraint(
            ["document_id"],
            ["document.id"],
            name=op.f("fk_document_reference_document_id_document"),
        ),
        sa.PrimaryKeyConstraint(
            "document_id", "part_reference", name=op.f("pk_document_reference")
        ),
    )
    with op.batch_alter_table("document_reference", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_document_reference_part_reference"), ["part_reference"], unique=False
        )

    op.create_table(
        "engine_family_use",
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("use_class", sa.String(20), nullable=False),
        sa.ForeignKeyConstraint(
            ["family_id"],
            ["engine_family.id"],
            name=op.f("fk_engine_family_use_family_id_engine_family"),
        ),
        sa.PrimaryKeyConstraint("family_id", "use_class", name=op.f("pk_engine_family_use")),
    )
    with op.batch_alter_table("engine_family_use", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_engine_family_use_use_class"), ["use_class"], unique=False
        )

    op.create_table(
        "part_family",
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["family_id"], ["engine_family.id"], name=op.f("fk_part_family_family_id_engine_family")
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_part_family_part_id_part")),
        sa.PrimaryKeyConstraint("part_id", "family_id", name=op.f("pk_part_family")),
    )
    with op.batch_alter_table("part_family", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_part_family_family_id"), ["family_id"], unique=False)

    op.create_table(
        "stock_part",
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("slot", sa.String(40), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["family_id"], ["engine_family.id"], name=op.f("fk_stock_part_family_id_engine_family")
        ),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name=op.f("fk_stock_part_part_id_part")),
        sa.PrimaryKeyConstraint("family_id", "slot", name=op.f("pk_stock_part")),
    )
    with op.batch_alter_table("stock_part", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stock_part_part_id"), ["part_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("stock_part", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stock_part_part_id"))

    op.drop_table("stock_part")
    with op.batch_alter_table("part_family", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_part_family_family_id"))

    op.drop_table("part_family")
    with op.batch_alter_table("engine_family_use", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_engine_family_use_use_class"))

    op.drop_table("engine_family_use")
    with op.batch_alter_table("document_reference", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_document_reference_part_reference"))

    op.drop_table("document_reference")
    op.drop_table("shop_rule")
    op.drop_table("revision")
    with op.batch_alter_table("part", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_part_title"))
        batch_op.drop_index(batch_op.f("ix_part_slot"))
        batch_op.drop_index(batch_op.f("ix_part_price_cents"))

    op.drop_table("part")
    op.drop_table("engine_family")
    with op.batch_alter_table("document", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_document_status"))

    op.drop_table("document")
