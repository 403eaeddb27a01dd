"""Rate a card: the attempt, the card's next state and its due day, on disk at once.

And how often the ratings are the ones that were proposed from listening.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import NamedTuple

from drillbox.errors import NotKnown, StoreFailure
from drillbox.memory.cards import Attempted, CardState, counted_recall, is_cold, rate
from drillbox.memory.days import choose_due
from drillbox.memory.recall import Recall, went_back
from drillbox.memory.rules import Rules, rules_of
from drillbox.music.keys import Key, parse_key
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.card_rows import card_again, due_counts, record_attempt
from drillbox.store.log import ratings_beside_proposals
from drillbox.store.phrase_rows import deleted_uids
from drillbox.store.sessions import ratings_kept
from drillbox.store.setting_rows import settings_from, written_settings
from drillbox.store.values import (
    AttemptStored,
    CardMoved,
    CardRecord,
    HeardAttempt,
    NewAttempt,
    Written,
)


class Played(NamedTuple):
    """How a card was played: its tempo, the highest hint seen, for how long, how often round.

    ``read`` is the card as the player reads it; its id is the stored card's. ``attempt`` is
    the attempt's own id (``new_uid``), made when the card was shown. ``heard`` is what was
    heard of it, where drillbox listened.
    """

    read: CardRecord
    tempo: int
    seconds: float
    loops: int
    attempt: str
    hint: int = 0
    in_round: bool = False
    heard: HeardAttempt | None = None


@dataclass(frozen=True, slots=True)
class Rated:
    """One rated attempt: the card as the player read it, and its state before and after.

    ``attempt`` is its own id, as in ``Played``.
    ``capped``: the third hint held the rating down to rough. ``back_in_time``: the clock
    stood before the card's latest attempt.
    """

    read: CardRecord
    tempo: int
    recall: Recall
    attempt: str
    before: CardState
    after: CardState
    capped: bool = False
    back_in_time: bool = False


@dataclass(slots=True)
class Rater:
    """Where ratings go: one session of a store, under the player's settings.

    A setting may be changed elsewhere while a session goes on, and every card was reckoned anew
    by it: then the session's next rating goes by it, too.
    """

    store: Store
    preferences: Preferences
    session_id: int
    _unanswered: dict[str, tuple[Rated, NotKnown]] = field(default_factory=dict)
    _rules: Rules = field(init=False)
    _settings: Written = field(init=False)

    def __post_init__(self) -> None:
        self._look_again()

    @property
    def unknown(self) -> int:
        """Return of how many ratings it isn't known whether they are stored."""
        return len(self._unanswered)

    def lost(self, rated: Sequence[Rated]) -> int:
        """Return how many ratings of the session aren't in the store any more.

        Those of a phrase that was deleted meanwhile went with it.
        """
        deleted = deleted_uids(self.store)
        stood = sum(each.read.phrase_uid not in deleted for each in rated)
        return max(0, stood - ratings_kept(self.store, self.session_id))

    def rate(self, played: Played, recall: Recall, day: date, now: datetime) -> Rated:
        """Store a rating over the card's state as it stands now, whoever moved it last.

        Attempt and card are on disk when this returns. Raises NotKnown where the store's answer
        is lost: rated once more, what was stored then is returned and not stored twice. Raises
        StoreFailure where they can't be stored, and nothing is then.
        """
        while True:
            try:
                return self._rate_once(played, recall, day, now)
            except CardMoved:
                self._look_again()
            except AttemptStored:
                return self._unanswered.pop(played.attempt)[0]
            except StoreFailure as problem:
                if played.attempt in self._unanswered:
                    raise self._unanswered[played.attempt][1] from problem
                raise

    def _look_again(self) -> None:
        """Take settings and rules from the store, in one look."""
        self._settings = written_settings(self.store)
        self._rules = rules_of(settings_from(self._settings))

    def _rate_once(self, played: Played, recall: Recall, day: date, now: datetime) -> Rated:
        fresh = card_again(self.store, played.read)
        attempted, state = self._decide(fresh, played, recall, day)
        new = NewAttempt(
            card_id=fresh.id,
            session_id=self.session_id,
            at=now,
            zone=self.preferences.zone,
            attempted=attempted,
            seen_attempts=fresh.state.attempts,
            seconds=played.seconds,
            loops=played.loops,
            reached=fresh.state.tempo.tempo,
            uid=played.attempt,
            heard=played.heard,
            seen_settings=self._settings,
        )
        rated = Rated(
            played.read,
            played.tempo,
            attempted.recall,
            played.attempt,
            fresh.state,
            state,
            capped=attempted.recall is not recall,
            back_in_time=went_back(fresh.state.memory, day),
        )
        try:
            record_attempt(self.store, new, state)
        except NotKnown as problem:
            self._unanswered.setdefault(played.attempt, (rated, problem))
            raise
        self._unanswered.pop(played.attempt, None)
        return rated

    def _decide(
        self, fresh: CardRecord, played: Played, recall: Recall, day: date
    ) -> tuple[Attempted, CardState]:
        """Return the attempt with its due day, and the state that it leads to."""
        rules, before = self._rules, fresh.state
        kept = counted_recall(recall, played.hint)
        attempted = Attempted(
            day, kept, played.tempo, played.hint, before.due or day, played.in_round, fresh.goal
        )
        state = rate(before, attempted, fresh.goal, rules)
        if not is_cold(before, day):
            return attempted, state
        assert state.memory is not None
        due = choose_due(
            state.memory,
            rules,
            f"{fresh.phrase_uid}/{fresh.key.text()}",
            state.attempts,
            due_counts(self.store, day),
            fresh.sibling_due,
        )
        return attempted._replace(due=due), state._replace(due=due)


LATELY = timedelta(days=28)
TELLING = 3
"""Kinder or harder ratings in one key from which on that key is named."""


class Agreement(NamedTuple):
    """Attempts heard, and those rated as proposed; the same of the latest four weeks.

    ``kinder`` and ``harder`` count the others; ``kindest`` is the key where most of the
    kinder ones are, where they are several, as the player reads it; ``hardest`` likewise.
    """

    heard: int
    agreed: int
    lately: int
    agreed_lately: int
    kinder: int
    harder: int
    kindest: Key | None
    hardest: Key | None


def agreement(store: Store, preferences: Preferences, today: date) -> Agreement | None:
    """Return how the ratings agree with what was heard; None where nothing was."""
    rows = ratings_beside_proposals(store, today - LATELY)
    if not rows:
        return None
    kinder, harder = Counter[str](), Counter[str]()
    for row in rows:
        kinder[row.key] += row.attempts if row.apart > 0 else 0
        harder[row.key] += row.attempts if row.apart < 0 else 0

    def most(counts: Counter[str]) -> Key | None:
        key, count = counts.most_common(1)[0]
        return preferences.shown_key(parse_key(key)) if count >= TELLING else None

    same = [row for row in rows if row.apart == 0]
    return Agreement(
        sum(row.attempts for row in rows),
        sum(row.attempts for row in same),
        sum(row.latest for row in rows),
        sum(row.latest for row in same),
        kinder.total(),
        harder.total(),
        most(kinder),
        most(harder),
    )
