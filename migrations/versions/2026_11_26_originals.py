"""The original of a photo, where it was wanted. Of the photos until then none was kept."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_originals"
down_revision = "2026_11_26_rates"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("photo") as photo:
        photo.add_column(sa.Column("original_kind", sa.String(length=4), nullable=False, server_default=""))
        photo.add_column(sa.Column("original_size", sa.Integer(), nullable=False, server_default="0"))
        photo.add_column(sa.Column("original_digest", sa.String(length=64), nullable=False, server_default=""))


def downgrade() -> None:
    with op.batch_alter_table("photo") as photo:
        photo.drop_column("original_digest")
        photo.drop_column("original_size")
        photo.drop_column("original_kind")
