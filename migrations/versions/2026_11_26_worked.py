"""How long a task was in hand. Of those that were begun before this was counted it is not known."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_worked"
down_revision = "2026_11_26_buying"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("task") as task:
        task.add_column(sa.Column("worked_minutes", sa.Integer(), nullable=True))
        task.add_column(sa.Column("begun_at", sa.DateTime(timezone=True), nullable=True))
    task = sa.table("task", sa.column("worked_minutes", sa.Integer), sa.column("started_at", sa.DateTime))
    op.execute(task.update().where(task.c.started_at.is_(None)).values(worked_minutes=0))


def downgrade() -> None:
    with op.batch_alter_table("task") as task:
        task.drop_column("begun_at")
        task.drop_column("worked_minutes")
