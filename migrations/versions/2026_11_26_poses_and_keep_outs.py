"""Where ports are and which way they face, the datum that they are counted from, and keep-outs."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_poses_and_keep_outs"
down_revision = "2026_11_26_neighbours_and_hoses"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "datum",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("words", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_datum_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_datum"),
        sa.UniqueConstraint("build_id", name="uq_datum_build_id"),
    )
    op.create_table(
        "pose_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("port_id", sa.Integer(), nullable=False),
        sa.Column("about", sa.String(length=10), nullable=False),
        sa.Column("way", sa.String(length=10), nullable=False),
        sa.Column("numbers", sa.JSON(), nullable=False),
        sa.Column("said", sa.JSON(), nullable=False),
        sa.Column("typed", sa.JSON(), nullable=False),
        sa.Column("beside_id", sa.Integer(), nullable=True),
        sa.Column("instrument", sa.String(length=40), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("taken_by", sa.String(length=80), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_pose_reading_build_id"),
        sa.ForeignKeyConstraint(["port_id"], ["port.id"], name="fk_pose_reading_port_id"),
        sa.ForeignKeyConstraint(["beside_id"], ["port.id"], name="fk_pose_reading_beside_id"),
        sa.PrimaryKeyConstraint("id", name="pk_pose_reading"),
    )
    op.create_index("ix_pose_reading_build_id", "pose_reading", ["build_id"])
    op.create_table(
        "keep_out",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("what", sa.String(length=40), nullable=False),
        sa.Column("shape", sa.String(length=10), nullable=False),
        sa.Column("frame", sa.String(length=40), nullable=False),
        sa.Column("numbers", sa.JSON(), nullable=False),
        sa.Column("typed", sa.JSON(), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_keep_out_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_keep_out"),
    )
    op.create_index("ix_keep_out_build_id", "keep_out", ["build_id"])


def downgrade() -> None:
    op.drop_table("keep_out")
    op.drop_table("pose_reading")
    op.drop_table("datum")
