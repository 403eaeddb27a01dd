"""Count the days on which a card was recalled and lost, and those recalled in a row."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

PICK = [
    "phrase_id",
    "position",
    "quarters",
    "tempo",
    "stability",
    "difficulty",
    "last_day",
    "due_day",
]
COUNTS = ["days_recalled", "days_lost", "recalled_run"]

# A card's first attempts of days: those on a later day than all that were made before them.
_FIRSTS = """
SELECT count(*) FROM attempt WHERE attempt.card_id = card.id AND attempt.undone_at IS NULL
AND NOT EXISTS (
    SELECT 1 FROM attempt AS other WHERE other.card_id = attempt.card_id
    AND other.undone_at IS NULL AND other.day >= attempt.day
    AND (other.at < attempt.at OR (other.at = attempt.at AND other.id < attempt.id)))
"""
_LOST_SINCE = """
AND NOT EXISTS (
    SELECT 1 FROM attempt AS lost WHERE lost.card_id = attempt.card_id
    AND lost.undone_at IS NULL AND lost.recall = 1 AND lost.day > attempt.day
    AND NOT EXISTS (
        SELECT 1 FROM attempt AS other WHERE other.card_id = lost.card_id
        AND other.undone_at IS NULL AND other.day >= lost.day
        AND (other.at < lost.at OR (other.at = lost.at AND other.id < lost.id))))
"""


def upgrade() -> None:
    for name in COUNTS:
        column = sa.Column(name, sa.Integer(), nullable=False, server_default="0")
        op.add_column("card", column)
    op.execute(
        f"UPDATE card SET days_recalled = ({_FIRSTS} AND attempt.recall > 1),"
        f" days_lost = ({_FIRSTS} AND attempt.recall = 1),"
        f" recalled_run = ({_FIRSTS} AND attempt.recall > 1 {_LOST_SINCE})"
        " WHERE last_day IS NOT NULL"
    )
    op.drop_index("ix_card_pick", "card")
    op.create_index("ix_card_pick", "card", [*PICK, *COUNTS, "key"])
    # Choosing has no use for these any more.
    op.execute("DELETE FROM setting WHERE name IN ('sure', 'new_when_sure', 'backlog_days')")


def downgrade() -> None:
    op.drop_index("ix_card_pick", "card")
    op.create_index("ix_card_pick", "card", PICK)
    for name in reversed(COUNTS):
        op.drop_column("card", name)
