"""Whose a drill session is, how many ratings it has, and how far an attempt's clock was off UTC.

Sessions count the ratings that are there; what was lost before isn't known any more.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name in ("host", "process"):
        op.add_column("drill_session", sa.Column(name, sa.String(), nullable=True))
    op.add_column(
        "drill_session", sa.Column("ratings", sa.Integer(), nullable=False, server_default="0")
    )
    op.execute(
        "UPDATE drill_session SET ratings = counted.ratings FROM"
        " (SELECT session_id, count(*) AS ratings FROM attempt GROUP BY session_id) AS counted"
        " WHERE counted.session_id = drill_session.id"
    )
    op.add_column("attempt", sa.Column("utc_offset", sa.Integer(), nullable=True))


def downgrade() -> None:
    op.drop_column("attempt", "utc_offset")
    for name in ("ratings", "process", "host"):
        op.drop_column("drill_session", name)
