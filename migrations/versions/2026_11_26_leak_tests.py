"""Pressure tests of the charge side."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_leak_tests"
down_revision = "2026_11_26_first_start"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "leak_test",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("way", sa.String(length=20), nullable=False),
        sa.Column("pressure", sa.Float(), nullable=False),
        sa.Column("pressure_typed", sa.String(length=40), nullable=False),
        sa.Column("last", sa.Float(), nullable=True),
        sa.Column("last_typed", sa.String(length=40), nullable=False),
        *(
            sa.Column(name, sa.Float(), nullable=True)
            for name in ("held", "volume", "taken", "before", "after")
        ),
        sa.Column("outside", sa.Float(), nullable=False),
        sa.Column("leaks", sa.Boolean(), nullable=False),
        sa.Column("found", sa.String(length=300), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_leak_test_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_leak_test"),
    )
    op.create_index("ix_leak_test_build_id", "leak_test", ["build_id"])


def downgrade() -> None:
    op.drop_table("leak_test")
