"""The chances of all cards on one practice day, and what a visit to each is worth."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from math import log
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Pace, Sitting, expected_seconds
from drillbox.memory.cards import within
from drillbox.memory.learning import APART, Learned, chance_of
from drillbox.memory.rules import Rules

# Settled by the study of simulated players; see tests/bench/STUDY.md.
COLD = (0.55, 0.85)  # a day's first go comes out clean with a chance between these: see ``wanted``
LOWEST = 0.6  # though never slower than this share of what was reached
FIRST_RANGE = (0.7, 0.9)  # a new key: from this share of its first tempo to this one of its goal
SURE_ENOUGH = 0.9  # a card at goal tempo with less wants playing before it is due
DONE_WITH = 0.95  # with more, one that is owned and not due may be left alone
AHEAD = 7  # days after which what a visit has changed is looked at
CLIMB = 0.12  # what a day's clean visits add to the logarithm of tempo below the goal
GOES_OF_A_CLIMB = 3  # a day's visits to a key below the goal are reckoned with so many goes
PULL_UP = 2.5  # what is on its way to the goal counts so much more, as it will be owned for long
OPENING = 0.2  # a visit to a new key is worth this, times the square of the chance of those at goal
FADING = 0.2  # a visit's worth reckons with that much forgetting at least: see ``_raised``


class _Known(NamedTuple):
    """What the day's first look at a card said: the log-odds of a clean go at the tempo reached,
    the tempo for a cold go, and the chance at goal."""

    odds: float
    cold: int
    at_goal: float


class Chances:
    """The chances of cards on one practice day, as they stood before it; each computed once.

    Chances and tempos are of a go before any key of its phrase is played that day, where
    ``warmed`` doesn't say that one was: see ``warmed_up``.
    """

    def __init__(
        self, learned: Learned, cards: Iterable[Candidate], today: int, rules: Rules
    ) -> None:
        self.learned, self.today, self.rules = learned, today, rules
        self._known: dict[tuple[int, int], _Known] = {}  # by card and goal: a gig asks for others
        self._warmed: set[int] = set()  # phrases of which a key was played today already
        self._begun: dict[int, Candidate] = {}  # as they stand, whatever a gig asks for
        self._worth: dict[tuple[int, int], float] = {}
        self._played: dict[int, int] = {}  # of a phrase: the latest day before today
        self._reached: dict[int, list[float]] = {}  # of a phrase: what its begun keys reached
        self._at_goal: list[Candidate] = []
        self._ranked: list[int] = []  # cards by number, and their places from the best rate down
        self._order: list[int] = []
        for card in cards:
            if not card.last_day:
                continue
            self._begun[card.card_id] = card
            if card.last_day == today:
                self._warmed.add(card.phrase_id)
            if card.at_goal:
                self._at_goal.append(card)
            self._reached.setdefault(card.phrase_id, []).append(log(card.tempo))
            if self._played.get(card.phrase_id, 0) < card.last_day < today:
                self._played[card.phrase_id] = card.last_day

    def warmed_up(self, sitting: Sitting) -> set[int]:
        """Return the phrases of which a key was played today, in a sitting or before it."""
        return self._warmed | {each.phrase_id for each in sitting.done}

    def at(self, card: Candidate, tempo: int, *, warmed: bool = False) -> float:
        """Return the chance that a cold go today at a tempo comes out clean."""
        return self._at(self._look(card), card, tempo, warmed=warmed)

    def supposing(self, card: Candidate, tempo: int, *, warmed: bool = False) -> float:
        """Return what ``at`` does for a card as it may stand one day."""
        return self._at(self._reckoned(card), card, tempo, warmed=warmed)

    def _at(self, known: _Known, card: Candidate, tempo: int, *, warmed: bool) -> float:
        odds = known.odds + (self.learned.warmed if warmed else 0.0)
        return self.learned.at(odds, card.tempo, tempo)

    def at_goal(self, card: Candidate) -> float:
        """Return the chance that a cold go today at goal tempo comes out clean."""
        return self._look(card).at_goal

    def cold(self, card: Candidate, *, warmed: bool = False) -> int:
        """Return the tempo of the day's first go, at which it is likely to come out clean."""
        known = self._look(card)
        return self._tempo(card, known.odds + self.learned.warmed) if warmed else known.cold

    def is_due(self, card: Candidate) -> bool:
        """Return whether a card that was begun, and not played today, is due.

        One that was played in the future, by a clock that was ahead, is taken as due.
        """
        if not card.begun or card.last_day == self.today:
            return False
        return card.due <= self.today or card.last_day > self.today

    def wants_keeping(self, card: Candidate) -> bool:
        """Return whether a card at goal tempo, not played today, is due or no longer sure."""
        return self.is_due(card) or (
            card.last_day != self.today and self.at_goal(card) < SURE_ENOUGH
        )

    def is_done_with(self, card: Candidate) -> bool:
        """Return whether a card is owned, and clean on today's first go; or, not played today, at
        its goal, not due, and all but sure to come out clean."""
        if not card.owned:
            return False
        if card.last_day == self.today:
            return card.run > 0
        return card.at_goal and not self.is_due(card) and self.at_goal(card) >= DONE_WITH

    @property
    def wanted(self) -> float:
        """Return the chance that a day's first go should have of coming out clean.

        The less practice has brought a player, the slower and surer the first go.
        """
        return min(COLD[1], max(COLD[0], 1 - self.learned.growth))

    @cached_property
    def kept(self) -> float:
        """Return the chance at goal of the cards that had reached it, on average, 0 without any."""
        chances = [self.at_goal(card) for card in self._at_goal]
        return sum(chances) / len(chances) if chances else 0.0

    def worth(self, card: Candidate) -> float:
        """Return by how much a visit raises the chance of a clean cold go at goal ``AHEAD`` days
        later, weighted: see ``PULL_UP`` and, for new keys, ``OPENING``."""
        found = self._worth.get((card.card_id, card.goal))
        if found is None:
            found = self._worth[card.card_id, card.goal] = max(1e-6, self._raised(card))
        return found

    def rate(self, card: Candidate) -> float:
        """Return what a visit is worth for its time, up to a factor (the player's pace)."""
        goes = 1 if card.at_goal else GOES_OF_A_CLIMB
        seconds = expected_seconds(card.quarters, self.cold(card), Pace(), self.rules)
        return self.worth(card) / (goes * seconds)

    def by_rate(self, cards: Sequence[Candidate]) -> Iterator[Candidate]:
        """Yield cards, those first whose visit brought most for its time as the day began.

        Sorted once for the same cards in the same order, however they stand by now.
        """
        numbers = [card.card_id for card in cards]
        if numbers != self._ranked:
            places = range(len(cards))
            self._order = sorted(places, key=lambda at: self.rate(cards[at]), reverse=True)
            self._ranked = numbers
        return map(cards.__getitem__, self._order)

    def _raised(self, card: Candidate) -> float:
        """Return a visit's worth; a new key's is by the chance that it gets to its goal, and stays.

        What was left alone for long was what was sure: the player's own goes tell too little of
        how it fades, so that no less than ``FADING`` is reckoned with.
        """
        if not card.begun:
            return OPENING * self.kept**2
        learned, known = self.learned, self._look(card)
        fading = max(learned.fading, FADING)
        clean = learned.at(known.odds, card.tempo, known.cold)
        far = 10 * learned.steep * log(card.goal / card.tempo)
        climbed = min(far, 10 * learned.steep * CLIMB)
        days = max(1, self.today - card.last_day)
        without = chance_of(known.odds - fading * log((days + AHEAD) / days) - far)
        bare = known.odds + fading * log(days / AHEAD)
        bare -= learned.gained(card.clean, card.missed) + (learned.kept if card.run else 0.0)
        after_clean = bare + learned.gained(card.clean + 1, card.missed) + learned.kept + climbed
        after_miss = bare + learned.gained(card.clean, card.missed + 1)
        gain = clean * chance_of(after_clean - far) + (1 - clean) * chance_of(after_miss - far)
        return (gain - without) * (1.0 if card.at_goal else PULL_UP)

    def _look(self, card: Candidate) -> _Known:
        found = self._known.get((card.card_id, card.goal))
        if found is None:
            found = self._known[card.card_id, card.goal] = self._reckoned(card)
        return found

    def _reckoned(self, card: Candidate) -> _Known:
        ahead = 0.0
        reached = self._reached.get(card.phrase_id)
        if reached and not card.last_day:
            ahead = sum(reached) / len(reached) - log(card.tempo)
        played = self._played.get(card.phrase_id, self.today - APART)
        if card.last_day < self.today:
            played = max(played, card.last_day)  # it may be supposed to have been played since
        apart = self.today - played
        odds = self.learned.odds(card, self.today, apart, ahead)
        own = self._begun.get(card.card_id, card)
        if own.goal != card.goal:  # a gig's tempo isn't all that was reached
            odds += 10 * self.learned.steep * log(own.tempo / card.tempo)
        at_goal = self.learned.at(odds, card.tempo, card.goal)
        return _Known(odds, self._tempo(card, odds), at_goal)

    def _tempo(self, card: Candidate, odds: float) -> int:
        """Return the tempo for a cold go, given the log-odds at the tempo reached."""
        found = odds if card.begun else odds + self.learned.unfound
        wanted = self.learned.tempo_for(found, card.tempo, self.wanted)
        low, high = LOWEST * card.tempo, float(card.tempo)
        if not card.begun:
            low = FIRST_RANGE[0] * card.tempo
            high = max(high, FIRST_RANGE[1] * card.goal)
        return within(int(min(high, max(low, wanted)) + 0.5), card.goal, self.rules.tempo)
