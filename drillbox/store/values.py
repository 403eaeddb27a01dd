"""What the store hands out and takes in: frozen values, never rows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal
from uuid import uuid4

from drillbox.errors import StoreFailure
from drillbox.memory.cards import Attempted, CardState
from drillbox.memory.recall import Recall
from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.tunes import Tune

if TYPE_CHECKING:
    from drillbox.music.analysis.whole import Analysis

SessionKind = Literal["drill", "round"]


Written = tuple[tuple[str, str | None], ...]
"""Settings as they are stored: names and JSON text, by name."""


def time_of_change(now: datetime, *before: datetime | None) -> datetime:
    """Return when something is changed that was changed ``before``, None for never.

    That is now; where a clock stood ahead before, it is just after the latest of these: of two
    stores' versions, and of two attempts, the one with the later time is the later one.
    """
    latest = max(filter(None, before), default=None)
    return now if latest is None or latest < now else latest + timedelta(microseconds=1)


class CardMoved(StoreFailure):
    """Another session rated the card meanwhile, or set what it is reckoned by; nothing was stored.
    Compute again and retry."""

    def __init__(self, card_id: int) -> None:
        super().__init__(
            "This key was rated in another session meanwhile", "Rate it again to store it."
        )
        self.card_id = card_id


class AttemptStored(StoreFailure):
    """The attempt is in the store already, by a change whose answer was lost."""

    def __init__(self) -> None:
        super().__init__("That rating is stored already")


@dataclass(frozen=True, slots=True)
class NewCard:
    """A card to be: the phrase in one key."""

    key: Key
    chart: Chart
    line: tuple[LineNote, ...] = ()


def new_cards(laid: Iterable[Phrase]) -> tuple[NewCard, ...]:
    """Return the cards of a phrase as it is laid in each key."""
    return tuple(NewCard(each.key, each.chart, each.line) for each in laid)


@dataclass(frozen=True, slots=True)
class NewPhrase:
    """A phrase to be, with its cards in the order in which they open, written key first.

    ``tags`` are the player's own words for it; ``aside`` the pitch classes of the concert keys
    that aren't drilled; ``octave_breaks`` tells whether its line breaks the octave in keys in which
    it leaves the range of the player's instrument.
    """

    phrase: Phrase
    order: str
    cards: tuple[NewCard, ...]
    analysis: Analysis | None = None
    tags: tuple[str, ...] = ()
    aside: frozenset[int] = frozenset()
    octave_breaks: bool = False


@dataclass(frozen=True, slots=True)
class PhraseRecord:
    """A phrase as stored; ``tags``, ``aside`` and ``octave_breaks`` as in ``NewPhrase``."""

    id: int
    uid: str
    phrase: Phrase
    order: str
    added_at: datetime
    retired_at: datetime | None
    analysis_document: dict[str, Any] | None
    tags: tuple[str, ...] = ()
    aside: frozenset[int] = frozenset()
    octave_breaks: bool = False

    @property
    def title(self) -> str:
        """Return the title."""
        return self.phrase.title

    @property
    def retired(self) -> bool:
        """Return whether the phrase is kept out of drills."""
        return self.retired_at is not None

    def analysis(self) -> Analysis | None:
        """Return the analysis made when the phrase came in, decoded.

        None if there is none, or if it was made by other rules than today's.
        """
        if self.analysis_document is None:
            return None
        from drillbox.music.analysis.whole import analysis_from, is_current  # few callers ask

        return analysis_from(self.analysis_document) if is_current(self.analysis_document) else None


@dataclass(frozen=True, slots=True)
class PhraseOverview:
    """One line of a list of phrases. ``tempo`` is the goal; ``last_day`` of any attempt.

    ``cards`` are those in practice, ``aside`` how many others are put aside. ``reached`` is the
    mean tempo of the opened ones, None before any was.
    """

    id: int
    title: str
    key: str
    tempo: int
    double_time: bool
    added_at: datetime
    retired_at: datetime | None
    cards: int
    opened: int
    attempts: int
    last_day: date | None
    next_due: date | None
    aside: int = 0
    reached: float | None = None
    tags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CardRecord:
    """A card as stored: everything a drill shows of it.

    ``phrase_uid`` and ``also`` are the uids that its phrase goes by, ``goal`` its tempo;
    ``sibling_due`` holds the days on which other keys of the phrase are due. ``tonic`` is the
    pitch class that its key sounds on, whatever the player reads.
    """

    id: int
    phrase_id: int
    phrase_uid: str
    title: str
    key: Key
    tonic: int
    position: int
    chart: Chart
    line: tuple[LineNote, ...]
    goal: int
    double_time: bool
    opened_day: date | None
    state: CardState
    note: str | None
    sibling_due: frozenset[date] = frozenset()
    aside: bool = False
    also: tuple[str, ...] = ()


def new_uid() -> str:
    """Return an id that nothing else has, in this store or any other."""
    return uuid4().hex


FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Of all times that are stored: a clock that says another one is set wrong."""
MOST_SECONDS = 86_400.0  # of one attempt: who leaves a drill standing overnight didn't practise
LONGEST_NOTE = 10_000


@dataclass(frozen=True, slots=True)
class HeardAttempt:
    """What was heard of an attempt: no sound, but the rating proposed and the numbers behind it.

    ``proposed`` is None where nothing could be said of it, ``other`` a rating that would do
    as well.
    """

    ear: Literal["midi", "microphone"]
    proposed: Recall | None
    other: Recall | None
    features: dict[str, Any]


@dataclass(frozen=True, slots=True)
class NewAttempt:
    """An attempt to be. ``at`` is aware, ``zone`` an IANA name, ``seconds`` from screen to rating.

    ``seen_attempts`` is how many attempts the card had when its next state was computed, and
    ``seen_settings`` what was set then; None where that doesn't matter. ``uid`` is the attempt's
    own from when the card is shown, so that none is stored twice. ``heard`` is what was heard of
    it, None where nobody listened; ``reached`` how far the card had climbed before, in quarter
    notes a minute.
    """

    card_id: int
    session_id: int
    at: datetime
    zone: str
    attempted: Attempted
    seen_attempts: int
    seconds: float = 0.0
    loops: int = 0
    reached: int | None = None
    uid: str = field(default_factory=new_uid)
    heard: HeardAttempt | None = None
    seen_settings: Written | None = None


@dataclass(frozen=True, slots=True)
class AttemptRecord:
    """An attempt as stored. ``due_after`` is the day that the card was put off to by it.

    ``utc_offset`` is how many minutes the player's clock was ahead of UTC, and ``goal`` the
    phrase's goal tempo at the time; None where that isn't known.
    """

    id: int
    uid: str
    card_id: int
    session_id: int
    at: datetime
    zone: str
    day: date
    recall: Recall
    tempo: int
    hint: int
    seconds: float
    loops: int
    in_round: bool
    first_of_day: bool
    due_after: date
    undone_at: datetime | None
    reached: int | None
    utc_offset: int | None
    goal: int | None


@dataclass(frozen=True, slots=True)
class SessionRecord:
    """A drill session as stored. ``minutes`` were planned; ``ended_at`` is None while open.

    ``host`` and ``process`` are whose it is, None where that isn't known; ``ratings`` is how
    many attempts were stored of it, undone ones too.
    """

    id: int
    uid: str
    started_at: datetime
    ended_at: datetime | None
    minutes: int
    zone: str
    kind: SessionKind
    host: str | None = None
    process: str | None = None
    ratings: int = 0


@dataclass(frozen=True, slots=True)
class TuneRecord:
    """A tune as stored; ``tags`` are the player's own words for it, in order."""

    id: int
    uid: str
    tune: Tune
    tags: tuple[str, ...]
    added_at: datetime

    @property
    def title(self) -> str:
        """Return the title."""
        return self.tune.title


@dataclass(frozen=True, slots=True)
class GigRecord:
    """A gig as stored: ``day`` is the local date of the evening, ``tunes`` in its order."""

    id: int
    uid: str
    title: str
    day: date
    added_at: datetime
    tunes: tuple[TuneRecord, ...]


@dataclass(frozen=True, slots=True)
class Replaced:
    """A phrase, a tune or a gig that gave way to another store's version: what differs, by column.

    ``title`` is the one it has now; each column has what was here and what is there now, a gig's
    ``tunes`` by their titles.
    """

    title: str
    columns: dict[str, tuple[Any, Any]]


@dataclass(slots=True)
class Merged:
    """What a merge added and changed, in numbers.

    ``settings`` has each that was set later there to another value, by name: what was in force
    here, and what is now, None for the weights. ``noted`` holds each note that gave way to a
    later one: its phrase's title, what it said, and what it says. ``retired`` and ``restored``
    are the titles of what was retired there, or taken back, later than here.
    ``renamed`` holds titles that were taken, each with its new one; ``left_out`` the settings
    that can't be used; ``stayed_deleted`` titles that were deleted here and weren't brought
    back; ``deleted_there`` those that were deleted in the other store and are retired here.
    ``replaced`` has each phrase that was changed there later, ``retuned`` each tune and
    ``replanned`` each gig; ``joined`` the titles of phrases and tunes that stood here twice, each
    with that of the one.
    """

    phrases: int = 0
    changed: int = 0
    sessions: int = 0
    attempts: int = 0
    undone: int = 0
    notes: int = 0
    tunes: int = 0
    gigs: int = 0
    settings: dict[str, tuple[Any, Any]] = field(default_factory=dict)
    noted: list[tuple[str, str, str | None]] = field(default_factory=list)
    retired: list[str] = field(default_factory=list)
    restored: list[str] = field(default_factory=list)
    renamed: dict[str, str] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    stayed_deleted: list[str] = field(default_factory=list)
    deleted_there: list[str] = field(default_factory=list)
    replaced: list[Replaced] = field(default_factory=list)
    retuned: list[Replaced] = field(default_factory=list)
    replanned: list[Replaced] = field(default_factory=list)
    joined: dict[str, str] = field(default_factory=dict)

    @property
    def nothing(self) -> bool:
        """Return whether the store held all of it already."""
        counts = (
            self.phrases, self.changed, self.sessions, self.attempts, self.undone,
            self.notes, self.tunes, self.gigs, len(self.settings), len(self.deleted_there),
            len(self.retuned), len(self.replanned), len(self.joined),
        )  # fmt: skip
        return not any(counts)
