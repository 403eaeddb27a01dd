"""Simulated players whose memory isn't FSRS: three published models of spaced practice.

Times are in days from the first session; a session's attempts lie seconds apart. Every model
holds one memory per card, and ``transfer`` says how much an attempt in one key practises the
other keys of its phrase. Cards are numbered phrase × 12 + place in the order of keys.
"""

from __future__ import annotations

from typing import ClassVar, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DAY = 86_400.0


class Cell(NamedTuple):
    """One cell of the study: which memory, how much transfer between keys, how many phrases."""

    truth: str
    transfer: str
    phrases: int


class Actr:
    """ACT-R's declarative memory with decay that depends on activation (Pavlik & Anderson).

    m = ln Σ t^-d over past attempts, d = c e^m + a at the time of each, recall with chance
    1 / (1 + e^((τ - m) / s)); a, c, s, τ as published, time between sessions scaled by
    h = .025. Assumed here: siblings' attempts add their strength times ``transfer``; a lost
    attempt, after which the phrase is heard right once, leaves a trace like any other.
    """

    A, C, S, TAU, H = 0.17679, 0.21697, 0.25489, -0.70421, 0.025
    TRANSFER: ClassVar[dict[str, float]] = {"none": 0.0, "little": 0.03, "much": 0.12}

    def __init__(self, cell: Cell, hard: Floats) -> None:
        self.share = self.TRANSFER[cell.transfer]
        self.hard = hard
        self.count = np.zeros(len(hard), dtype=np.int64)
        self.when = np.full((len(hard), 16), -1e12)
        self.decay = np.full((len(hard), 16), 9.0)

    def _strength(self, now: float) -> Floats:
        width = max(1, int(self.count.max()))
        age = np.maximum(now - self.when[:, :width], 1.0)
        own = np.exp(-self.decay[:, :width] * np.log(age)).sum(axis=1)
        together = own.reshape(-1, 12).sum(axis=1).repeat(12)
        return np.asarray(own + self.share * (together - own) + 1e-12)

    @classmethod
    def _time(cls, days: Floats | float) -> Floats | float:
        whole = np.floor(days)
        return whole * DAY * cls.H + (days - whole) * DAY

    def recall(self, days: float) -> Floats:
        """Return every card's chance of recall at a time."""
        m = np.log(self._strength(float(self._time(days))))
        return 1.0 / (1.0 + np.exp((self.TAU - m) / self.S + self.hard))

    def learn(self, cards: Ints, days: Floats, recalled: NDArray[np.bool_]) -> None:
        """Attempt distinct cards at these times; ``recalled`` makes no difference here."""
        if self.count[cards].max() >= self.when.shape[1]:
            wider = np.full_like(self.when, -1e12)
            self.when = np.hstack([self.when, wider])
            self.decay = np.hstack([self.decay, np.full_like(wider, 9.0)])
        times = self._time(days)
        strength = self._strength(float(np.mean(times)))[cards]
        self.when[cards, self.count[cards]] = times
        self.decay[cards, self.count[cards]] = self.C * strength + self.A
        self.count[cards] += 1


class Multiscale:
    """The multiscale context model (Mozer, Pashler, Cepeda, Lindsey & Vul 2009).

    Leaky integrators x_i with time constants τ_i = μ ν^i and weights γ_i = ξ^i; the strength
    s_i is the weighted mean of the first i, recall has the chance s_N, and an attempt adds
    ε (1 - s_i) to x_i, ε being 1 after a miss and 9 after recall, as published. Assumed here:
    24 scales from a quarter of an hour to three years, ξ = .83 such that a single attempt
    is recalled with chance .14 a day later, .06 a week and .03 a month later; ``transfer`` is
    the share of ε that siblings get.
    """

    SCALES = np.geomspace(0.01, 1000.0, 24)
    XI = 0.83
    TRANSFER: ClassVar[dict[str, float]] = {"none": 0.0, "little": 0.05, "much": 0.2}

    def __init__(self, cell: Cell, hard: Floats) -> None:
        self.share = self.TRANSFER[cell.transfer]
        self.hard = hard
        self.gamma = self.XI ** np.arange(len(self.SCALES))
        self.total = np.cumsum(self.gamma)
        self.level = np.zeros((len(hard), len(self.SCALES)))
        self.at = 0.0

    def _decay(self, days: float) -> None:
        if days > self.at:
            self.level *= np.exp(-(days - self.at) / self.SCALES)
            self.at = days

    def recall(self, days: float) -> Floats:
        """Return every card's chance of recall at a time, none earlier than the last."""
        self._decay(days)
        strength = np.clip(self.level @ self.gamma / self.total[-1], 1e-9, 1 - 1e-6)
        odds = strength / (1 - strength) * np.exp(-self.hard)
        return np.asarray(odds / (1 + odds))

    def learn(self, cards: Ints, days: Floats, recalled: NDArray[np.bool_]) -> None:
        """Attempt distinct cards at these times."""
        self._decay(float(days[-1]))
        rate = np.zeros(len(self.hard))
        rate[cards] = np.where(recalled, 9.0, 1.0)
        if self.share:
            together = rate.reshape(-1, 12).sum(axis=1).repeat(12)
            rate += self.share * (together - rate)
        strength = np.cumsum(self.level * self.gamma, axis=1) / self.total
        self.level += rate[:, None] * np.maximum(0.0, 1.0 - strength)


class Predictive:
    """The Predictive Performance Equation (Walsh, Gluck, Gunzelmann, Jastrzembski & Krusmark 2018).

    M = N^c T^-d with T = Σ w_i t_i, w_i ~ t_i^-x, d = b + m mean(1 / ln(lag + e)), times in
    seconds; recall with chance 1 / (1 + e^((τ - M) / s)). x = .6 and c = .1 as published;
    b = .04, m = .08, τ = .63, s = .04 assumed, so that one attempt is recalled with chance .52
    a day later and .12 a month later. ``transfer`` blends in the same equation over
    all attempts at the phrase.
    """

    X, C, B, M, TAU, S = 0.6, 0.1, 0.04, 0.08, 0.63, 0.04
    TRANSFER: ClassVar[dict[str, float]] = {"none": 0.0, "little": 0.1, "much": 0.3}

    def __init__(self, cell: Cell, hard: Floats) -> None:
        self.share = self.TRANSFER[cell.transfer]
        self.hard = hard
        self.own = Events(len(hard))
        self.phrase = Events(cell.phrases)

    def recall(self, days: float) -> Floats:
        """Return every card's chance of recall at a time."""
        level = self._level(self.own, days)
        if self.share:
            of_phrase = self._level(self.phrase, days).repeat(12)
            level = (1 - self.share) * level + self.share * of_phrase
        return 1.0 / (1.0 + np.exp((self.TAU - level) / self.S + self.hard))

    def _level(self, events: Events, days: float) -> Floats:
        width = max(1, int(events.count.max()))
        age = np.maximum((days - events.when[:, :width]) * DAY, 1.0)
        there = np.arange(width) < events.count[:, None]
        weight = np.where(there, age**-self.X, 0.0)
        mean = (weight * age).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30)
        decay = self.B + self.M * events.lags / np.maximum(1, events.count - 1)
        level = events.count**self.C * np.maximum(mean, 1.0) ** -decay
        return np.where(events.count > 0, level, 0.0)

    def learn(self, cards: Ints, days: Floats, recalled: NDArray[np.bool_]) -> None:
        """Attempt distinct cards at these times; ``recalled`` makes no difference here."""
        self.own.add(cards, days)
        if self.share:
            for card, day in zip(cards, days, strict=True):
                self.phrase.add(np.array([card // 12]), np.array([day]))


class Events:
    """Times of attempts, item by item, with the running sum of 1 / ln(lag + e)."""

    def __init__(self, items: int) -> None:
        self.count = np.zeros(items, dtype=np.int64)
        self.when = np.full((items, 16), -1e6)
        self.lags = np.zeros(items)

    def add(self, items: Ints, days: Floats) -> None:
        """Add one attempt to each of these distinct items."""
        count = self.count[items]
        if count.max() >= self.when.shape[1]:
            self.when = np.hstack([self.when, np.full_like(self.when, -1e6)])
        before = self.when[items, np.maximum(count - 1, 0)]
        lag = np.maximum((days - before) * DAY, 1.0)
        self.lags[items] += np.where(count > 0, 1.0 / np.log(lag + np.e), 0.0)
        self.when[items, count] = days
        self.count[items] += 1


TRUTHS = {"act-r": Actr, "multiscale": Multiscale, "predictive": Predictive}
