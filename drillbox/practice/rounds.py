"""A round: a phrase through its keys without a stop, each key rated as it goes or after it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from math import ceil
from shlex import quote
from typing import NamedTuple

from drillbox.errors import BadInput, NotFound
from drillbox.memory.cards import moved_tempo
from drillbox.memory.recall import Recall
from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.turnarounds import aim_of, lead_to
from drillbox.practice.drilling import Recap, due_to_come
from drillbox.practice.preferences import Preferences, card_as_read, card_in
from drillbox.practice.ranges import misfit_of
from drillbox.practice.rating import Played, Rated, Rater
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.naming import pasted
from drillbox.store.reckoning import undo_attempt
from drillbox.store.sessions import begin_session, end_session, open_sessions
from drillbox.store.values import CardRecord, HeardAttempt, PhraseRecord, new_uid


class Legs(ABC):
    """Cards played one after another, and what has become of each.

    ``at`` is the card that is played, or the number of cards once all were; ``reads`` are the
    cards as the player reads them. ``timed`` is false where ratings come from a script: it all
    takes as long as what was rated then.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        reads: Sequence[CardRecord],
        seconds: float,
        now: datetime,
        *,
        timed: bool,
    ) -> None:
        self.store, self.preferences, self.reads = store, preferences, tuple(reads)
        self.timed = timed
        self.at = 0
        self.stopped = False
        self.day = self.preferences.today(now)
        self._given: list[tuple[int, Rated]] = []
        self._left: set[int] = set()
        self._attempts = [new_uid() for _ in reads]  # the ids of the attempts to come
        self._began, self._paused = now, timedelta()
        self.others_open = len(open_sessions(store, now))
        minutes = min(240, max(1, ceil(seconds / 60)))
        self._session = begin_session(
            store, minutes=minutes, zone=preferences.zone, kind="round", now=now
        )
        self.rater = Rater(store, preferences, self._session.id)

    @abstractmethod
    def played(self, index: int, attempt: str) -> Played:
        """Return how a card was played, as the attempt of that id."""

    @property
    def rated(self) -> tuple[Rated, ...]:
        """Return the ratings that stand, in the order in which they were given."""
        return tuple(rated for _, rated in self._given)

    @property
    def asked(self) -> int | None:
        """Return the first card that was played through and neither rated nor left."""
        done = {index for index, _ in self._given} | self._left
        return next((index for index in range(self.at) if index not in done), None)

    @property
    def shown(self) -> int | None:
        """Return the card that is played or, when all were, the one to rate; None when over."""
        return self.at if self.at < len(self.reads) else self.asked

    def recall_of(self, index: int) -> Recall | None:
        """Return how a card was rated, None where it wasn't."""
        return next((rated.recall for at, rated in self._given if at == index), None)

    def is_left(self, index: int) -> bool:
        """Return whether the player left a card unrated."""
        return index in self._left

    def rate(
        self, index: int, recall: Recall, now: datetime, heard: HeardAttempt | None = None
    ) -> Rated | None:
        """Store a rating of a card; None, and nothing is stored, where it is rated already.

        Attempt and card are on disk when this returns; raises StoreFailure where they can't be.
        Raises NotFound where the phrase was deleted meanwhile: its card is left unrated then.
        """
        if self.recall_of(index) is not None:
            return None
        self.day = self.preferences.today(now)
        played = self.played(index, self._attempts[index])._replace(heard=heard)
        try:
            done = self.rater.rate(played, recall, self.day, now)
        except NotFound:
            self.leave(index)
            raise
        self._given.append((index, done))
        self._left.discard(index)
        return done

    def undo(self, now: datetime) -> bool:
        """Take back the last rating of this session; False if there is none.

        Its card can be rated again, even if all that wasn't rated was left meanwhile. Raises
        NotFound where it was deleted with its phrase: it isn't the last any more then, and left.
        """
        if not self._given:
            return False
        index, last = self._given[-1]
        try:
            undo_attempt(self.store, last.attempt, now)
        except NotFound:
            self._given.pop()
            self._left.add(index)
            raise
        self._given.pop()
        self._left.discard(index)
        self._attempts[index] = new_uid()
        return True

    def play_to(self, index: int) -> None:
        """Take the cards before one as played; the number of cards for all."""
        self.at = index

    def go_on(self) -> None:
        """Go on to the next card, where one is left to be played."""
        self.at = min(self.at + 1, len(self.reads))

    def stop(self) -> None:
        """Leave the cards that weren't played through; those that were can still be rated."""
        self.stopped = True
        self._left |= set(range(self.at, len(self.reads)))
        self.at = len(self.reads)

    def leave(self, index: int) -> bool:
        """Leave a card unrated: it isn't asked for at the end; False where it is rated already."""
        if self.recall_of(index) is not None:
            return False
        self._left.add(index)
        return True

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that it all takes."""
        self._paused += length

    def finish(self, now: datetime) -> Recap:
        """End the session and return what it came to."""
        end_session(self.store, self._session.id, now)
        due = due_to_come(self.store, self.day)
        return Recap(self.rated, self._seconds_taken(now) / 60, due, self.day, all_done=False)

    def _seconds_taken(self, now: datetime) -> float:
        if self.timed:
            return max(0.0, (now - self._began - self._paused).total_seconds())
        return sum(self.played(at, self._attempts[at]).seconds for at, _ in self._given)


def round_cards(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    *,
    order: str | None = None,
    start: str | None = None,
    whole: bool = False,
) -> list[CardRecord]:
    """Return the open cards of a phrase (all if ``whole``) in the order of a round.

    Keys that are put aside are left out.

    ``order`` names one of ``music.keys.ORDERS``; None keeps the order in which the phrase's
    keys open. ``start`` is the first key as the player reads it; None: the first in that order,
    the written one where it isn't put aside.
    Raises BadInput for an order or key that there isn't, for one put aside, and where no card
    is left.
    """
    every = cards_of(store, record.id)
    cards = [each for each in every if not each.aside]
    first = cards[0]
    if start is not None:
        first = card_in(record.phrase, every, start, preferences)
        if first.aside:
            raise BadInput(
                f"{start} is put aside for {record.title!r}",
                "Begin in another key, or bring it back: "
                f"drillbox edit {pasted(record.title)} --back {quote(start)}",
            )
    taken = [each for each in _ordered(cards, first, order, preferences) if whole or is_open(each)]
    if start is not None and first not in taken:
        raise BadInput(
            f"{record.title!r} isn't started in {start} yet", "Take all twelve with --all."
        )
    if not taken:
        raise BadInput(
            f"No key of {record.title!r} is started yet",
            "Drill it first, or take all twelve with --all.",
        )
    return taken


def why_not_played(
    store: Store,
    preferences: Preferences,
    record: PhraseRecord,
    *,
    order: str | None,
    start: str | None,
    whole: bool,
) -> BadInput | None:
    """Return why there is no such round of a phrase, None where there is: see ``round_cards``."""
    try:
        round_cards(store, preferences, record, order=order, start=start, whole=whole)
    except BadInput as problem:
        return problem
    return None


def _ordered(
    cards: Sequence[CardRecord], first: CardRecord, order: str | None, preferences: Preferences
) -> list[CardRecord]:
    if order is None:
        place = cards.index(first)
        return [*cards[place:], *cards[:place]]
    keys = preferences.keys_in_order(first.key, order)
    by_tonic = {each.key.tonic.pitch_class: each for each in cards}
    tonics = [key.tonic.pitch_class for key in keys]
    return [by_tonic[tonic] for tonic in tonics if tonic in by_tonic]  # a key may be put aside


def is_open(card: CardRecord) -> bool:
    """Return whether a card was attempted before."""
    return card.state.memory is not None


def slowest_tempo(cards: Sequence[CardRecord]) -> int:
    """Return the tempo at which all of these cards can be played: that of the slowest."""
    return min(each.state.tempo.tempo for each in cards)


def led_on(cards: Sequence[CardRecord]) -> list[Chart]:
    """Return the charts of cards with turnarounds that lead each to the next, the last home."""
    return [
        led_to(card, after) for card, after in zip(cards, [*cards[1:], *cards[:1]], strict=True)
    ]


def led_to(card: CardRecord, after: CardRecord) -> Chart:
    """Return a card's chart with a turnaround that leads to the top of another's."""
    aim = aim_of(after.chart)
    return lead_to(card.chart, aim, after.key) if aim else card.chart


def led_back(card: CardRecord) -> Chart:
    """Return a card's chart as it is played before it is repeated in a round.

    It is the chart itself; one that has no turnaround gets one, so that every time through
    is equally long.
    """
    return card.chart if card.chart.turnaround else led_to(card, card)


class Leg(NamedTuple):
    """One key of a round. ``read`` is its card as the player reads it.

    It is played ``loops`` times: to ``back``, and the last time to ``on``, whose turnaround
    leads into the next key. ``sounding`` are the two at concert pitch.
    """

    read: CardRecord
    back: Chart
    on: Chart
    sounding: tuple[Chart, Chart]

    @property
    def key(self) -> Key:
        """Return the key as the player reads it."""
        return self.read.key


class Round(Legs):
    """One round over a store: its keys in order, and what has become of each.

    ``cards`` are those that are played, at concert pitch.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        cards: Sequence[CardRecord],
        *,
        tempo: int | None,
        loops: int,
        now: datetime,
        timed: bool = True,
    ) -> None:
        self.cards, self.loops = tuple(cards), loops
        read = [card_as_read(store, each, preferences) for each in cards]
        self.strays = [misfit_of(each, preferences) for each in cards]
        heard = zip(map(led_back, cards), led_on(cards), strict=True)
        self.legs = tuple(
            Leg(each, led_back(each), on, sounding)
            for each, on, sounding in zip(read, led_on(read), heard, strict=True)
        )
        self.tempo = tempo or slowest_tempo(cards)
        self._played_at: dict[int, int] = {}  # keys played before the tempo was changed
        seconds = len(cards) * float(self.leg_seconds)
        super().__init__(store, preferences, read, seconds, now, timed=timed)

    @property
    def leg_seconds(self) -> Fraction:
        """Return how long one key is played, all its times through."""
        return self._seconds_at(self.tempo)

    def _seconds_at(self, tempo: int) -> Fraction:
        return self.legs[0].on.length * self.loops * Fraction(60, tempo)

    def played(self, index: int, attempt: str) -> Played:
        """Return how a key was played: at the round's tempo then, all its times through."""
        tempo = self._played_at.get(index, self.tempo)
        seconds = float(self._seconds_at(tempo))
        return Played(self.reads[index], tempo, seconds, self.loops, attempt, in_round=True)

    def change_tempo(self, rungs: int) -> int:
        """Play the rest of the round some rungs faster or slower; no faster than the goal, or
        than it is played already."""
        for index in range(self.at):
            self._played_at.setdefault(index, self.tempo)
        most = max(self.legs[0].read.goal, self.tempo)
        self.tempo = moved_tempo(self.tempo, rungs, most, self.preferences.rules.tempo)
        return self.tempo
