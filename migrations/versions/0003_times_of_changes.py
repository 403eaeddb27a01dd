"""When a phrase, a note, a setting last changed, and which phrases were deleted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TIMES = [
    ("phrase", "changed_at"),
    ("phrase", "restored_at"),
    ("card", "note_at"),
    ("setting", "changed_at"),
]


def upgrade() -> None:
    for table, name in TIMES:
        op.add_column(table, sa.Column(name, sa.DateTime(timezone=True), nullable=True))
    with op.batch_alter_table("setting", recreate=_rebuild()) as setting:
        setting.alter_column("value", existing_type=sa.JSON(), nullable=True)
    op.create_table(
        "deleted_phrase",
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("uid", name=op.f("pk_deleted_phrase")),
    )


def downgrade() -> None:
    op.drop_table("deleted_phrase")
    op.execute("DELETE FROM setting WHERE value IS NULL")
    with op.batch_alter_table("setting", recreate=_rebuild()) as setting:
        setting.alter_column("value", existing_type=sa.JSON(), nullable=False)
    for table, name in reversed(TIMES):
        op.drop_column(table, name)


def _rebuild() -> str:
    # SQLite changes no column; a server needn't copy the table.
    return "always" if op.get_bind().dialect.name == "sqlite" else "never"
