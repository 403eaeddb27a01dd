"""Tunes, the gigs that they are played at, and which of either were deleted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "tune",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("folded", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("tempo", sa.Integer(), nullable=False),
        sa.Column("chart", sa.JSON(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("tags", sa.JSON(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("title <> ''", name=op.f("ck_tune_title")),
        sa.CheckConstraint("tempo BETWEEN 20 AND 400", name=op.f("ck_tune_tempo")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tune")),
        sa.UniqueConstraint("uid", name=op.f("uq_tune_uid")),
        sa.UniqueConstraint("folded", name=op.f("uq_tune_folded")),
    )
    op.create_table(
        "gig",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("folded", sa.String(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("title <> ''", name=op.f("ck_gig_title")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_gig")),
        sa.UniqueConstraint("uid", name=op.f("uq_gig_uid")),
        sa.UniqueConstraint("folded", name=op.f("uq_gig_folded")),
    )
    op.create_table(
        "gig_tune",
        sa.Column("gig_id", sa.Integer(), nullable=False),
        sa.Column("tune_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.CheckConstraint("position >= 0", name=op.f("ck_gig_tune_position")),
        sa.ForeignKeyConstraint(["gig_id"], ["gig.id"], name=op.f("fk_gig_tune_gig_id")),
        sa.ForeignKeyConstraint(["tune_id"], ["tune.id"], name=op.f("fk_gig_tune_tune_id")),
        sa.PrimaryKeyConstraint("gig_id", "tune_id", name=op.f("pk_gig_tune")),
    )
    op.create_index(op.f("ix_gig_tune_tune_id"), "gig_tune", ["tune_id"])
    for name in ("deleted_tune", "deleted_gig"):
        op.create_table(
            name,
            sa.Column("uid", sa.String(), nullable=False),
            sa.Column("at", sa.DateTime(timezone=True), nullable=False),
            sa.PrimaryKeyConstraint("uid", name=op.f(f"pk_{name}")),
        )


def downgrade() -> None:
    for name in ("deleted_gig", "deleted_tune", "gig_tune", "gig", "tune"):
        op.drop_table(name)
