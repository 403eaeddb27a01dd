"""How ready a phrase is in a key, at a tempo, on a day: one model's chance, and what it rests on.

And how much of what is at goal tempo is due by now.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Pace, expected_seconds, learn_pace
from drillbox.memory.chances import Chances
from drillbox.memory.learning import EVER_FIRST, LATEST, learn
from drillbox.memory.leniency import HABIT
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key, parse_key
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.log import ever_first, latest_firsts, misses, recent_attempts

READY, MAYBE = 0.8, 0.5  # the chances from which a key is called ready, and maybe
DAYS_CLIMB = 1.1  # what a day's visits add to the tempo that a key has climbed to: two rungs
LEARNT_FROM = 200  # the latest attempts tell the pace; older ones were played by another player
MANY, SOME = 10, 4  # days on which it was played, from which on these are called many, or some

Chance = Callable[[Candidate, int], float]
"""The chance that the day's first go at a card, at a tempo, comes out clean."""


class Ready(NamedTuple):
    """A card's chance of a clean first try at a tempo, and on how many days it was played."""

    card_id: int
    chance: float
    days: int

    @property
    def words(self) -> str:
        """Return the chance in a word: ready, maybe, not yet; new where it was never played."""
        if not self.days:
            return "new"
        return "ready" if self.chance >= READY else "maybe" if self.chance >= MAYBE else "not yet"

    @property
    def figures(self) -> str:
        """Return the chance and on how many goes it rests; "" where it was never played."""
        if not self.days:
            return ""
        goes = "many" if self.days >= MANY else "some" if self.days >= SOME else "few"
        return f"{self.chance:.0%}, {goes} goes"


class Cards:
    """The player's cards by phrase and sounding key, and what their chances are on a day."""

    def __init__(self, candidates: Sequence[Candidate], chance: Chance, day: date) -> None:
        self._chance, self._day = chance, day.toordinal()
        self._by_id = {each.card_id: each for each in candidates}
        names = {each.key for each in candidates}
        keys: Mapping[str, Key] = {name: parse_key(name) for name in names}
        self._at = {
            (each.phrase_id, keys[each.key].tonic.pitch_class): (each, keys[each.key])
            for each in candidates
        }

    def __len__(self) -> int:
        """Return how many keys are drilled, of all phrases."""
        return len(self._at)

    def has(self, phrase: int, tonic: int) -> bool:
        """Return whether the key of a phrase on a tonic is drilled: not one put aside."""
        return (phrase, tonic) in self._at

    def card(self, card_id: int) -> Candidate:
        """Return a card by its number."""
        return self._by_id[card_id]

    def to_come(self, card: Candidate, visits: int, tempo: int) -> Iterator[float]:
        """Yield the chance now, and after each of some visits on days of their own, the last just
        before.

        Three first goes in four are reckoned to come out clean; each day lets the key climb, up
        to its goal.
        """
        yield self._chance(card, tempo)
        top = min(tempo, card.goal)
        for number in range(1, visits + 1):
            clean = number % 4 != 0
            climbed = max(card.tempo, min(top, round(card.tempo * DAYS_CLIMB)))
            card = card._replace(
                clean=card.clean + clean,
                missed=card.missed + (not clean),
                run=card.run + 1 if clean else 0,
                last_day=self._day - 1,
                tempo=climbed,
            )
            yield self._chance(card, tempo)

    def key(self, phrase: int, tonic: int) -> Key:
        """Return the key of a phrase's card that sounds on a tonic (a pitch class)."""
        return self._at[phrase, tonic][1]

    def ready(self, phrase: int, tonic: int, tempo: int) -> Ready:
        """Return how ready a phrase is in the key on a tonic, at a tempo."""
        card = self._at[phrase, tonic][0]
        return Ready(card.card_id, self._chance(card, tempo), card.clean + card.missed)


def cards_on(store: Store, rules: Rules, day: date) -> Cards:
    """Return the cards of all phrases in practice with their chances on a practice day."""
    pool = candidates(store)
    return Cards(pool, chances_of(store, rules, day, pool).supposing, day)


def chances_of(
    store: Store, rules: Rules, day: date, pool: Sequence[Candidate] | None = None
) -> Chances:
    """Return the chances of all cards in practice on a day; ``pool`` are they, where known."""
    pool = candidates(store) if pool is None else pool
    seen = latest_firsts(store, LATEST)
    earlier = []
    if len(seen) == LATEST:
        earlier = ever_first(store, date.fromordinal(seen[0].day), EVER_FIRST)
    learned = learn(seen, pool, misses(store, day - timedelta(HABIT)), earlier)
    return Chances(learned, pool, day.toordinal(), rules)


def started_at_goal(
    store: Store, rules: Rules, day: date, phrase_id: int | None = None
) -> list[tuple[Candidate, float]]:
    """Return each started key in practice, or those of one phrase, with the chance that a first
    go at its goal tempo on a day comes out clean."""
    pool = candidates(store)
    chances = chances_of(store, rules, day, pool)
    return [
        (card, chances.at_goal(card))
        for card in pool
        if card.begun and phrase_id in {None, card.phrase_id}
    ]


def pace_of(store: Store, preferences: Preferences) -> Pace:
    """Return the player's pace, learnt from the latest attempts."""
    return learn_pace(recent_attempts(store, LEARNT_FROM), preferences.rules)


class PiledUp(NamedTuple):
    """Keys at goal tempo that are due today, and the minutes that they take."""

    keys: int
    minutes: float


def piled_up(
    candidates: Iterable[Candidate], chances: Chances, rules: Rules, pace: Pace
) -> PiledUp:
    """Return what is due today of the keys at goal tempo."""
    due = [card for card in candidates if card.at_goal and chances.is_due(card)]
    seconds = sum(expected_seconds(card.quarters, card.goal, pace, rules) for card in due)
    return PiledUp(len(due), seconds / 60)
