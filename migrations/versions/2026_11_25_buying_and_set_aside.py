"""Offers, off-cuts and returns; where a piece comes from; what may go wrong with a task; what is set aside."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_buying_and_set_aside"
down_revision = "2026_11_25_first_tables"
branch_labels = None
depends_on = None


def moment() -> sa.DateTime:
    """A moment with its time zone; SQLite keeps UTC."""
    return sa.DateTime(timezone=True)


def text(name: str, length: int) -> sa.Column:
    """A text that older rows have empty."""
    return sa.Column(name, sa.String(length=length), nullable=False, server_default="")


def whole(name: str, before: int) -> sa.Column:
    """A whole number that older rows have as `before`."""
    return sa.Column(name, sa.Integer(), nullable=False, server_default=str(before))


def flag(name: str) -> sa.Column:
    """A yes or no that older rows have as no."""
    return sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false())


def since(name: str) -> sa.Column:
    """A moment that older rows have none of."""
    return sa.Column(name, moment(), nullable=True)


def number(name: str) -> sa.Column:
    """A figure that older rows have none of."""
    return sa.Column(name, sa.Float(), nullable=True)


ADDED = {
    "subsystem": (since("removed_at"),),
    "port": (text("from_set", 40), since("removed_at")),
    "task": (text("from_set", 40), since("removed_at")),
    "part": (
        text("spec", 160),
        number("stock_length"),
        whole("spares", 0),
        text("spare_reason", 200),
        since("removed_at"),
    ),
    "supply_order": (since("removed_at"),),
    "order_line": (whole("pack", 1), whole("cancelled", 0)),
    "log_entry": (since("withdrawn_at"),),
    "photo": (since("withdrawn_at"),),
    "engine_sheet": (number("exhaust_temperature"), number("mixture")),
    "joint": (text("filler", 40),),
}


def upgrade() -> None:
    for table, columns in ADDED.items():
        with op.batch_alter_table(table) as changed:
            for column in columns:
                changed.add_column(column)
    with op.batch_alter_table("design") as changed:
        changed.add_column(flag("pattern"))
        changed.add_column(sa.Column("copied_from_id", sa.Integer(), nullable=True))
        changed.add_column(since("removed_at"))
        changed.create_foreign_key("fk_design_copied_from_id", "design", ["copied_from_id"], ["id"])
    with op.batch_alter_table("piece") as changed:
        changed.add_column(sa.Column("origin", sa.String(length=20), nullable=False, server_default="new"))
        changed.add_column(sa.Column("cut_from_id", sa.Integer(), nullable=True))
        changed.add_column(number("whole_length"))
        changed.add_column(number("travel"))
        changed.add_column(text("liner", 20))
        changed.add_column(flag("supported"))
        changed.add_column(text("offered", 20))
        changed.add_column(text("offered_note", 200))
        changed.create_foreign_key("fk_piece_cut_from_id", "piece", ["cut_from_id"], ["id"])
    op.create_table(
        "setback",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("task_id", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("chance", sa.Float(), nullable=False),
        sa.Column("minutes_low", sa.Integer(), nullable=False),
        sa.Column("minutes_likely", sa.Integer(), nullable=False),
        sa.Column("minutes_high", sa.Integer(), nullable=False),
        sa.Column("carry", sa.String(length=300), nullable=False),
        sa.Column("caution", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.Column("happened_at", moment(), nullable=True),
        sa.Column("brought_task_id", sa.Integer(), nullable=True),
        sa.Column("removed_at", moment(), nullable=True),
        sa.ForeignKeyConstraint(["task_id"], ["task.id"], name="fk_setback_task_id"),
        sa.ForeignKeyConstraint(["brought_task_id"], ["task.id"], name="fk_setback_brought_task_id"),
        sa.PrimaryKeyConstraint("id", name="pk_setback"),
    )
    op.create_table(
        "supplier",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("build_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("postage_minor", sa.Integer(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("contact", sa.String(length=200), nullable=False),
        sa.Column("note", sa.String(length=300), nullable=False),
        sa.ForeignKeyConstraint(["build_id"], ["build.id"], name="fk_supplier_build_id"),
        sa.PrimaryKeyConstraint("id", name="pk_supplier"),
        sa.UniqueConstraint("build_id", "name", name="uq_supplier_build_id_name"),
    )
    op.create_table(
        "offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("supplier_id", sa.Integer(), nullable=False),
        sa.Column("price_minor", sa.Integer(), nullable=False),
        sa.Column("pack", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=80), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("preferred", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("removed_at", moment(), nullable=True),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name="fk_offer_part_id"),
        sa.ForeignKeyConstraint(["supplier_id"], ["supplier.id"], name="fk_offer_supplier_id"),
        sa.PrimaryKeyConstraint("id", name="pk_offer"),
    )
    op.create_table(
        "off_cut",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("length", sa.Float(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("put_at", moment(), nullable=False),
        sa.Column("used_at", moment(), nullable=True),
        sa.ForeignKeyConstraint(["part_id"], ["part.id"], name="fk_off_cut_part_id"),
        sa.PrimaryKeyConstraint("id", name="pk_off_cut"),
    )
    op.create_table(
        "sent_back",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_line_id", sa.Integer(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("condition", sa.String(length=20), nullable=False),
        sa.Column("wants", sa.String(length=20), nullable=False),
        sa.Column("sent_on", sa.Date(), nullable=False),
        sa.Column("refund_minor", sa.Integer(), nullable=True),
        sa.Column("settled_on", sa.Date(), nullable=True),
        sa.Column("noted_at", moment(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("withdrawn_at", moment(), nullable=True),
        sa.ForeignKeyConstraint(["order_line_id"], ["order_line.id"], name="fk_sent_back_order_line_id"),
        sa.PrimaryKeyConstraint("id", name="pk_sent_back"),
    )
    for table, column in (
        ("setback", "task_id"),
        ("supplier", "build_id"),
        ("offer", "part_id"),
        ("offer", "supplier_id"),
        ("off_cut", "part_id"),
        ("sent_back", "order_line_id"),
    ):
        op.create_index(f"ix_{table}_{column}", table, [column])


def downgrade() -> None:
    for table in ("sent_back", "off_cut", "offer", "supplier", "setback"):
        op.drop_table(table)
    with op.batch_alter_table("piece") as changed:
        changed.drop_constraint("fk_piece_cut_from_id", type_="foreignkey")
        for name in (
            "origin",
            "cut_from_id",
            "whole_length",
            "travel",
            "liner",
            "supported",
            "offered",
            "offered_note",
        ):
            changed.drop_column(name)
    with op.batch_alter_table("design") as changed:
        changed.drop_constraint("fk_design_copied_from_id", type_="foreignkey")
        for name in ("pattern", "copied_from_id", "removed_at"):
            changed.drop_column(name)
    for table, columns in ADDED.items():
        with op.batch_alter_table(table) as changed:
            for column in columns:
                changed.drop_column(column.name)
