"""Links for one visit; who started and who finished a task. What was done before was the builder's."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_helper_links"
down_revision = "2026_11_26_forecast_notes"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("share_token") as link:
        link.add_column(sa.Column("visit_id", sa.Integer(), nullable=True))
        link.add_column(sa.Column("form_digest", sa.String(length=64), nullable=True))
        link.create_foreign_key("fk_share_token_visit_id_visit", "visit", ["visit_id"], ["id"])
        link.create_unique_constraint("uq_share_token_form_digest", ["form_digest"])
    with op.batch_alter_table("task") as task:
        for name in ("started_by", "done_by"):
            task.add_column(sa.Column(name, sa.String(length=80), nullable=False, server_default="builder"))


def downgrade() -> None:
    with op.batch_alter_table("task") as task:
        task.drop_column("done_by")
        task.drop_column("started_by")
    with op.batch_alter_table("share_token") as link:
        link.drop_constraint("uq_share_token_form_digest", type_="unique")
        link.drop_constraint("fk_share_token_visit_id_visit", type_="foreignkey")
        link.drop_column("form_digest")
        link.drop_column("visit_id")
