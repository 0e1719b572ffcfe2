"""What stands near a run, what the old joint was, tables of hoses, wrap, and what is conceded on figures."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_neighbours_and_hoses"
down_revision = "2026_11_25_limits_and_figures"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "neighbour",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("design_id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("frame", sa.String(length=40), nullable=False),
        sa.Column("material", sa.String(length=60), nullable=False),
        sa.Column("protection", sa.String(length=30), nullable=False),
        sa.Column("stood", sa.String(length=30), nullable=False),
        sa.Column("warmth", sa.String(length=20), nullable=False),
        sa.Column("gap", sa.Float(), nullable=True),
        sa.Column("gap_doubt", sa.Float(), nullable=False),
        sa.Column("moves", sa.Float(), nullable=True),
        sa.Column("width", sa.Float(), nullable=True),
        sa.Column("typed", sa.JSON(), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["design_id"], ["design.id"], name="fk_neighbour_design_id"),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name="fk_neighbour_piece_id", ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_neighbour"),
    )
    op.create_index("ix_neighbour_design_id", "neighbour", ["design_id"])
    op.create_table(
        "figure_concession",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subsystem_id", sa.Integer(), nullable=False),
        sa.Column("rule", sa.String(length=40), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["subsystem_id"], ["subsystem.id"], name="fk_figure_concession_subsystem_id"),
        sa.PrimaryKeyConstraint("id", name="pk_figure_concession"),
        sa.UniqueConstraint("subsystem_id", "rule", name="uq_figure_concession_subsystem_id_rule"),
    )
    op.create_index("ix_figure_concession_subsystem_id", "figure_concession", ["subsystem_id"])
    with op.batch_alter_table("design") as changed:
        changed.add_column(sa.Column("looked_round", sa.Boolean(), nullable=False, server_default=sa.false()))
    with op.batch_alter_table("piece") as changed:
        changed.add_column(sa.Column("wrap", sa.Float(), nullable=True))
        changed.add_column(sa.Column("ratings", sa.JSON(), nullable=False, server_default="[]"))
    with op.batch_alter_table("joint") as changed:
        changed.add_column(sa.Column("old_diameter", sa.Float(), nullable=True))
        changed.add_column(sa.Column("old_pressure", sa.Float(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("joint") as changed:
        changed.drop_column("old_pressure")
        changed.drop_column("old_diameter")
    with op.batch_alter_table("piece") as changed:
        changed.drop_column("ratings")
        changed.drop_column("wrap")
    with op.batch_alter_table("design") as changed:
        changed.drop_column("looked_round")
    op.drop_table("figure_concession")
    op.drop_table("neighbour")
