"""Orders in another currency: its code, the rate of each line and where that is from."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_rates"
down_revision = "2026_11_26_same_parts"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("order_line") as changed:
        changed.add_column(sa.Column("currency", sa.String(3), nullable=False, server_default=""))
        changed.add_column(sa.Column("rate", sa.String(20), nullable=False, server_default=""))
        changed.add_column(sa.Column("rate_source", sa.String(80), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("order_line") as changed:
        changed.drop_column("rate_source")
        changed.drop_column("rate")
        changed.drop_column("currency")
