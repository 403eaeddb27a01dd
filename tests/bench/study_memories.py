"""What simulated players remember: five models of spaced practice, each with transfer.

Times are in days from the first session; a session's goes lie seconds apart. ``recall`` is the
chance for a slice of whole phrases, ``chance`` the same for one card, quickly. Cards are
numbered phrase × 12 + place in the order of keys. A card that is forgotten f times as fast as
usual has ages of f times as long, in every model. Strength and transfer set the constants below;
they were fixed before any policy was tried.
"""

from __future__ import annotations

from math import exp, floor, log
from typing import ClassVar

import numpy as np

from tests.bench.study_states import Fsrs, Halflife
from tests.bench.study_traits import ALL, Floats, Traits, gainers

DAY = 86_400.0


class Events:
    """The goes of each item of a kind (all cards, or all phrases): columns that grow."""

    def __init__(self, items: int, columns: int) -> None:
        self.count = [0] * items
        self.rows = [np.zeros((columns, 16)) for _ in range(items)]

    def add(self, item: int, *values: float) -> None:
        """Add a go to an item."""
        count, rows = self.count[item], self.rows[item]
        if count == rows.shape[1]:
            rows = self.rows[item] = np.hstack([rows, np.zeros_like(rows)])
        rows[:, count] = values
        self.count[item] = count + 1

    def of(self, item: int) -> Floats:
        """Return an item's columns."""
        return self.rows[item][:, : self.count[item]]


class Actr:
    """ACT-R's declarative memory with decay that depends on activation (Pavlik & Anderson).

    m = ln Σ t^-d over past goes, d = c e^m + a at the time of each, recall with chance
    1 / (1 + e^((τ - m) / s)); a, c, s and the middling τ as published, time between sessions,
    from the last go of one to the day of the next, scaled by h = .025. Assumed here: siblings' goes
    add their strength times the transfer; a lost go, after which the phrase is heard right once,
    leaves a trace like any other.
    """

    A, C, S, H = 0.17679, 0.21697, 0.25489, 0.025
    TAU: ClassVar = {"strong": -1.6, "middling": -0.70421, "weak": -0.45}
    TRANSFER: ClassVar = {"none": 0.0, "some": 0.03, "much": 0.12}

    def __init__(self, traits: Traits) -> None:
        self.tau, share = self.TAU[traits.strength], self.TRANSFER[traits.transfer]
        self.weight = np.eye(12) * (1 - share) + share
        self.longer = np.log(traits.forgetting).reshape(-1, 12)
        self.goes = Events(traits.phrases, 3)  # time, decay, key
        self.at, self.clock = 0.0, 0.0  # the latest go: its day, and its time in seconds

    def _time(self, days: float) -> float:
        today = floor(days)
        if today <= self.at:
            return self.clock + (days - self.at) * DAY
        return self.clock + ((today - self.at) * self.H + days - today) * DAY

    def _strength(self, phrase: int, key: int | slice, days: float) -> Floats:
        time, decay, played = self.goes.of(phrase)
        age = np.log(np.maximum(self._time(days) - time, 1.0))
        weight = self.weight[key, played.astype(np.intp)]
        longer = self.longer[phrase, key]
        ages = age + (longer[:, None] if isinstance(key, slice) else longer)
        return np.asarray((weight * np.exp(-decay * ages)).sum(axis=-1) + 1e-12)

    def chance(self, card: int, days: float) -> float:
        """Return the chance of recall of one card."""
        m = log(self._strength(*divmod(card, 12), days))
        return 1 / (1 + exp((self.tau - m) / self.S))

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        phrases = range(len(self.goes.count))[_phrases(cards)]
        m = np.log(np.concatenate([self._strength(each, ALL, days) for each in phrases]))
        return np.asarray(1.0 / (1.0 + np.exp((self.tau - m) / self.S)))

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Play a card at a time; ``recalled`` makes no difference here."""
        phrase, key = divmod(card, 12)
        decay = self.C * float(self._strength(phrase, key, days)) + self.A
        self.at, self.clock = days, self._time(days)
        self.goes.add(phrase, self.clock, decay, key)


class Multiscale:
    """The multiscale context model (Mozer, Pashler, Cepeda, Lindsey & Vul 2009).

    Leaky integrators x_i with time constants τ_i = μ ν^i and weights γ_i = ξ^i; the strength
    s_i is the weighted mean of the first i, recall has the chance s_N, and a go adds
    ε (1 - s_i) to x_i, ε being 1 after a miss and 9 after recall, as published. Assumed here:
    24 scales from a quarter of an hour to three years, ξ = .83; strong and weak players forget
    at another pace; the transfer is the share of ε that siblings get.
    """

    SCALES = np.geomspace(0.01, 1000.0, 24)
    GAMMA = 0.83 ** np.arange(24)
    TOTAL = np.cumsum(GAMMA)
    CLOCK: ClassVar = {"strong": 0.05, "middling": 1.0, "weak": 2.5}
    TRANSFER: ClassVar = {"none": 0.0, "some": 0.05, "much": 0.2}

    def __init__(self, traits: Traits) -> None:
        self.share = self.TRANSFER[traits.transfer]
        pace = self.CLOCK[traits.strength] * traits.forgetting
        self.pace = -pace[:, None] / self.SCALES
        self.level = np.zeros((len(pace), len(self.SCALES)))
        self.at = np.zeros((len(pace), 1))

    def _now(self, days: float, cards: slice) -> Floats:
        return np.asarray(self.level[cards] * np.exp((days - self.at[cards]) * self.pace[cards]))

    def chance(self, card: int, days: float) -> float:
        """Return the chance of recall of one card."""
        return float(self.recall(days, slice(card, card + 1))[0])

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        strength = self._now(days, cards) @ self.GAMMA / self.TOTAL[-1]
        return np.asarray(np.clip(strength, 0.0, 1 - 1e-6))

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Play a card at a time, none earlier than the last."""
        cards, rate = gainers(card, self.share)
        level = self._now(days, cards)
        strength = np.cumsum(level * self.GAMMA, axis=1) / self.TOTAL
        gain = (9.0 if recalled else 1.0) * rate[:, None] * np.maximum(0.0, 1.0 - strength)
        self.level[cards] = level + gain
        self.at[cards] = days


class Predictive:
    """The Predictive Performance Equation (Walsh, Gluck, Gunzelmann, Jastrzembski & Krusmark 2018).

    M = N^c T^-d with T = Σ w_i t_i, w_i ~ t_i^-x, d = b + m mean(1 / ln(lag + e)), times in
    seconds; recall with chance 1 / (1 + e^((τ - M) / s)). x = .6 and c = .1 as published;
    b = .04, m = .08, s = .04 and τ assumed. The transfer blends in the same equation over all
    goes at the phrase.
    """

    X, C, B, M, S = 0.6, 0.1, 0.04, 0.08, 0.04
    TAU: ClassVar = {"strong": 0.5, "middling": 0.59, "weak": 0.62}
    TRANSFER: ClassVar = {"none": 0.0, "some": 0.1, "much": 0.3}

    def __init__(self, traits: Traits) -> None:
        self.tau, self.share = self.TAU[traits.strength], self.TRANSFER[traits.transfer]
        self.forgetting = traits.forgetting.tolist()
        self.own = Events(12 * traits.phrases, 2)  # time, running sum of 1 / ln(lag + e)
        self.phrase = Events(traits.phrases, 2)

    def chance(self, card: int, days: float) -> float:
        """Return the chance of recall of one card."""
        longer = self.forgetting[card]
        level = self._level(self._state(self.own, card, days), longer)
        if self.share:
            whole = self._level(self._state(self.phrase, card // 12, days), longer)
            level += self.share * (whole - level)
        return 1 / (1 + exp((self.tau - level) / self.S))

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        wholes = [self._state(self.phrase, each, days)
                  for each in range(len(self.phrase.count))]  # fmt: skip
        found = []
        for card in range(len(self.forgetting))[cards]:
            longer = self.forgetting[card]
            own = self._level(self._state(self.own, card, days), longer)
            whole = self._level(wholes[card // 12], longer)
            found.append(own + self.share * (whole - own))
        return np.asarray(1.0 / (1.0 + np.exp((self.tau - np.array(found)) / self.S)))

    @classmethod
    def _state(cls, events: Events, item: int, days: float) -> tuple[int, float, float]:
        """Return goes, the weighted age of the goes, and their decay."""
        time, lags = events.of(item)
        count = len(time)
        if not count:
            return 0, 1.0, 0.0
        age = np.maximum((days - time) * DAY, 1.0)
        weight = age**-cls.X
        mean = float(weight @ age) / float(weight.sum())
        return count, mean, cls.B + cls.M * float(lags[-1]) / max(1, count - 1)

    @classmethod
    def _level(cls, state: tuple[int, float, float], longer: float) -> float:
        count, age, decay = state
        return float(count**cls.C * max(1.0, age * longer) ** -decay) if count else 0.0

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Play a card at a time; ``recalled`` makes no difference here."""
        for events, item in ((self.own, card), (self.phrase, card // 12)):
            lags = 0.0
            if events.count[item]:
                time, sums = events.of(item)[:, -1]
                lags = sums + 1 / log(max((days - time) * DAY, 1.0) + np.e)
            events.add(item, days, lags)


def _phrases(cards: slice) -> slice:
    return slice((cards.start or 0) // 12, cards.stop and cards.stop // 12)


MEMORIES = {
    "act-r": Actr,
    "multiscale": Multiscale,
    "predictive": Predictive,
    "fsrs": Fsrs,
    "half-life": Halflife,
}
