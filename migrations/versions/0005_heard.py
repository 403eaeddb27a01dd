"""What was heard of an attempt, beside the player's own rating."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "heard",
        sa.Column("attempt_id", sa.Integer(), nullable=False),
        sa.Column("ear", sa.String(), nullable=False),
        sa.Column("proposed", sa.Integer(), nullable=True),
        sa.Column("other", sa.Integer(), nullable=True),
        sa.Column("features", sa.JSON(), nullable=False),
        sa.CheckConstraint("ear IN ('midi', 'microphone')", name=op.f("ck_heard_ear")),
        sa.CheckConstraint(
            "proposed BETWEEN 1 AND 4 AND other BETWEEN 1 AND 4", name=op.f("ck_heard_recalls")
        ),
        sa.ForeignKeyConstraint(["attempt_id"], ["attempt.id"], name=op.f("fk_heard_attempt_id")),
        sa.PrimaryKeyConstraint("attempt_id", name=op.f("pk_heard")),
    )


def downgrade() -> None:
    op.drop_table("heard")
