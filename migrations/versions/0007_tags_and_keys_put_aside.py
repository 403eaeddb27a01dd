"""Tags of phrases, keys of them that are put aside, and what a phrase was before its last edit."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name in ("tags", "aside"):
        op.add_column("phrase", sa.Column(name, sa.JSON(), nullable=False, server_default="[]"))
    op.add_column("phrase", sa.Column("former", sa.JSON(), nullable=True))
    op.add_column(
        "card", sa.Column("put_aside", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    op.create_index(
        op.f("ix_card_aside"),
        "card",
        ["put_aside"],
        sqlite_where=sa.text("put_aside"),
        postgresql_where=sa.text("put_aside"),
    )


def downgrade() -> None:
    op.drop_index(op.f("ix_card_aside"), table_name="card")
    op.drop_column("card", "put_aside")
    for name in ("former", "aside", "tags"):
        op.drop_column("phrase", name)
