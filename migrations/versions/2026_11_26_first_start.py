"""The gate before the first start: what is entered, looked at and signed; which stage a task holds."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_first_start"
down_revision = "2026_11_26_helper_links"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("task") as changed:
        for name, length in (("licensed", 40), ("start_stage", 20)):
            column = sa.Column(name, sa.String(length=length), nullable=False, server_default="")
            changed.add_column(column)
    op.create_table(
        "start_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(length=20), nullable=False),
        sa.Column("item", sa.String(length=20), nullable=False),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("typed", sa.String(length=40), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_start_entry_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_start_entry"),
    )
    op.create_index("ix_start_entry_build_id", "start_entry", ["build_id"])
    op.create_table(
        "start_signature",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(length=20), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("taken_back_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("taken_back_by", sa.String(length=80), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_start_signature_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_start_signature"),
    )
    op.create_index("ix_start_signature_build_id", "start_signature", ["build_id"])
    op.create_table(
        "start_look",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(length=20), nullable=False),
        sa.Column("state", sa.String(length=60), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_start_look_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_start_look"),
    )
    op.create_index("ix_start_look_build_id", "start_look", ["build_id"])


def downgrade() -> None:
    for table in ("start_look", "start_signature", "start_entry"):
        op.drop_table(table)
    with op.batch_alter_table("task") as changed:
        for name in ("start_stage", "licensed"):
            changed.drop_column(name)
