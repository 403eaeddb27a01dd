"""One simulated player's days: what a go costs, how it is rated, what is owned in the end.

A go takes ten seconds to look, count in and rate, and two rounds of its chart at its tempo; a
lost one half as long again. It is begun while half of the time that it needs is left. Each go
leaves its mark before the next begins.

A card is owned when a cold first go at goal tempo comes out clean with a chance of .8 today, and
of .6 were it left alone for 28 days. Scores are taken before a day's practice, every third day
(of a year every sixth).
"""

from __future__ import annotations

from math import inf
from random import Random
from statistics import mean
from typing import NamedTuple, Protocol

import numpy as np

from tests.bench.study_players import BREAK, BREAK_DAYS, LIVES, Cell, Floats, Player

DAY = 86_400.0
LOOPS, OVERHEAD, LOST = 2, 10.0, 1.5
OWNED, LATER, KEPT = 0.8, 28, 0.6
PROBES, PROBED_FROM = 6, 30  # cards a day whose prediction is looked at, and since when


class Score(NamedTuple):
    """True chances that a cold first go at goal tempo is clean, over all cards that are there.

    ``mean`` over the last half, ``final`` on the last day, ``back`` on the day after the break;
    ``half`` and ``most`` are the days until half and .8 of all cards are owned (inf: never),
    ``worst`` the mean of the worst tenth of cards over the last half, ``recall`` that at any
    tempo, ``used`` the share of the minutes asked for. ``shown`` and ``asked`` are
    (predicted, true) pairs: cold at goal tempo, and just before a card's first go of a day.
    """

    mean: float
    final: float
    back: float
    half: float
    most: float
    worst: float
    recall: float
    used: float
    shown: list[tuple[float, float]]
    asked: list[tuple[float, float]]


class Policy(Protocol):
    """What to play: called once a day, plays by ``run.go`` until the time is over."""

    def day(self, run: Run) -> None:
        """Practise one day."""

    def predicted(self, run: Run) -> Floats | None:
        """Return, at the start of a day, each card's chance of a clean cold go at goal tempo."""

    def predicted_at(self, run: Run, card: int, tempo: float) -> float | None:
        """Return the chance that a card's first go of the day, the next, is clean."""


class Run:
    """A player, their phrases, and one practice day after the other.

    ``cards`` are those of the whole life, the ones of the first ``present`` phrases are there
    today; ``left`` are the day's seconds, ``over`` says that no go was begun for want of time.
    """

    def __init__(self, cell: Cell, seed: int, policy: Policy) -> None:
        self.cell, self.seed, self.policy = cell, seed, policy
        self.life = LIVES[cell.life]
        self.player = Player(cell, seed)
        self.cards = 12 * self.life.phrases
        self.quarters: list[float] = self.player.traits.quarters.tolist()
        self.goal: list[float] = self.player.goal.tolist()
        self.random = Random(f"{seed} {cell}")
        self.last = [-1] * self.cards
        self.asked: list[tuple[float, float]] = []
        self.used = 0.0
        self.begin(0)

    def begin(self, today: int) -> None:
        """Begin a day."""
        self.today, self.present = today, self.life.present(today)
        self.left, self.over = self.life.minutes * 60.0, False

    def seconds(self, card: int, tempo: float) -> float:
        """Return how long a go takes that isn't lost."""
        return OVERHEAD + LOOPS * self.quarters[card] * 60.0 / tempo

    def go(self, card: int, tempo: float) -> int:
        """Play a card and return the player's word, 1 lost to 4 fluent; 0 if time is over."""
        if not 0 <= card < 12 * self.present or tempo <= 0:
            raise ValueError(f"card {card} at {tempo} can't be played today")
        cost = self.seconds(card, tempo)
        if self.over or self.left < cost / 2:
            self.over = True
            return 0
        now = self.today + (self.life.minutes * 60.0 - self.left) / DAY
        if self.last[card] < self.today:
            self._ask(card, now, tempo)
            self.last[card] = self.today
        outcome = self.player.go(card, now, tempo, self.random)
        cost *= LOST if outcome == 1 else 1.0
        self.left -= cost
        self.used += cost
        return self.player.word(outcome, self.random)

    def _ask(self, card: int, now: float, tempo: float) -> None:
        """Put down what the policy expects of a card's first go of the day."""
        if self.today >= PROBED_FROM:
            said = self.policy.predicted_at(self, card, tempo)
            if said is not None:
                self.asked.append((float(said), self.player.chance(card, now, tempo)))


class Daily:
    """What is put down before each day's practice."""

    def __init__(self, run: Run) -> None:
        days, self.run = run.life.days, run
        self.every = 3 if days <= 180 else 6
        self.chances: list[Floats] = []
        self.recalls: list[float] = []
        self.shown: list[tuple[float, float]] = []
        self.half = self.most = inf
        self.back = 0.0
        self.probing = Random(f"{run.seed} probes")

    def look(self) -> None:
        """Take today's scores."""
        run, today = self.run, self.run.today
        if today % self.every and today not in {BREAK + BREAK_DAYS, run.life.days - 1}:
            return
        recall, chance = run.player.chances(float(today), slice(0, 12 * run.present))
        if today >= run.life.days / 2:
            self.chances.append(chance)
            self.recalls.append(float(recall.mean()))
        if today == BREAK + BREAK_DAYS:
            self.back = float(chance.mean())
        if today >= PROBED_FROM:
            self._probe(chance)
        if self.most == inf:
            kept = run.player.chances(float(today + LATER), slice(0, 12 * run.present))[1]
            share = float(((chance >= OWNED) & (kept >= KEPT)).sum()) / run.cards
            self.half = min(self.half, today if share >= 0.5 else inf)
            self.most = today if share >= 0.8 else inf

    def _probe(self, chance: Floats) -> None:
        said = self.run.policy.predicted(self.run)
        if said is not None:
            for card in self.probing.sample(range(len(chance)), min(PROBES, len(chance))):
                self.shown.append((float(said[card]), float(chance[card])))

    def score(self, used: float) -> Score:
        """Return what it all comes to."""
        total, days = np.zeros(self.run.cards), np.zeros(self.run.cards)
        for chance in self.chances:
            total[: len(chance)] += chance
            days[: len(chance)] += 1
        each = np.sort((total / np.maximum(1, days))[days > 0])
        return Score(
            mean(float(chance.mean()) for chance in self.chances),
            float(self.chances[-1].mean()),
            self.back,
            self.half,
            self.most,
            float(each[: max(1, len(each) // 10)].mean()),
            mean(self.recalls),
            used,
            self.shown,
            self.run.asked,
        )


def simulate(cell: Cell, seed: int, policy: Policy) -> Score:
    """Live through a life, and return how much is owned."""
    run = Run(cell, seed, policy)
    daily, asked = Daily(run), 0.0
    for today in range(run.life.days):
        run.begin(today)
        daily.look()
        if run.life.practised(today):
            asked += run.left
            policy.day(run)
    return daily.score(run.used / asked)
