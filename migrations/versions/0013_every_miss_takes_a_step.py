"""A rough go takes the tempo reached half a rung down, and a lost one a rung.

No column changes: ``store.upgrading`` reckons every card from its attempts in the same transaction.
"""

from __future__ import annotations

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change no table."""


def downgrade() -> None:
    """Change no table."""
