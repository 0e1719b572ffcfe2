"""Of each table, when a build's rows in it were written to last."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_stamps"
down_revision = "2026_11_26_poses_and_keep_outs"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("build") as changed:
        changed.add_column(sa.Column("stamps", sa.JSON(), nullable=False, server_default="{}"))
    # As the program has it: no default in the database.
    with op.batch_alter_table("build") as changed:
        changed.alter_column("stamps", existing_type=sa.JSON(), existing_nullable=False, server_default=None)
