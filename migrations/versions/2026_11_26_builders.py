"""Further builders on one server: whose a build is, as whom a browser is signed in, and what it is called."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_builders"
down_revision = "2026_11_26_line_acts"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "builder",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("name_key", sa.String(length=240), nullable=False),
        sa.Column("passphrase", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_builder"),
        sa.UniqueConstraint("name_key", name="uq_builder_name_key"),
    )
    with op.batch_alter_table("build") as build:
        build.add_column(sa.Column("builder_id", sa.Integer(), nullable=True))
        build.create_foreign_key("fk_build_builder_id_builder", "builder", ["builder_id"], ["id"])
        build.create_index("ix_build_builder_id", ["builder_id"])
    with op.batch_alter_table("sign_in") as sign_in:
        sign_in.add_column(sa.Column("builder_id", sa.Integer(), nullable=True))
        sign_in.add_column(sa.Column("device", sa.String(length=80), nullable=False, server_default=""))
        sign_in.create_foreign_key("fk_sign_in_builder_id_builder", "builder", ["builder_id"], ["id"])
        sign_in.create_index("ix_sign_in_builder_id", ["builder_id"])


def downgrade() -> None:
    with op.batch_alter_table("sign_in") as sign_in:
        sign_in.drop_index("ix_sign_in_builder_id")
        sign_in.drop_constraint("fk_sign_in_builder_id_builder", type_="foreignkey")
        sign_in.drop_column("device")
        sign_in.drop_column("builder_id")
    with op.batch_alter_table("build") as build:
        build.drop_index("ix_build_builder_id")
        build.drop_constraint("fk_build_builder_id_builder", type_="foreignkey")
        build.drop_column("builder_id")
    op.drop_table("builder")
