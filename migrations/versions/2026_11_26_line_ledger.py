"""The connection ledger: spaces, connection points, lines and devices of a build."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_line_ledger"
down_revision = "2026_11_26_worked"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "line_space",
        *_head(),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("hottest", sa.Float(), nullable=True),
        sa.Column("hottest_typed", sa.String(length=40), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        *_keys("line_space"),
    )
    op.create_table(
        "line_point",
        *_head(),
        sa.Column("space_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("medium", sa.String(length=30), nullable=False),
        sa.Column("closing", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("size", sa.Float(), nullable=True),
        sa.Column("size_typed", sa.String(length=40), nullable=False),
        sa.Column("height", sa.Float(), nullable=True),
        sa.Column("height_typed", sa.String(length=40), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        *_keys("line_point", space_id="line_space"),
    )
    op.create_table(
        "ledger_line",
        *_head(),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("medium", sa.String(length=30), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("tag", sa.Integer(), nullable=False),
        sa.Column("first_id", sa.Integer(), nullable=True),
        sa.Column("second_id", sa.Integer(), nullable=True),
        sa.Column("first_was_id", sa.Integer(), nullable=True),
        sa.Column("second_was_id", sa.Integer(), nullable=True),
        sa.Column("size", sa.Float(), nullable=True),
        sa.Column("size_typed", sa.String(length=40), nullable=False),
        sa.Column("clamp", sa.String(length=80), nullable=False),
        sa.Column("rating", sa.Float(), nullable=True),
        sa.Column("rating_typed", sa.String(length=40), nullable=False),
        sa.Column("taken_out", sa.String(length=20), nullable=False),
        sa.Column("reason", sa.String(length=300), nullable=False),
        sa.Column("by", sa.String(length=80), nullable=False),
        sa.Column("out_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        *_keys(
            "ledger_line",
            first_id="line_point",
            second_id="line_point",
            first_was_id="line_point",
            second_was_id="line_point",
        ),
    )
    op.create_table(
        "line_device",
        *_head(),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("first_id", sa.Integer(), nullable=False),
        sa.Column("second_id", sa.Integer(), nullable=False),
        sa.Column("third_id", sa.Integer(), nullable=True),
        sa.Column("way", sa.String(length=30), nullable=False),
        sa.Column("signal_id", sa.Integer(), nullable=True),
        sa.Column("removed_at", sa.DateTime(timezone=True), nullable=True),
        *_keys(
            "line_device",
            first_id="line_space",
            second_id="line_space",
            third_id="line_space",
            signal_id="line_space",
        ),
    )
    op.create_table(
        "line_fact",
        *_head(),
        sa.Column("over_boost_cut", sa.String(length=20), nullable=False),
        *_keys("line_fact"),
        sa.UniqueConstraint("build_id", name="uq_line_fact_build_id"),
    )
    for table in ("line_space", "line_point", "ledger_line", "line_device"):
        op.create_index(f"ix_{table}_build_id", table, ["build_id"])


def _head() -> tuple[sa.Column[int], ...]:
    return tuple(sa.Column(name, sa.Integer(), nullable=False) for name in ("id", "version", "build_id"))


def _keys(table: str, **others: str) -> tuple[sa.Constraint, ...]:
    links = {"build_id": "build"} | others
    return (
        *(
            sa.ForeignKeyConstraint([column], [f"{other}.id"], name=f"fk_{table}_{column}")
            for column, other in links.items()
        ),
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
    )


def downgrade() -> None:
    for table in ("line_fact", "line_device", "ledger_line", "line_point", "line_space"):
        op.drop_table(table)
