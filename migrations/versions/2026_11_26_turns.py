"""Bends of a pipe after its first one, and the mitre that it ends in."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_turns"
down_revision = "2026_11_26_clamp_screws"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("piece") as changed:
        changed.add_column(sa.Column("turns", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    with op.batch_alter_table("piece") as changed:
        changed.drop_column("turns")
