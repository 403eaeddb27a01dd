"""The tables as SQLModel models, with their constraints and indexes.

They say what the migrations lead to, and what a checked store must have. All else goes by
``sql`` over SQLAlchemy's core, which loads in half the time.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, false, text
from sqlmodel import Field, SQLModel

from drillbox.store.sql import DOCUMENT, Instant

# Names of constraints don't depend on a library's habits, so that a later migration can name them.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
metadata = SQLModel.metadata
metadata.naming_convention = NAMES


class Phrase(SQLModel, table=True):
    """A phrase as it was written down. ``folded`` is the title without case, for uniqueness.

    ``changed_at`` is when its title, tempo, chart or the like last changed, None for never since
    it was added; ``restored_at`` when a retired phrase was last taken back. ``aside`` lists the
    keys that are put aside, by pitch class; ``former`` is what the last edit replaced, for its
    undo; ``also`` are the other uids that it goes by (``store.twins``). ``octave_breaks``: its line
    breaks the octave in the keys in which it leaves the range of the player's instrument.
    """

    __table_args__ = (
        UniqueConstraint("uid"),
        UniqueConstraint("folded"),
        CheckConstraint("title <> ''", "title"),
        CheckConstraint("tempo BETWEEN 20 AND 400", "tempo"),
    )

    id: int | None = Field(default=None, primary_key=True)
    uid: str
    title: str
    folded: str
    key: str
    tempo: int
    double_time: bool
    key_order: str
    chart: dict[str, Any] = Field(sa_type=DOCUMENT)
    line: list[Any] = Field(sa_type=DOCUMENT)
    analysis: dict[str, Any] | None = Field(default=None, sa_type=DOCUMENT)
    added_at: datetime = Field(sa_type=Instant)
    retired_at: datetime | None = Field(default=None, sa_type=Instant)
    changed_at: datetime | None = Field(default=None, sa_type=Instant)
    restored_at: datetime | None = Field(default=None, sa_type=Instant)
    tags: list[str] = Field(
        default=[], sa_type=DOCUMENT, sa_column_kwargs={"server_default": text("'[]'")}
    )
    aside: list[int] = Field(
        default=[], sa_type=DOCUMENT, sa_column_kwargs={"server_default": text("'[]'")}
    )
    former: dict[str, Any] | None = Field(default=None, sa_type=DOCUMENT)
    also: list[str] = Field(
        default=[], sa_type=DOCUMENT, sa_column_kwargs={"server_default": text("'[]'")}
    )
    octave_breaks: bool = Field(default=False, sa_column_kwargs={"server_default": false()})


class Card(SQLModel, table=True):
    """One phrase in one key: its chart there, what is remembered of it and its tempo now."""

    __table_args__ = (
        UniqueConstraint("phrase_id", "key"),
        UniqueConstraint("phrase_id", "position"),
        CheckConstraint("position >= 0", "position"),
        CheckConstraint("tempo BETWEEN 20 AND 400", "tempo"),
        CheckConstraint("attempts >= 0 AND clean_run >= 0", "counts"),
        CheckConstraint("quarters > 0", "quarters"),
        CheckConstraint("stability > 0", "stability"),
        CheckConstraint("difficulty BETWEEN 1 AND 10", "difficulty"),
        CheckConstraint(
            "(attempts = 0) = (opened_day IS NULL) AND (attempts = 0) = (due_day IS NULL)"
            " AND (attempts = 0) = (last_day IS NULL) AND (attempts = 0) = (stability IS NULL)"
            " AND (attempts = 0) = (difficulty IS NULL)",
            "opened",
        ),
        Index("ix_card_due", "due_day", "phrase_id", sqlite_where=text("due_day IS NOT NULL"),
              postgresql_where=text("due_day IS NOT NULL")),
        Index("ix_card_opened", "opened_day", sqlite_where=text("opened_day IS NOT NULL"),
              postgresql_where=text("opened_day IS NOT NULL")),
        Index("ix_card_aside", "put_aside", sqlite_where=text("put_aside"),
              postgresql_where=text("put_aside")),
        # Covers the query for candidates, which else would read every chart.
        Index("ix_card_pick", "phrase_id", "position", "quarters", "tempo", "stability",
              "difficulty", "last_day", "due_day", "days_clean", "days_missed", "clean_run",
              "stride", "owned", "key"),
    )  # fmt: skip

    id: int | None = Field(default=None, primary_key=True)
    phrase_id: int = Field(sa_column_args=[ForeignKey("phrase.id")])
    key: str
    position: int
    chart: dict[str, Any] = Field(sa_type=DOCUMENT)
    line: list[Any] = Field(sa_type=DOCUMENT)
    quarters: float
    opened_day: date | None = None
    stability: float | None = None
    difficulty: float | None = None
    last_day: date | None = None
    tempo: int
    clean_run: int = 0
    attempts: int = 0
    due_day: date | None = None
    note: str | None = None
    days_clean: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    days_missed: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    note_at: datetime | None = Field(default=None, sa_type=Instant)
    put_aside: bool = Field(default=False, sa_column_kwargs={"server_default": false()})
    goal_run: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    stride: int = Field(default=2, sa_column_kwargs={"server_default": "2"})
    owned: bool = Field(default=False, sa_column_kwargs={"server_default": false()})


class DrillSession(SQLModel, table=True):
    """One sitting of attempts.

    ``host`` and ``process`` say where it was begun (``store.files``), None where that isn't
    known; ``ratings`` counts the attempts that were stored of it, undone ones too.
    """

    __tablename__ = "drill_session"
    __table_args__ = (
        UniqueConstraint("uid"),
        CheckConstraint("minutes > 0", "minutes"),
        CheckConstraint("kind IN ('drill', 'round')", "kind"),
        Index("ix_drill_session_open", "started_at", sqlite_where=text("ended_at IS NULL"),
              postgresql_where=text("ended_at IS NULL")),
    )  # fmt: skip

    id: int | None = Field(default=None, primary_key=True)
    uid: str
    started_at: datetime = Field(sa_type=Instant)
    ended_at: datetime | None = Field(default=None, sa_type=Instant)
    minutes: int
    zone: str
    kind: str
    host: str | None = None
    process: str | None = None
    ratings: int = Field(default=0, sa_column_kwargs={"server_default": "0"})


class Attempt(SQLModel, table=True):
    """One go at a card. Never changed but for ``undone_at``, never deleted.

    ``utc_offset`` is how many minutes the player's clock was ahead of UTC; ``goal`` the phrase's
    tempo at the time, by which the card climbed.
    """

    __table_args__ = (
        UniqueConstraint("uid"),
        CheckConstraint("recall BETWEEN 1 AND 4", "recall"),
        CheckConstraint("tempo BETWEEN 20 AND 400", "tempo"),
        CheckConstraint("hint BETWEEN 0 AND 3", "hint"),
        CheckConstraint("seconds >= 0 AND loops >= 0", "effort"),
        # Both cover their counts: by card over all time, and by day over recent weeks.
        Index("ix_attempt_card", "card_id", "day", "recall",
              sqlite_where=text("undone_at IS NULL"),
              postgresql_where=text("undone_at IS NULL")),
        Index("ix_attempt_day", "day", "card_id", "recall",
              sqlite_where=text("undone_at IS NULL"),
              postgresql_where=text("undone_at IS NULL")),
    )  # fmt: skip

    id: int | None = Field(default=None, primary_key=True)
    uid: str
    card_id: int = Field(sa_column_args=[ForeignKey("card.id")])
    session_id: int = Field(sa_column_args=[ForeignKey("drill_session.id")])
    at: datetime = Field(sa_type=Instant)
    zone: str
    day: date
    recall: int
    tempo: int
    hint: int
    seconds: float
    loops: int
    in_round: bool
    first_of_day: bool
    due_after: date
    undone_at: datetime | None = Field(default=None, sa_type=Instant)
    reached: int | None = None
    utc_offset: int | None = None
    goal: int | None = None


class Heard(SQLModel, table=True):
    """What was heard of an attempt: the rating proposed, and the numbers behind it; no sound.

    ``proposed`` is None where nothing could be said, ``other`` a rating that would do as well.
    """

    __table_args__ = (
        CheckConstraint("ear IN ('midi', 'microphone')", "ear"),
        CheckConstraint("proposed BETWEEN 1 AND 4 AND other BETWEEN 1 AND 4", "recalls"),
    )

    attempt_id: int = Field(sa_column_args=[ForeignKey("attempt.id")], primary_key=True)
    ear: str
    proposed: int | None = None
    other: int | None = None
    features: dict[str, Any] = Field(sa_type=DOCUMENT)


class Setting(SQLModel, table=True):
    """One setting of the player, by name; the value is JSON, None where it is at its default."""

    __table_args__ = (UniqueConstraint("name"),)

    id: int | None = Field(default=None, primary_key=True)
    name: str
    value: Any = Field(default=None, sa_type=DOCUMENT, nullable=True)
    changed_at: datetime | None = Field(default=None, sa_type=Instant)


class DeletedPhrase(SQLModel, table=True):
    """A phrase that the player deleted, so that no import brings it back."""

    __tablename__ = "deleted_phrase"

    uid: str = Field(primary_key=True)
    at: datetime = Field(sa_type=Instant)


class KeptTurns(SQLModel, table=True):
    """When a card was owned: made from its log, by rules and of a log of a size that it names."""

    __tablename__ = "kept_turns"

    card_id: int = Field(
        primary_key=True, sa_column_args=[ForeignKey("card.id", ondelete="CASCADE")]
    )
    rules: str
    attempts: int
    undone: int
    turns: list[Any] = Field(sa_type=DOCUMENT)


class Tune(SQLModel, table=True):
    """A tune of the player's: its chords, its form as ``music.tunes.form_text`` writes it.

    ``also`` and ``changed_at`` as for a phrase.
    """

    __table_args__ = (
        UniqueConstraint("uid"),
        UniqueConstraint("folded"),
        CheckConstraint("title <> ''", "title"),
        CheckConstraint("tempo BETWEEN 20 AND 400", "tempo"),
    )

    id: int | None = Field(default=None, primary_key=True)
    uid: str
    title: str
    folded: str
    key: str
    tempo: int
    chart: dict[str, Any] = Field(sa_type=DOCUMENT)
    form: str
    tags: list[str] = Field(sa_type=DOCUMENT)
    added_at: datetime = Field(sa_type=Instant)
    also: list[str] = Field(
        default=[], sa_type=DOCUMENT, sa_column_kwargs={"server_default": text("'[]'")}
    )
    changed_at: datetime | None = Field(default=None, sa_type=Instant)


class Gig(SQLModel, table=True):
    """A day on which tunes are played for others; ``day`` is the local date of the evening.

    ``changed_at`` as for a phrase.
    """

    __table_args__ = (
        UniqueConstraint("uid"),
        UniqueConstraint("folded"),
        CheckConstraint("title <> ''", "title"),
    )

    id: int | None = Field(default=None, primary_key=True)
    uid: str
    title: str
    folded: str
    day: date
    added_at: datetime = Field(sa_type=Instant)
    changed_at: datetime | None = Field(default=None, sa_type=Instant)


class GigTune(SQLModel, table=True):
    """A tune of a gig, at its place in the order of the evening."""

    __tablename__ = "gig_tune"
    __table_args__ = (CheckConstraint("position >= 0", "position"),)

    gig_id: int = Field(sa_column_args=[ForeignKey("gig.id")], primary_key=True)
    tune_id: int = Field(sa_column_args=[ForeignKey("tune.id")], primary_key=True, index=True)
    position: int


class DeletedTune(SQLModel, table=True):
    """A tune that the player deleted, so that no import brings it back."""

    __tablename__ = "deleted_tune"

    uid: str = Field(primary_key=True)
    at: datetime = Field(sa_type=Instant)


class DeletedGig(SQLModel, table=True):
    """A gig that the player deleted, so that no import brings it back."""

    __tablename__ = "deleted_gig"

    uid: str = Field(primary_key=True)
    at: datetime = Field(sa_type=Instant)
