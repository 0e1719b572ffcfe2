"""Passkeys, and the challenges that they have to sign."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_passkeys"
down_revision = "2026_11_26_builders"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "passkey",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("builder_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("credential", sa.String(length=1400), nullable=False),
        sa.Column("public_key", sa.LargeBinary(), nullable=False),
        sa.Column("uses", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("last_used_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["builder_id"], ["builder.id"], name="fk_passkey_builder_id_builder"),
        sa.PrimaryKeyConstraint("id", name="pk_passkey"),
        sa.UniqueConstraint("credential", name="uq_passkey_credential"),
    )
    op.create_index("ix_passkey_builder_id", "passkey", ["builder_id"])
    op.create_table(
        "passkey_challenge",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_passkey_challenge"),
        sa.UniqueConstraint("digest", name="uq_passkey_challenge_digest"),
    )


def downgrade() -> None:
    op.drop_table("passkey_challenge")
    op.drop_index("ix_passkey_builder_id", "passkey")
    op.drop_table("passkey")
