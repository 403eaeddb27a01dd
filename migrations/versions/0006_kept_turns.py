"""Keep when each card was owned, which is made from its log."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "kept_turns",
        sa.Column("card_id", sa.Integer(), nullable=False),
        sa.Column("rules", sa.String(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("undone", sa.Integer(), nullable=False),
        sa.Column("turns", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["card_id"], ["card.id"], name=op.f("fk_kept_turns_card_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("card_id", name=op.f("pk_kept_turns")),
    )


def downgrade() -> None:
    op.drop_table("kept_turns")
