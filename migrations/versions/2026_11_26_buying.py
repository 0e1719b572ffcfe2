"""Where postage ends, who takes back, what a week is worth, spares by the rule, tax and duty of an order."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_buying"
down_revision = "2026_11_26_stints"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("supplier") as changed:
        changed.add_column(sa.Column("free_from_minor", sa.Integer(), nullable=True))
        changed.add_column(
            sa.Column("takes_back", sa.Boolean(), nullable=False, server_default=sa.false())
        )
    with op.batch_alter_table("build") as changed:
        changed.add_column(sa.Column("week_minor", sa.Integer(), nullable=True))
    with op.batch_alter_table("supply_order") as changed:
        changed.add_column(sa.Column("tax_minor", sa.Integer(), nullable=False, server_default="0"))
        changed.add_column(sa.Column("duty_minor", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("part") as changed:
        changed.alter_column("spares", existing_type=sa.Integer(), nullable=True)
    op.execute("UPDATE part SET spares = NULL WHERE spares = 0")


def downgrade() -> None:
    op.execute("UPDATE part SET spares = 0 WHERE spares IS NULL")
    with op.batch_alter_table("part") as changed:
        changed.alter_column("spares", existing_type=sa.Integer(), nullable=False)
    with op.batch_alter_table("supply_order") as changed:
        changed.drop_column("duty_minor")
        changed.drop_column("tax_minor")
    with op.batch_alter_table("build") as changed:
        changed.drop_column("week_minor")
    with op.batch_alter_table("supplier") as changed:
        changed.drop_column("takes_back")
        changed.drop_column("free_from_minor")
