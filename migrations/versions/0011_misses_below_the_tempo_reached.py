"""A go that isn't clean, at a tempo below the one reached, takes that a rung down at most.

No column changes: ``store.upgrading`` reckons every card from its attempts in the same transaction.
"""

from __future__ import annotations

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change no table."""


def downgrade() -> None:
    """Change no table."""
