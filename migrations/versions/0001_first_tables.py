"""Phrases, cards, attempts, drill sessions and settings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    _drill_session()
    _phrase()
    _setting()
    _card()
    _attempt()


def _drill_session() -> None:
    op.create_table(
        "drill_session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.CheckConstraint("kind IN ('drill', 'round')", name=op.f("ck_drill_session_kind")),
        sa.CheckConstraint("minutes > 0", name=op.f("ck_drill_session_minutes")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_drill_session")),
        sa.UniqueConstraint("uid", name=op.f("uq_drill_session_uid")),
    )
    op.create_index(
        "ix_drill_session_open",
        "drill_session",
        ["started_at"],
        sqlite_where=sa.text("ended_at IS NULL"),
        postgresql_where=sa.text("ended_at IS NULL"),
    )


def _phrase() -> None:
    op.create_table(
        "phrase",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("folded", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("tempo", sa.Integer(), nullable=False),
        sa.Column("double_time", sa.Boolean(), nullable=False),
        sa.Column("key_order", sa.String(), nullable=False),
        sa.Column("chart", sa.JSON(), nullable=False),
        sa.Column("line", sa.JSON(), nullable=False),
        sa.Column("analysis", sa.JSON(), nullable=True),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("title <> ''", name=op.f("ck_phrase_title")),
        sa.CheckConstraint("tempo BETWEEN 20 AND 400", name=op.f("ck_phrase_tempo")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_phrase")),
        sa.UniqueConstraint("folded", name=op.f("uq_phrase_folded")),
        sa.UniqueConstraint("uid", name=op.f("uq_phrase_uid")),
    )


def _setting() -> None:
    op.create_table(
        "setting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setting")),
        sa.UniqueConstraint("name", name=op.f("uq_setting_name")),
    )


def _card() -> None:
    op.create_table(
        "card",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("phrase_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("chart", sa.JSON(), nullable=False),
        sa.Column("line", sa.JSON(), nullable=False),
        sa.Column("quarters", sa.Float(), nullable=False),
        sa.Column("opened_day", sa.Date(), nullable=True),
        sa.Column("stability", sa.Float(), nullable=True),
        sa.Column("difficulty", sa.Float(), nullable=True),
        sa.Column("last_day", sa.Date(), nullable=True),
        sa.Column("tempo", sa.Integer(), nullable=False),
        sa.Column("clean_run", sa.Integer(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("due_day", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(attempts = 0) = (opened_day IS NULL) AND (attempts = 0) = (due_day IS NULL)"
            " AND (attempts = 0) = (last_day IS NULL) AND (attempts = 0) = (stability IS NULL)"
            " AND (attempts = 0) = (difficulty IS NULL)",
            name=op.f("ck_card_opened"),
        ),
        sa.CheckConstraint("attempts >= 0 AND clean_run >= 0", name=op.f("ck_card_counts")),
        sa.CheckConstraint("difficulty BETWEEN 1 AND 10", name=op.f("ck_card_difficulty")),
        sa.CheckConstraint("position >= 0", name=op.f("ck_card_position")),
        sa.CheckConstraint("quarters > 0", name=op.f("ck_card_quarters")),
        sa.CheckConstraint("stability > 0", name=op.f("ck_card_stability")),
        sa.CheckConstraint("tempo BETWEEN 20 AND 400", name=op.f("ck_card_tempo")),
        sa.ForeignKeyConstraint(["phrase_id"], ["phrase.id"], name=op.f("fk_card_phrase_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_card")),
        sa.UniqueConstraint("phrase_id", "key", name=op.f("uq_card_phrase_id_key")),
        sa.UniqueConstraint("phrase_id", "position", name=op.f("uq_card_phrase_id_position")),
    )
    op.create_index(
        "ix_card_due",
        "card",
        ["due_day", "phrase_id"],
        sqlite_where=sa.text("due_day IS NOT NULL"),
        postgresql_where=sa.text("due_day IS NOT NULL"),
    )
    op.create_index(
        "ix_card_opened",
        "card",
        ["opened_day"],
        sqlite_where=sa.text("opened_day IS NOT NULL"),
        postgresql_where=sa.text("opened_day IS NOT NULL"),
    )
    op.create_index(
        "ix_card_pick",
        "card",
        [
            "phrase_id",
            "position",
            "quarters",
            "tempo",
            "stability",
            "difficulty",
            "last_day",
            "due_day",
        ],
    )


def _attempt() -> None:
    op.create_table(
        "attempt",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(), nullable=False),
        sa.Column("card_id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("zone", sa.String(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("recall", sa.Integer(), nullable=False),
        sa.Column("tempo", sa.Integer(), nullable=False),
        sa.Column("hint", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.Column("loops", sa.Integer(), nullable=False),
        sa.Column("in_round", sa.Boolean(), nullable=False),
        sa.Column("first_of_day", sa.Boolean(), nullable=False),
        sa.Column("due_after", sa.Date(), nullable=False),
        sa.Column("undone_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("hint BETWEEN 0 AND 3", name=op.f("ck_attempt_hint")),
        sa.CheckConstraint("recall BETWEEN 1 AND 4", name=op.f("ck_attempt_recall")),
        sa.CheckConstraint("seconds >= 0 AND loops >= 0", name=op.f("ck_attempt_effort")),
        sa.CheckConstraint("tempo BETWEEN 20 AND 400", name=op.f("ck_attempt_tempo")),
        sa.ForeignKeyConstraint(["card_id"], ["card.id"], name=op.f("fk_attempt_card_id")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["drill_session.id"], name=op.f("fk_attempt_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attempt")),
        sa.UniqueConstraint("uid", name=op.f("uq_attempt_uid")),
    )
    op.create_index(
        "ix_attempt_card",
        "attempt",
        ["card_id", "day", "recall"],
        sqlite_where=sa.text("undone_at IS NULL"),
        postgresql_where=sa.text("undone_at IS NULL"),
    )
    op.create_index(
        "ix_attempt_day",
        "attempt",
        ["day", "card_id", "recall"],
        sqlite_where=sa.text("undone_at IS NULL"),
        postgresql_where=sa.text("undone_at IS NULL"),
    )


def downgrade() -> None:
    for table in ("attempt", "card", "setting", "phrase", "drill_session"):
        op.drop_table(table)
