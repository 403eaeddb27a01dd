"""Count the days that began clean, keep what is owned, and the tempo reached before a go.

What it counts is a matter of replaying the log: the columns begin empty here, and
``store.upgrading`` reckons every card from its attempts in the same transaction.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

BEFORE = [
    "phrase_id", "position", "quarters", "tempo", "stability", "difficulty", "last_day", "due_day",
    "days_recalled", "days_lost", "recalled_run", "key",
]  # fmt: skip
AFTER = [
    "phrase_id", "position", "quarters", "tempo", "stability", "difficulty", "last_day", "due_day",
    "days_clean", "days_missed", "clean_run", "stride", "owned", "key",
]  # fmt: skip


def upgrade() -> None:
    op.drop_index("ix_card_pick", "card")
    op.execute("ALTER TABLE card RENAME COLUMN days_recalled TO days_clean")
    op.execute("ALTER TABLE card RENAME COLUMN days_lost TO days_missed")
    op.drop_column("card", "recalled_run")
    for name, default in (("goal_run", "0"), ("stride", "2")):
        op.add_column("card", sa.Column(name, sa.Integer(), nullable=False, server_default=default))
    no = sa.false() if op.get_bind().dialect.name != "sqlite" else sa.text("0")
    op.add_column("card", sa.Column("owned", sa.Boolean(), nullable=False, server_default=no))
    op.create_index("ix_card_pick", "card", AFTER)
    op.add_column("attempt", sa.Column("reached", sa.Integer(), nullable=True))
    # Choosing has no use for these any more.
    gone = "clean_in_a_row break_below break_step new_a_day hold_days phrase_share returns_a_day"
    names = ", ".join(f"'{name}'" for name in f"{gone} returns_a_session return_gap fresh".split())
    op.execute(f"DELETE FROM setting WHERE name IN ({names})")


def downgrade() -> None:
    op.drop_column("attempt", "reached")
    op.drop_index("ix_card_pick", "card")
    for name in ("owned", "stride", "goal_run"):
        op.drop_column("card", name)
    op.add_column(
        "card", sa.Column("recalled_run", sa.Integer(), nullable=False, server_default="0")
    )
    op.execute("ALTER TABLE card RENAME COLUMN days_missed TO days_lost")
    op.execute("ALTER TABLE card RENAME COLUMN days_clean TO days_recalled")
    op.create_index("ix_card_pick", "card", BEFORE)
