"""Keep with each attempt the goal tempo of its time, so that a new goal keeps the tempo reached.

Attempts so far get their phrase's present goal, by which their cards were reckoned.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("attempt", sa.Column("goal", sa.Integer(), nullable=True))
    op.execute(
        "UPDATE attempt SET goal = ("
        "SELECT phrase.tempo FROM card JOIN phrase ON phrase.id = card.phrase_id"
        " WHERE card.id = attempt.card_id)"
    )


def downgrade() -> None:
    op.drop_column("attempt", "goal")
