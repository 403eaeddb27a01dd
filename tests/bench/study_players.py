"""Simulated players whose memory isn't FSRS: three published models of spaced practice.

Times are in days from the first session; a session's attempts lie seconds apart. Every model
holds one memory per card, and ``transfer`` says how much an attempt in one key practises the
other keys of its phrase. Cards are numbered phrase × 12 + place in the order of keys; ``cards``
in the methods is a slice of whole phrases.
"""

from __future__ import annotations

from math import floor
from typing import ClassVar, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DAY = 86_400.0
ALL = slice(None)


class Cell(NamedTuple):
    """One cell of the study: which memory, how much transfer between keys, how many phrases."""

    truth: str
    transfer: str
    phrases: int


def siblings(card: int) -> slice:
    """Return the cards of a card's phrase."""
    return slice(card // 12 * 12, card // 12 * 12 + 12)


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

    def _strength(self, now: float, cards: slice) -> Floats:
        width = max(1, int(self.count[cards].max()))
        age = np.maximum(now - self.when[cards, :width], 1.0)
        own = np.exp(-self.decay[cards, :width] * np.log(age)).sum(axis=1)
        together = own.reshape(-1, 12).sum(axis=1).repeat(12)
        return np.asarray(own + self.share * (together - own) + 1e-12)

    @classmethod
    def _time(cls, days: float) -> float:
        whole = floor(days)
        return whole * DAY * cls.H + (days - whole) * DAY

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        m = np.log(self._strength(self._time(days), cards))
        return 1.0 / (1.0 + np.exp((self.TAU - m) / self.S + self.hard[cards]))

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Attempt a card at a time; ``recalled`` makes no difference here."""
        if self.count[card] >= self.when.shape[1]:
            wider = np.full_like(self.when, -1e12)
            self.when = np.hstack([self.when, wider])
            self.decay = np.hstack([self.decay, np.full_like(wider, 9.0)])
        time = self._time(days)
        strength = self._strength(time, siblings(card))[card % 12]
        self.when[card, self.count[card]] = time
        self.decay[card, self.count[card]] = self.C * strength + self.A
        self.count[card] += 1


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

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time, none earlier than the last."""
        self._decay(days)
        strength = np.clip(self.level[cards] @ self.gamma / self.total[-1], 1e-9, 1 - 1e-6)
        odds = strength / (1 - strength) * np.exp(-self.hard[cards])
        return np.asarray(odds / (1 + odds))

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Attempt a card at a time, none earlier than the last."""
        self._decay(days)
        phrase = siblings(card)
        rate = np.full(12, self.share)
        rate[card % 12] = 1.0
        strength = np.cumsum(self.level[phrase] * self.gamma, axis=1) / self.total
        gain = (9.0 if recalled else 1.0) * rate[:, None] * np.maximum(0.0, 1.0 - strength)
        self.level[phrase] += gain


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

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        level = self._level(self.own, days, cards)
        if self.share:
            phrases = slice((cards.start or 0) // 12, cards.stop and cards.stop // 12)
            of_phrase = self._level(self.phrase, days, phrases).repeat(12)
            level = (1 - self.share) * level + self.share * of_phrase
        return 1.0 / (1.0 + np.exp((self.TAU - level) / self.S + self.hard[cards]))

    def _level(self, events: Events, days: float, items: slice) -> Floats:
        count = events.count[items]
        width = max(1, int(count.max()))
        age = np.maximum((days - events.when[items, :width]) * DAY, 1.0)
        there = np.arange(width) < count[:, None]
        weight = np.where(there, age**-self.X, 0.0)
        mean = (weight * age).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-30)
        decay = self.B + self.M * events.lags[items] / np.maximum(1, count - 1)
        level = count**self.C * np.maximum(mean, 1.0) ** -decay
        return np.where(count > 0, level, 0.0)

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Attempt a card at a time; ``recalled`` makes no difference here."""
        self.own.add(card, days)
        if self.share:
            self.phrase.add(card // 12, days)


class Events:
    """Times of attempts, item by item, with the running sum of 1 / ln(lag + e)."""

    def __init__(self, items: int) -> None:
        self.count = np.zeros(items, dtype=np.int64)
        self.when = np.full((items, 16), -1e6)
        self.lags = np.zeros(items)

    def add(self, item: int, days: float) -> None:
        """Add an attempt at an item."""
        count = self.count[item]
        if count >= self.when.shape[1]:
            self.when = np.hstack([self.when, np.full_like(self.when, -1e6)])
        if count:
            lag = max((days - self.when[item, count - 1]) * DAY, 1.0)
            self.lags[item] += 1.0 / np.log(lag + np.e)
        self.when[item, count] = days
        self.count[item] += 1


TRUTHS = {"act-r": Actr, "multiscale": Multiscale, "predictive": Predictive}
