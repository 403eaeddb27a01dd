"""A round: a phrase through its keys without a stop, each key rated as it goes or after it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from drillbox.memory.day import practice_day
from drillbox.memory.recall import Recall
from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.practice.drilling import Recap
from drillbox.practice.ordering import led_back, led_on
from drillbox.practice.preferences import Preferences
from drillbox.practice.rating import Played, Rated, Rater, moved_tempo, present_tempo
from drillbox.practice.reading import card_as_read
from drillbox.store.attempts import undo_attempt
from drillbox.store.cards import due_counts
from drillbox.store.opening import Store
from drillbox.store.sessions import begin_session, end_session, open_sessions
from drillbox.store.values import CardRecord, new_uid


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


class Round:
    """One round over a store: its keys in order, and what has become of each.

    ``at`` is the key that is played, or the number of keys once all were.
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
    ) -> None:
        self.store, self.preferences, self.loops = store, preferences, loops
        self.day = practice_day(now, preferences.zone, preferences.rules.day_start_hour)
        read = [card_as_read(store, each, preferences) for each in cards]
        heard = zip(map(led_back, cards), led_on(cards), strict=True)
        self.legs = tuple(
            Leg(each, led_back(each), on, sounding)
            for each, on, sounding in zip(read, led_on(read), heard, strict=True)
        )
        tempos = [present_tempo(each, self.day, preferences.rules) for each in cards]
        self.tempo = tempo or min(tempos)
        self.at = 0
        self._given: list[tuple[int, Rated]] = []
        self._left: set[int] = set()
        self._attempts = [new_uid() for _ in self.legs]  # the ids of the attempts to come
        self._began, self._paused = now, timedelta()
        self.others_open = len(open_sessions(store, now))
        minutes = min(240, max(1, ceil(len(cards) * self.leg_seconds / 60)))
        self._session = begin_session(
            store, minutes=minutes, zone=preferences.zone, kind="round", now=now
        )
        self.rater = Rater(store, preferences, self._session.id)

    @property
    def leg_seconds(self) -> Fraction:
        """Return how long one key is played, all its times through."""
        return self.legs[0].on.length * self.loops * Fraction(60, self.tempo)

    @property
    def rated(self) -> tuple[Rated, ...]:
        """Return the ratings that stand, in the order in which they were given."""
        return tuple(rated for _, rated in self._given)

    @property
    def asked(self) -> int | None:
        """Return the first key that was played through and neither rated nor left."""
        done = {index for index, _ in self._given} | self._left
        return next((index for index in range(self.at) if index not in done), None)

    @property
    def shown(self) -> int | None:
        """Return the key that is played or, when all were, the one to rate; None when over."""
        return self.at if self.at < len(self.legs) else self.asked

    def recall_of(self, index: int) -> Recall | None:
        """Return how a key was rated, None where it wasn't."""
        return next((rated.recall for at, rated in self._given if at == index), None)

    def is_left(self, index: int) -> bool:
        """Return whether the player left a key unrated."""
        return index in self._left

    def rate(self, index: int, recall: Recall, now: datetime) -> Rated | None:
        """Store a rating of a key; None, and nothing is stored, where it is rated already.

        Attempt and card are on disk when this returns; raises StoreFailure where they can't be.
        """
        if self.recall_of(index) is not None:
            return None
        self.day = practice_day(now, self.preferences.zone, self.preferences.rules.day_start_hour)
        seconds = float(self.leg_seconds)
        read, attempt = self.legs[index].read, self._attempts[index]
        played = Played(read, self.tempo, seconds, self.loops, attempt, in_round=True)
        done = self.rater.rate(played, recall, self.day, now)
        self._given.append((index, done))
        self._left.discard(index)
        return done

    def undo(self, now: datetime) -> bool:
        """Take back the last rating of this round; False if there is none."""
        if not self._given:
            return False
        index, last = self._given[-1]
        undo_attempt(self.store, last.attempt_id, last.before, now)
        self._given.pop()
        self._attempts[index] = new_uid()
        return True

    def play_to(self, index: int) -> None:
        """Take the keys before one as played; the number of keys for all."""
        self.at = index

    def go_on(self) -> None:
        """Go on to the next key, where one is left to be played."""
        self.at = min(self.at + 1, len(self.legs))

    def stop(self) -> None:
        """Leave the keys that weren't played through; those that were can still be rated."""
        self._left |= set(range(self.at, len(self.legs)))
        self.at = len(self.legs)

    def leave(self, index: int) -> None:
        """Leave a key unrated: it isn't asked for after the round."""
        self._left.add(index)

    def change_tempo(self, rungs: int) -> int:
        """Play the rest of the round some rungs faster or slower, never over goal."""
        goal = self.legs[0].read.goal
        self.tempo = moved_tempo(self.tempo, rungs, goal, self.preferences.rules.tempo)
        return self.tempo

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that the round takes."""
        self._paused += length

    def finish(self, now: datetime) -> Recap:
        """End the round and return what it came to."""
        end_session(self.store, self._session.id, now)
        minutes = (now - self._began - self._paused).total_seconds() / 60
        due = tuple(sorted(due_counts(self.store, self.day).items()))
        return Recap(self.rated, max(0.0, minutes), due, self.day, all_done=False, quota=0)
