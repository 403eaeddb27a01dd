"""Diminished chords and far keys are spelled as they are read.

No column changes: ``store.upgrading`` lays every card's chart and line anew in the same
transaction.
"""

from __future__ import annotations

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change no table."""


def downgrade() -> None:
    """Change no table."""
