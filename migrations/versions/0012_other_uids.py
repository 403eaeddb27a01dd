"""Which other uids a phrase or a tune went by: one that was written down on two computers."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("phrase", "tune"):
        op.add_column(table, sa.Column("also", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    for table in ("tune", "phrase"):
        op.drop_column(table, "also")
