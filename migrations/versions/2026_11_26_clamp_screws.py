"""Where a clamp's screw is turned to, and which tool reaches it."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_clamp_screws"
down_revision = "2026_11_26_trims"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("joint") as changed:
        changed.add_column(sa.Column("screw", sa.String(length=20), nullable=False, server_default=""))
        changed.add_column(sa.Column("screw_at", sa.String(length=60), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("joint") as changed:
        changed.drop_column("screw_at")
        changed.drop_column("screw")
