"""The tables of tunes and gigs, and the names of constraints in all tables."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlmodel import Field, SQLModel

from drillbox.store.columns import DOCUMENT, Instant

# Names of constraints don't depend on a library's habits, so that a later migration can name them.
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
SQLModel.metadata.naming_convention = NAMES


class Tune(SQLModel, table=True):
    """A tune of the player's: its chords, its form as ``music.tunes.form_text`` writes it."""

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


class Gig(SQLModel, table=True):
    """A day on which tunes are played for others; ``day`` is the local date of the evening."""

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
