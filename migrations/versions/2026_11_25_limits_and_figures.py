"""Limits of the checks that a build changed, who conceded what, and figures of what is fitted."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_limits_and_figures"
down_revision = "2026_11_25_buying_and_set_aside"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "limit_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("limit_key", sa.String(length=40), nullable=False),
        sa.Column("value", sa.Float(), nullable=True),
        sa.Column("typed", sa.String(length=60), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_limit_change_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_limit_change"),
        sa.UniqueConstraint("build_id", "limit_key", name="uq_limit_change_build_id_limit_key"),
    )
    op.create_index("ix_limit_change_build_id", "limit_change", ["build_id"])
    op.create_table(
        "figure_sheet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("subsystem_id", sa.Integer(), nullable=False),
        sa.Column("numbers", sa.JSON(), nullable=False),
        sa.Column("said", sa.JSON(), nullable=False),
        sa.Column("tables", sa.JSON(), nullable=False),
        sa.Column("typed", sa.JSON(), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["subsystem_id"], ["subsystem.id"], name="fk_figure_sheet_subsystem_id"),
        sa.PrimaryKeyConstraint("id", name="pk_figure_sheet"),
        sa.UniqueConstraint("subsystem_id", name="uq_figure_sheet_subsystem_id"),
    )
    with op.batch_alter_table("concession") as changed:
        changed.add_column(sa.Column("by", sa.String(length=80), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("concession") as changed:
        changed.drop_column("by")
    op.drop_table("figure_sheet")
    op.drop_table("limit_change")
