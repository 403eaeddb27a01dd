"""When a tune or a gig was last changed, by which the later of two stores' versions wins."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("tune", "gig"):
        op.add_column(table, sa.Column("changed_at", sa.DateTime(timezone=True), nullable=True))


def downgrade() -> None:
    for table in ("gig", "tune"):
        op.drop_column(table, "changed_at")
