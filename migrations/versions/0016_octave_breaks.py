"""Whether a phrase's line breaks octaves where it leaves the range of the player's instrument.

``store.upgrading`` takes it from the lines of each phrase's cards, in the same transaction.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    added = sa.Column("octave_breaks", sa.Boolean(), nullable=False, server_default=sa.false())
    op.add_column("phrase", added)


def downgrade() -> None:
    op.drop_column("phrase", "octave_breaks")
