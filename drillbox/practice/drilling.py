"""A drill session: what is shown, hinted, rated, taken back and skipped, each on disk at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from drillbox.errors import NotFound, StoreFailure
from drillbox.memory.candidates import Candidate, Done, Sitting, expected_seconds
from drillbox.memory.cards import LAST_HINT, moved_tempo
from drillbox.memory.choose import next_go
from drillbox.memory.recall import Recall
from drillbox.practice.hinting import HintView, hint_for
from drillbox.practice.preferences import Preferences, card_as_read
from drillbox.practice.rating import Played, Rated, Rater
from drillbox.practice.readiness import chances_of, pace_of, piled_up
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card, card_again, due_counts, set_note
from drillbox.store.reckoning import undo_attempt as take_back
from drillbox.store.sessions import begin_session, end_session, open_sessions
from drillbox.store.values import (
    LONGEST_NOTE,
    MOST_SECONDS,
    CardRecord,
    HeardAttempt,
    new_uid,
)

if TYPE_CHECKING:
    from drillbox.practice.standing import Slipping, Waiting


# Seconds of playing. Guidance on musicians' health: five minutes' rest in each half hour (sudden
# load is a leading cause of injury by the players' own account: Chan & Ackermann 2014).
REST_AFTER = 25 * 60


class NextUnread(StoreFailure):
    """The rating is stored, but the next key can't be read: it isn't to be rated again."""


@dataclass(frozen=True, slots=True)
class Showing:
    """The card before the player: its tempo now, the highest hint seen, and since when.

    ``card`` is at concert pitch; ``read`` has the key, chart and line that the player reads.
    ``attempt`` is the id of the attempt that its rating will be. It is go ``number`` at
    it in this session; ``cold`` where it is the card's first of the day, which memory counts.
    """

    card: CardRecord
    read: CardRecord
    candidate: Candidate
    tempo: int
    since: datetime
    number: int = 1
    cold: bool = True
    hint: int = 0
    paused: timedelta = timedelta()
    attempt: str = field(default_factory=new_uid)


class _Step(NamedTuple):
    """What taking a rating back needs: the rating, its seconds, and what stood before it."""

    rated: Rated
    seconds: float
    showing: Showing
    sitting: Sitting


@dataclass(frozen=True, slots=True)
class Recap:
    """What a session came to: its attempts, minutes, and the cards due on the days to come.

    ``all_done``: every key in practice is owned and sure by now. ``waiting`` is what the phrases
    that were played wait for, ``slipping`` which of the keys that were played never stay.
    """

    attempts: tuple[Rated, ...]
    minutes: float
    due: tuple[tuple[date, int], ...]
    today: date
    all_done: bool
    waiting: tuple[Waiting, ...] = ()
    slipping: tuple[Slipping, ...] = ()


def due_to_come(store: Store, day: date) -> tuple[tuple[date, int], ...]:
    """Return how many cards are due on a practice day, those overdue among them, and on each of
    the days after it."""
    counts: Counter[date] = Counter()
    for at, count in due_counts(store, date.min).items():
        counts[max(at, day)] += count
    return tuple(sorted(counts.items()))


def gig_tempo(tempo: int, goal: int, top: int) -> int:
    """Return the tempo at which a card that has reached ``tempo`` is played for a gig.

    ``top`` is the gig's. It may be a little over the goal: what has climbed to that goes faster.
    """
    return top if tempo >= goal else min(tempo, top)


class Drill:
    """One drill session over a store.

    ``timed`` is false where ratings come from a script: an attempt then takes the seconds
    that one is expected to take, so that the session still ends when its minutes are over.
    ``only`` are the cards that may come, None for all; ``goals`` the tempos at which a gig
    wants some of them.
    """

    def __init__(
        self,
        store: Store,
        preferences: Preferences,
        *,
        minutes: int,
        now: datetime,
        timed: bool = True,
        only: frozenset[int] | None = None,
        goals: Mapping[int, int] | None = None,
    ) -> None:
        self.store, self.preferences, self.rules = store, preferences, preferences.rules
        self.timed, self.only, self.goals = timed, only, goals or {}
        self.others_open = len(open_sessions(store, now))
        self.session = begin_session(
            store, minutes=minutes, zone=preferences.zone, kind="drill", now=now
        )
        self.rater = Rater(store, preferences, self.session.id)
        self.day = self.preferences.today(now)
        self.pace = pace_of(store, preferences)
        pool = candidates(store)
        self.chances = chances_of(store, self.rules, self.day, pool)
        self.piled_up = piled_up(pool, self.chances, self.rules, self.pace)
        self.was_all_done = self._all_done(pool)
        self.sitting = Sitting(minutes)
        self._steps: list[_Step] = []
        self._seen: dict[int, int] = {}  # the hints asked for at cards that an undo put off
        self._rest_proposed = False
        self._hint: tuple[tuple[str, int], HintView | None] = (("", 0), None)  # which, as read
        self.showing: Showing | None = None
        self._keys_left = False
        self._advance(now, pool)

    @property
    def rated(self) -> tuple[Rated, ...]:
        """Return the ratings that stand, in the order in which they were given."""
        return tuple(step.rated for step in self._steps)

    def rate(self, recall: Recall, now: datetime, heard: HeardAttempt | None = None) -> Rated:
        """Store a rating of the card shown, then show the next; return what was stored.

        The attempt and its card are on disk when this returns. Raises StoreFailure where
        they can't be: the card then stays before the player. Raises NextUnread where they
        are, and then the store failed; NotFound where the phrase was deleted meanwhile.
        """
        showing = self._shown()
        self.day = self.preferences.today(now)
        seconds = self.seconds(now) if self.timed else self._expected(showing)
        played = Played(
            showing.read,
            showing.tempo,
            seconds,
            self.rules.loops,
            showing.attempt,
            showing.hint,
            heard=heard,
        )
        done = self.rater.rate(played, recall, self.day, now)
        self._steps.append(_Step(done, seconds, showing, self.sitting))
        self.sitting = self.sitting.rated(showing.candidate, showing.tempo, done.recall, seconds)
        self.showing = None
        try:
            self._advance(now)
        except StoreFailure as problem:
            raise NextUnread(problem.what, problem.remedy) from problem
        return done

    def undo(self, now: datetime) -> bool:
        """Take back the last rating of this session and show its card; False if there is none.

        The time that went by stays used, what was skipped meanwhile stays skipped, hints that
        were asked for stay seen, and a note that was written meanwhile is kept.

        Raises NotFound where it was deleted with its phrase: then it isn't the last any more.
        """
        if not self._steps:
            return False
        last = self._steps[-1]
        try:
            note = card_again(self.store, last.showing.card).note
            take_back(self.store, last.rated.attempt, now)
        except NotFound:
            self._steps.pop()
            raise
        self._steps.pop()
        since_shown = self.seconds(now) if self.showing and self.timed else 0.0
        if self.showing and self.showing.hint > self._first_hint(self.showing.candidate):
            self._seen[self.showing.card.id] = self.showing.hint
        self.sitting = replace(
            last.sitting,
            skipped=self.sitting.skipped,
            used=self.sitting.used - last.seconds + since_shown,
        )
        self.showing = replace(
            last.showing,
            card=replace(last.showing.card, note=note),
            since=now - timedelta(seconds=last.seconds),
            paused=timedelta(),
            attempt=new_uid(),
        )
        return True

    def hint(self) -> int:
        """Go one step up the ladder of hints; return the step, 1 to 3."""
        showing = self._shown()
        self.showing = replace(showing, hint=min(LAST_HINT, showing.hint + 1))
        return self.showing.hint

    def hint_view(self, *, ascii: bool) -> HintView | None:
        """Return the hint shown; None where none was asked for, or its phrase was deleted.

        It is read once, however often a screen is drawn.
        """
        showing = self.showing
        if showing is None or not showing.hint:
            return None
        which = (showing.attempt, showing.hint)
        if self._hint[0] != which:
            found = None
            with suppress(NotFound):
                found = hint_for(self.store, showing.card, showing.read, showing.hint, ascii=ascii)
            self._hint = (which, found)
        return self._hint[1]

    def skip(self, now: datetime) -> None:
        """Pass the card over for this session; nothing is rated."""
        seconds = self.seconds(now) if self.timed else 0.0
        self.sitting = self.sitting.skip(self._shown().card.id, seconds)
        self._advance(now)

    def change_tempo(self, rungs: int) -> int:
        """Play this attempt some rungs faster or slower, never over goal nor over what a gig
        wants beyond it; return the tempo."""
        showing = self._shown()
        top = max(showing.card.goal, self.goals.get(showing.card.id, 0))
        tempo = moved_tempo(showing.tempo, rungs, top, self.rules.tempo)
        self.showing = replace(showing, tempo=tempo)
        return tempo

    def note(self, text: str, now: datetime) -> None:
        """Keep a note to self with the card shown, up to its longest; an empty one takes it
        away.

        Raises NotFound where its phrase was deleted meanwhile.
        """
        showing, kept = self._shown(), text[:LONGEST_NOTE] or None
        set_note(self.store, card_again(self.store, showing.card).id, kept, now)
        self.showing = replace(showing, card=replace(showing.card, note=kept))

    def pause(self, length: timedelta) -> None:
        """Leave a pause out of the time that the attempt and the session take."""
        showing = self._shown()
        self.showing = replace(showing, paused=showing.paused + length)

    def seconds(self, now: datetime) -> float:
        """Return the seconds that the card has been before the player, pauses left out; a day at
        most."""
        showing = self._shown()
        seconds = (now - showing.since - showing.paused).total_seconds()
        return min(MOST_SECONDS, max(0.0, seconds))

    def minutes_left(self, now: datetime) -> int:
        """Return the whole minutes left, rounded up, never below 0."""
        current = self.seconds(now) if self.showing and self.timed else 0.0
        return max(0, -int(-(self.sitting.left - current) // 60))

    @property
    def time_is_up(self) -> bool:
        """Return whether nothing is shown because no go fits the minutes left, not for want of
        keys."""
        return self.showing is None and self._keys_left

    def rest_is_due(self, now: datetime) -> bool:
        """Say, once in a session, that a rest is due: 25 minutes were played, pauses left out."""
        played = self.sitting.used
        if self.showing and self.timed:
            played += self.seconds(now)
        due = played >= REST_AFTER and not self._rest_proposed
        self._rest_proposed = self._rest_proposed or due
        return due

    def finish(self, now: datetime) -> Recap:
        """End the session and return its recap."""
        end_session(self.store, self.session.id, now)
        self.day = self.preferences.today(now)
        pool = candidates(self.store) if self.rated else []
        waiting, slipping = self._lacking(pool)
        return Recap(
            self.rated,
            self.sitting.used / 60,
            due_to_come(self.store, self.day),
            self.day,
            all_done=self._all_done(pool),
            waiting=waiting,
            slipping=slipping,
        )

    def _all_done(self, pool: Sequence[Candidate]) -> bool:
        """Return whether every key in practice is owned and sure."""
        return bool(pool) and all(map(self.chances.is_done_with, pool))

    def _lacking(
        self, pool: Sequence[Candidate]
    ) -> tuple[tuple[Waiting, ...], tuple[Slipping, ...]]:
        """Return what the phrases that were played wait for, and which of the keys that were
        never stay."""
        titles = {each.read.phrase_id: each.read.title for each in self.rated}
        played = [each for each in pool if each.phrase_id in titles]
        if not played:
            return (), ()
        from drillbox.practice.standing import bottlenecks, cells_of, slipping  # the end alone

        found = cells_of(self.store, played, titles, self.chances, self.preferences)
        rated = {each.read.id for each in self.rated}
        return bottlenecks(found), slipping(found, (c for c in played if c.card_id in rated))

    def _advance(self, now: datetime, pool: list[Candidate] | None = None) -> None:
        pool = candidates(self.store) if pool is None else pool
        if self.chances.today != self.day.toordinal():  # the small hours are over
            self.chances = chances_of(self.store, self.rules, self.day, pool)
        wanted = self._wanted(pool)
        go = next_go(wanted, self.sitting, self.rules, self.pace, self.chances)
        if go is None:
            self.showing = None
            longer = replace(self.sitting, minutes=inf)
            later = next_go(wanted, longer, self.rules, self.pace, self.chances)
            self._keys_left = later is not None
            return
        found = next(each for each in pool if each.card_id == go.card_id)
        try:
            shown = card(self.store, go.card_id)
            read = card_as_read(self.store, shown, self.preferences)
        except NotFound:  # its phrase was deleted since the pool was read
            self._advance(now)
            return
        cold = found.last_day != self.chances.today
        number = len(self._goes_at(found)) + 1
        hint = max(self._first_hint(found), self._seen.pop(go.card_id, 0))
        self.showing = Showing(shown, read, found, go.tempo, now, number, cold, hint)

    def _goes_at(self, card: Candidate) -> list[Done]:
        return [each for each in self.sitting.done if each.card_id == card.card_id]

    def _first_hint(self, card: Candidate) -> int:
        """Return the hint that a go begins with: a step for each go of the sitting that was lost
        at a key that has never come out clean, but not the one that names the notes."""
        goes = self._goes_at(card)
        if card.clean or any(each.clean for each in goes):
            return 0
        return min(LAST_HINT - 1, sum(each.recall is Recall.LOST for each in goes))

    def _wanted(self, pool: list[Candidate]) -> list[Candidate]:
        """Return the cards that were asked for, each with the tempo that is asked of it.

        Only a gig asks for another than the card's own.
        """
        if self.only is not None:
            pool = [each for each in pool if each.card_id in self.only]
        if not self.goals:
            return pool
        asked = self.goals
        tops = [(each, asked.get(each.card_id, each.goal)) for each in pool]
        return [
            each._replace(goal=top, tempo=gig_tempo(each.tempo, each.goal, top))
            for each, top in tops
        ]

    def _expected(self, showing: Showing) -> float:
        return expected_seconds(showing.candidate.quarters, showing.tempo, self.pace, self.rules)

    def _shown(self) -> Showing:
        if self.showing is None:
            raise RuntimeError("no card is shown")
        return self.showing
