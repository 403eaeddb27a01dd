"""What a document holds, as checked values: field by field, with the limits of what is typed.

The models are pydantic's: they check a document on its way in, and its published JSON Schema
is made from them. What can be recomputed from the rest (an analysis, a card's chart, line and
state) is described there for other programs, and never read.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from functools import cache
from typing import Annotated, Any, Literal, Self

from pydantic import (
    Field,
    TypeAdapter,
    ValidationError,
    model_validator,
)

from drillbox.errors import BadInput
from drillbox.music.keys import ORDERS, Key
from drillbox.music.moving.instruments import breaks_between
from drillbox.music.phrases import Phrase, check_line, line_from
from drillbox.music.tunes import Tune, parse_form
from drillbox.store import fields
from drillbox.store.access import ILLEGIBLE
from drillbox.store.fields import (
    Also,
    Aside,
    Count,
    Day,
    Features,
    Instant,
    KeyName,
    Part,
    Rated,
    Seconds,
    Tags,
    Tempo,
    Title,
    TuneChart,
    Uid,
    WrittenChart,
    WrittenLine,
    Zone,
    never_read,
)


class DocumentCard(Part):
    """The phrase in one key. All but key, position and note can be recomputed, and is."""

    key: KeyName
    position: Annotated[int, Field(ge=0, le=11, description=fields.POSITION)]
    chart: never_read(fields.CHART)  # type: ignore[valid-type] # a type that is made, not named
    line: never_read(fields.LINE)  # type: ignore[valid-type]
    opened_day: never_read(fields.OPENED_DAY)  # type: ignore[valid-type]
    stability: never_read(fields.STABILITY)  # type: ignore[valid-type]
    difficulty: never_read(fields.DIFFICULTY)  # type: ignore[valid-type]
    last_day: never_read(fields.LAST_DAY)  # type: ignore[valid-type]
    tempo: never_read(fields.CARD_TEMPO)  # type: ignore[valid-type]
    clean_run: never_read(fields.CLEAN_RUN)  # type: ignore[valid-type]
    attempts: never_read(fields.ATTEMPTS)  # type: ignore[valid-type]
    due_day: never_read(fields.DUE_DAY)  # type: ignore[valid-type]
    note: Annotated[str | None, Field(max_length=1_000_000, description="The player's own words.")]
    note_at: Annotated[Instant | None, Field(description=fields.NOTE_AT)] = None


class DocumentPhrase(Part):
    """A phrase as it was written down, with its cards in the order in which they start."""

    uid: Uid
    title: Title
    key: Annotated[KeyName, Field(description="The written key.")]
    tempo: Annotated[Tempo, Field(description="The goal, in quarter notes a minute.")]
    double_time: bool
    key_order: Literal[tuple(ORDERS)]  # type: ignore[valid-type] # one place names them
    chart: WrittenChart
    line: WrittenLine
    analysis: never_read(fields.ANALYSIS) = None  # type: ignore[valid-type]
    added_at: Instant
    changed_at: Annotated[Instant | None, Field(description=fields.CHANGED_AT)] = None
    retired_at: Instant | None
    restored_at: Annotated[Instant | None, Field(description=fields.RESTORED_AT)] = None
    tags: Tags = Field(default_factory=list)
    aside: Aside = Field(default_factory=list)
    also: Also = Field(default_factory=list)
    octave_breaks: Annotated[bool | None, Field(description=fields.OCTAVE_BREAKS)] = None
    cards: list[DocumentCard]

    @model_validator(mode="before")
    @classmethod
    def _told_by_its_cards(cls, value: Any) -> Any:
        """Before version 3 the lines of its cards alone told that a phrase breaks octaves."""
        if isinstance(value, dict) and "octave_breaks" not in value:
            with suppress(*ILLEGIBLE):
                line = line_from(value["line"])
                if any(breaks_between(line, line_from(card["line"])) for card in value["cards"]):
                    return {**value, "octave_breaks": True}
        return value

    @model_validator(mode="after")
    def _belong_together(self) -> Self:
        check_line(self.line, self.chart)
        sounds = {card.key.tonic.pitch_class for card in self.cards}
        first = min(self.cards, key=lambda card: card.position, default=None)
        if len(self.cards) != 12 or len(sounds) != 12:
            raise ValueError("a phrase has twelve cards, each in a key of its own")
        if len({card.position for card in self.cards}) != 12:
            raise ValueError("each card has a position of its own, 0 to 11")
        if first is None or first.key != self.key:
            raise ValueError("the card at position 0 is that in the written key")
        if any(card.key.mode != self.key.mode for card in self.cards):
            raise ValueError("all cards are in the mode of the written key")
        return self

    @property
    def phrase(self) -> Phrase:
        """Return the phrase itself."""
        return Phrase(self.title, self.key, self.tempo, self.chart, self.line, self.double_time)

    @property
    def keys(self) -> list[Key]:
        """Return the keys of the cards in the order in which they start."""
        return [card.key for card in sorted(self.cards, key=lambda card: card.position)]

    @property
    def last_change(self) -> datetime:
        """Return when it was last changed: when it was added, if never."""
        return self.changed_at or self.added_at


class DocumentSession(Part):
    """A drill session."""

    uid: Uid
    started_at: Instant
    ended_at: Instant | None
    minutes: Annotated[int, Field(ge=1, le=240, description="As planned.")]
    zone: Zone
    kind: Literal["drill", "round"]


class DocumentHeard(Part):
    """What was heard of an attempt: a rating proposed, and the numbers behind it; no sound."""

    ear: Literal["midi", "microphone"]
    proposed: Annotated[Rated | None, Field(description=fields.PROPOSED)]
    other: Annotated[Rated | None, Field(description=fields.OTHER)]
    features: Features


class DocumentAttempt(Part):
    """One go at a card."""

    uid: Uid
    phrase: Uid
    key: KeyName
    session: Uid
    at: Instant
    zone: Zone
    day: Day
    recall: Rated
    tempo: Annotated[Tempo, Field(description="As it was shown and rated.")]
    hint: Annotated[int, Field(ge=0, le=3, description="The highest hint that was seen.")]
    seconds: Seconds
    loops: Count
    in_round: bool
    due_after: Annotated[Day, Field(description=fields.DUE_AFTER)]
    undone_at: Annotated[Instant | None, Field(description=fields.UNDONE_AT)]
    reached: Annotated[Tempo | None, Field(description=fields.REACHED)] = None
    utc_offset: Annotated[int | None, Field(ge=-1440, le=1440, description=fields.UTC_OFFSET)] = (
        None
    )
    goal: Annotated[Tempo | None, Field(description=fields.GOAL_THEN)] = None
    heard: DocumentHeard | None = None


class DocumentDeleted(Part):
    """A phrase, a tune or a gig that was deleted."""

    uid: Uid
    at: Instant


class DocumentTune(Part):
    """A tune: its chords, its form, the player's own words for it."""

    uid: Uid
    title: Title
    key: KeyName
    tempo: Tempo
    chart: TuneChart
    form: Annotated[str, Field(max_length=2000, description=fields.FORM)]
    tags: Tags
    added_at: Instant
    also: Also = Field(default_factory=list)
    changed_at: Annotated[Instant | None, Field(description=fields.TUNE_CHANGED_AT)] = None

    @property
    def tune(self) -> Tune:
        """Return the tune itself."""
        parsed = parse_form(self.form, len(self.chart.bars))
        return Tune(self.title, self.key, self.tempo, self.chart, parsed)

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        parse_form(self.form, len(self.chart.bars))
        return self


class DocumentGig(Part):
    """A gig: its day, and its tunes by uid in the order in which they are played."""

    uid: Uid
    title: Title
    day: Day
    added_at: Instant
    tunes: Annotated[list[Uid], Field(max_length=1000)]
    changed_at: Annotated[Instant | None, Field(description=fields.GIG_CHANGED_AT)] = None


class Head(Part):
    """All of a document but its lists."""

    format: Literal["drillbox"]
    version: Annotated[Literal[1, 2, 3], Field(description=fields.VERSION)]
    settings: Annotated[dict[str, Any], Field(max_length=1000, description=fields.SETTINGS)]
    settings_changed: dict[str, Instant] = Field(
        default_factory=dict, max_length=1000, description=fields.SETTINGS_CHANGED
    )


class Document(Head):
    """Everything a drillbox store holds.

    Instants are UTC, days are practice days (the local date, a day starting at a set hour).
    Lists come in a fixed order, so that the same store is written as the same bytes.
    """

    phrases: Annotated[list[DocumentPhrase], Field(description="In the order of their adding.")]
    deleted: list[DocumentDeleted] = Field(default_factory=list, description=fields.DELETED)
    sessions: Annotated[list[DocumentSession], Field(description="In the order they began.")]
    attempts: Annotated[list[DocumentAttempt], Field(description="In the order they were made.")]
    tunes: list[DocumentTune] = Field(default_factory=list)
    gigs: list[DocumentGig] = Field(default_factory=list)
    deleted_tunes: list[DocumentDeleted] = Field(default_factory=list)
    deleted_gigs: list[DocumentDeleted] = Field(default_factory=list)


PARTS: dict[str, type[Part]] = {
    "phrases": DocumentPhrase,
    "deleted": DocumentDeleted,
    "sessions": DocumentSession,
    "attempts": DocumentAttempt,
    "tunes": DocumentTune,
    "gigs": DocumentGig,
    "deleted_tunes": DocumentDeleted,
    "deleted_gigs": DocumentDeleted,
}


def checked(part: str, number: int, value: object) -> Any:
    """Return the item of one of the ``PARTS`` as checked values; raise BadInput naming the field.

    ``number`` counts from 1 within its part.
    """
    try:
        return _adapter(part).validate_python(value)
    except (ValidationError, RecursionError, BadInput) as problem:
        raise unusable(f"{part}, number {number}: {_said(problem)}") from None


def checked_head(values: Mapping[str, object]) -> Head:
    """Return all of a document but its lists; raise BadInput naming the field."""
    try:
        return Head.model_validate(values)
    except (ValidationError, RecursionError) as problem:
        raise unusable(_said(problem)) from None


@cache
def _adapter(part: str) -> TypeAdapter[Any]:
    return TypeAdapter(PARTS[part])


def _said(problem: Exception) -> str:
    """Return the first thing that is wrong and where, in a line."""
    if not isinstance(problem, ValidationError):
        return problem.what if isinstance(problem, BadInput) else "it is nested too deeply"
    steps, why, value = first_fault(problem)
    where = f"{'.'.join(steps)}: " if steps else ""
    got = f" (it is {value!r:.60})" if isinstance(value, str | int | float) else ""
    return f"{where}{why}{got}"


def first_fault(problem: ValidationError) -> tuple[list[str], str, object]:
    """Return the steps to the first value that is wrong, why it is, and the value."""
    first = problem.errors(include_url=False, include_context=False)[0]
    why = str(first["msg"]).removeprefix("Value error, ")
    return [f"{step!s:.40}" for step in first["loc"]], f"{why:.200}", first["input"]


def unusable(why: str) -> BadInput:
    """Return the refusal of a document of which something can't be used."""
    return BadInput(
        f"The export can't be used ({why:.400}); nothing was changed",
        "Write it again with 'drillbox store export', or correct it there.",
    )


def schema() -> str:
    """Return the JSON Schema of an export, as text."""
    made = Document.model_json_schema()
    made = {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"
