"""What was done to lines and points at the car, for the log."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_line_acts"
down_revision = "2026_11_26_leak_tests"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "line_act",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("line_id", sa.Integer(), nullable=True),
        sa.Column("point_id", sa.Integer(), nullable=True),
        sa.Column("word", sa.String(length=30), nullable=False),
        sa.Column("detail", sa.String(length=400), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_line_act_build_id"),
        sa.ForeignKeyConstraint(["line_id"], ["ledger_line.id"], name="fk_line_act_line_id"),
        sa.ForeignKeyConstraint(["point_id"], ["line_point.id"], name="fk_line_act_point_id"),
        sa.PrimaryKeyConstraint("id", name="pk_line_act"),
    )
    op.create_index("ix_line_act_build_id", "line_act", ["build_id"])


def downgrade() -> None:
    op.drop_table("line_act")
