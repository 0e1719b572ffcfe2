"""Each time that a piece was offered up, and what was taken off it."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_trims"
down_revision = "2026_11_26_stamps"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "trim",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("excess", sa.Float(), nullable=False),
        sa.Column("doubt", sa.Float(), nullable=False),
        sa.Column("read_with", sa.String(length=30), nullable=False),
        sa.Column("taken_off", sa.Float(), nullable=True),
        sa.Column("taken_by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("typed", sa.JSON(), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name="fk_trim_piece_id", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_trim"),
    )
    op.create_index("ix_trim_piece_id", "trim", ["piece_id"])


def downgrade() -> None:
    op.drop_table("trim")
