"""Stints of the week, helpers, the visits they offer, and what the garage allows."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_stints"
down_revision = "2026_11_26_turns"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "garage_time",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(length=60), nullable=False),
        sa.Column("noise_from", sa.Integer(), nullable=True),
        sa.Column("noise_to", sa.Integer(), nullable=True),
        sa.Column("quiet_sundays", sa.Boolean(), nullable=False),
        sa.Column("raising", sa.Integer(), nullable=False),
        sa.Column("lowering", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_garage_time_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_garage_time"),
        sa.UniqueConstraint("build_id", name="uq_garage_time_build_id"),
    )
    op.create_table(
        "stint",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("weekday", sa.Integer(), nullable=True),
        sa.Column("day", sa.Date(), nullable=True),
        sa.Column("begins", sa.Integer(), nullable=True),
        sa.Column("ends", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(length=120), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_stint_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_stint"),
    )
    op.create_index("ix_stint_build_id", "stint", ["build_id"])
    op.create_table(
        "helper",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("skills", sa.String(length=300), nullable=False),
        sa.Column("contact", sa.String(length=120), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_helper_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_helper"),
    )
    op.create_index("ix_helper_build_id", "helper", ["build_id"])
    op.create_table(
        "visit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("helper_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("begins", sa.Integer(), nullable=False),
        sa.Column("ends", sa.Integer(), nullable=False),
        sa.Column("cancel_by", sa.Date(), nullable=True),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_visit_build_id"),
        sa.ForeignKeyConstraint(["helper_id"], ["helper.id"], name="fk_visit_helper_id"),
        sa.PrimaryKeyConstraint("id", name="pk_visit"),
    )
    op.create_index("ix_visit_build_id", "visit", ["build_id"])
    op.create_index("ix_visit_helper_id", "visit", ["helper_id"])


def downgrade() -> None:
    for table in ("visit", "helper", "stint", "garage_time"):
        op.drop_table(table)
