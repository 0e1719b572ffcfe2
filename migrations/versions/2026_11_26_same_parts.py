"""A part that another one is bought for."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_same_parts"
down_revision = "2026_11_26_passkeys"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("part") as part:
        part.add_column(sa.Column("same_as_id", sa.Integer(), nullable=True))
        part.create_foreign_key("fk_part_same_as_id", "part", ["same_as_id"], ["id"])


def downgrade() -> None:
    with op.batch_alter_table("part") as part:
        part.drop_constraint("fk_part_same_as_id", type_="foreignkey")
        part.drop_column("same_as_id")
