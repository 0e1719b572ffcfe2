"""What was foreseen of a build, day by day."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_forecast_notes"
down_revision = "2026_11_26_line_ledger"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "forecast_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("noted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finish", sa.Date(), nullable=True),
        sa.Column("likely", sa.Date(), nullable=True),
        sa.Column("safe", sa.Date(), nullable=True),
        sa.Column("stood", sa.JSON(), nullable=False),
        sa.Column("moved", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_forecast_note_build_id_build"),
        sa.PrimaryKeyConstraint("id", name="pk_forecast_note"),
    )
    op.create_index("ix_forecast_note_build_id", "forecast_note", ["build_id"])


def downgrade() -> None:
    op.drop_table("forecast_note")
