"""What a round and a tune have in common: things played one after another, each rated once."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from datetime import datetime, timedelta
from math import ceil

from drillbox.memory.recall import Recall
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.sitting.drilling import Recap
from drillbox.practice.sitting.rating import Played, Rated, Rater
from drillbox.store.access import Store
from drillbox.store.attempts import undo_attempt
from drillbox.store.card_rows import due_counts
from drillbox.store.sessions import begin_session, end_session, open_sessions
from drillbox.store.values import CardRecord, HeardAttempt, new_uid


class Legs(ABC):
    """Cards played one after another, and what has become of each.

    ``at`` is the card that is played, or the number of cards once all were; ``reads`` are the
    cards as the player reads them.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        reads: Sequence[CardRecord],
        seconds: float,
        now: datetime,
    ) -> None:
        self.store, self.preferences, self.reads = store, preferences, tuple(reads)
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
        """
        if self.recall_of(index) is not None:
            return None
        self.day = self.preferences.today(now)
        played = self.played(index, self._attempts[index])._replace(heard=heard)
        done = self.rater.rate(played, recall, self.day, now)
        self._given.append((index, done))
        self._left.discard(index)
        return done

    def undo(self, now: datetime) -> bool:
        """Take back the last rating of this session; False if there is none."""
        if not self._given:
            return False
        index, last = self._given[-1]
        undo_attempt(self.store, last.attempt_id, last.before, now)
        self._given.pop()
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

    def leave(self, index: int) -> None:
        """Leave a card unrated: it isn't asked for at the end."""
        self._left.add(index)

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that it all takes."""
        self._paused += length

    def finish(self, now: datetime) -> Recap:
        """End the session and return what it came to."""
        end_session(self.store, self._session.id, now)
        minutes = (now - self._began - self._paused).total_seconds() / 60
        due = tuple(sorted(due_counts(self.store, self.day).items()))
        return Recap(self.rated, max(0.0, minutes), due, self.day, all_done=False)
