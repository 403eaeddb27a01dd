"""What simulated players can play: three models of motor learning that differ in structure.

``capacity`` is the tempo at which half of the recalled goes come out clean, in quarter notes a
minute, for a slice of whole phrases; ``reach`` the same for one card, quickly. ``practise`` takes
a go's true outcome, 1 lost to 4 fluent. A go at tempo v is clean, if recalled, with the chance
logistic(K ln(capacity / v)); K is fixed for each model. Constants are assumed, and were fixed
before any policy was tried; the sources are for the shape of each.
"""

from __future__ import annotations

from math import exp, floor, log
from typing import ClassVar

import numpy as np

from tests.bench.study_traits import ALL, Floats, Traits, gainers


class Bounded:
    """What a motor part with a ceiling starts from, in natural logarithms of tempo: capacity at
    first, and the most that can be gained."""

    TRANSFER: ClassVar = {"none": 0.0, "some": 0.06, "much": 0.2}

    def __init__(self, traits: Traits) -> None:
        self.share = self.TRANSFER[traits.transfer]
        self.start, self.rate = np.log(traits.start), traits.rate
        self.most = np.maximum(0.1, np.log(traits.ceiling) - self.start)


class Edge(Bounded):
    """Learning is best near the edge of what one can play (Guadagnoli & Lee 2004).

    A go adds G · room to the log of capacity at the edge itself, a bell's share of that (width
    .15 in log tempo) away from it, .05 of it at least; not clean .6 of it, lost .3. Half of what
    is gained fades within some 12 days, the other within some 300 (two processes: Smith and
    others 2006). Siblings get the transfer's share.
    """

    K = 10.0
    GAIN, WIDTH, LEAST, FAST, SLOW = 0.085, 0.15, 0.05, 12.0, 300.0
    OUTCOME = (0.0, 0.3, 0.6, 1.0, 1.0)

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.fast, self.slow = np.zeros(len(self.start)), np.zeros(len(self.start))
        self.at = np.zeros(len(self.start))

    def _log(self, days: float, cards: slice | int) -> Floats:
        gone = self.at[cards] - days
        fast = self.fast[cards] * np.exp(gone / self.FAST)
        return np.asarray(self.start[cards] + fast + self.slow[cards] * np.exp(gone / self.SLOW))

    def reach(self, card: int, days: float) -> float:
        """Return the capacity of one card."""
        return exp(float(self._log(days, card)))

    def capacity(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' capacities at a time."""
        return np.asarray(np.exp(self._log(days, cards)))

    def practise(self, card: int, days: float, tempo: float, outcome: int) -> None:
        """Play a card at a time, none earlier than the last."""
        cards, share = gainers(card, self.share)
        gone = self.at[cards] - days
        fast = self.fast[cards] * np.exp(gone / self.FAST)
        slow = self.slow[cards] * np.exp(gone / self.SLOW)
        over = log(tempo) - float(self._log(days, card))
        near = max(self.LEAST, exp(-0.5 * (over / self.WIDTH) ** 2))
        room = np.maximum(0.0, 1 - (fast + slow) / self.most[cards])
        gain = self.GAIN * near * self.OUTCOME[outcome] * share * self.rate[cards] * room
        self.fast[cards], self.slow[cards] = fast + gain / 2, slow + gain / 2
        self.at[cards] = days


class Power:
    """Any repetition counts, and each fades by a power law (Anderson, Fincham & Douglass 1999).

    Capacity is start · (1 + Σ n t^-d)^(b · rate), t being the age in days of each day's n goes,
    a half on the day itself; a lost go counts half. There is no ceiling, nor does tempo matter.
    Siblings' goes count the transfer's share.
    """

    K = 14.0
    D, B = 0.3, 0.23
    TRANSFER: ClassVar = {"none": 0.0, "some": 0.04, "much": 0.15}

    def __init__(self, traits: Traits) -> None:
        self.share = self.TRANSFER[traits.transfer]
        self.start, self.power = traits.start, self.B * traits.rate
        self.goes = np.zeros((len(self.start), 400))
        self.whole = np.zeros((traits.phrases, 400))

    def _weights(self, days: float) -> Floats:
        today = floor(days)
        age = np.maximum(0.5, today - np.arange(min(today + 1, 400)))
        return np.asarray(age**-self.D)

    def reach(self, card: int, days: float) -> float:
        """Return the capacity of one card."""
        return float(self.capacity(days, slice(card, card + 1))[0])

    def capacity(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' capacities at a time."""
        weights = self._weights(days)
        strength = self.goes[cards, : len(weights)] @ weights
        if self.share:
            which = np.arange(len(self.start))[cards] // 12
            first = int(which[0])
            whole = self.whole[first : int(which[-1]) + 1, : len(weights)] @ weights
            strength = strength + self.share * (whole[which - first] - strength)
        return np.asarray(self.start[cards] * (1 + strength) ** self.power[cards])

    def practise(self, card: int, days: float, tempo: float, outcome: int) -> None:
        """Play a card at a time; ``tempo`` makes no difference here."""
        counts = 0.5 if outcome == 1 else 1.0
        self.goes[card, floor(days)] += counts
        self.whole[card // 12, floor(days)] += counts


class Overnight(Bounded):
    """Gains come in the night from the day's clean goes (Simmons 2012; consolidation).

    A clean go earns its day the credit e^-(ln(capacity / tempo) / .3)², at most 1; one that isn't
    clean at 8 % over capacity or more teaches errors. In the night the log of capacity rises by
    G (1 - e^(-credit / 1.5)) · room and falls by .006 for each go of errors; within the day
    nothing moves, and errors unlearn no more than .2 of what was there at first. Without practice
    .3 of all gained fades within some 30 days. Siblings get the transfer's share of a night's
    gain.
    """

    K = 12.0
    GAIN, ENOUGH, FAR, ERROR, OVER, FADES, WITHIN = 0.18, 1.5, 0.3, 0.006, 0.08, 0.3, 30.0
    LEAST = -0.2

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.fading = traits.forgetting / self.WITHIN
        self.skill, self.at = np.zeros(len(self.start)), np.zeros(len(self.start))
        self.today = 0
        self.credit: dict[int, float] = {}
        self.errors: dict[int, int] = {}

    def _skill(self, day: int, cards: slice | int) -> Floats:
        left = np.exp((self.at[cards] - day) * self.fading[cards])
        return np.asarray(self.skill[cards] * (1 - self.FADES + self.FADES * left))

    def _night(self, day: int) -> None:
        """Let the night after the latest day of practice pass, if it has."""
        if day <= self.today:
            return
        for card in self.credit:
            cards, share = gainers(card, self.share)
            skill = self._skill(self.today, cards)
            gain = self.GAIN * (1 - exp(-self.credit[card] / self.ENOUGH)) * self.rate[cards]
            gain = share * gain * np.maximum(0.0, 1 - skill / self.most[cards])
            gain[card - cards.start] -= self.ERROR * self.errors.get(card, 0)
            self.skill[cards] = np.maximum(self.LEAST, skill + gain)
            self.at[cards] = self.today
        self.credit, self.errors = {}, {}

    def reach(self, card: int, days: float) -> float:
        """Return the capacity of one card."""
        self._night(floor(days))
        return exp(float(self.start[card] + self._skill(floor(days), card)))

    def capacity(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' capacities at a time."""
        self._night(floor(days))
        return np.asarray(np.exp(self.start[cards] + self._skill(floor(days), cards)))

    def practise(self, card: int, days: float, tempo: float, outcome: int) -> None:
        """Play a card at a time, none earlier than the last."""
        self._night(floor(days))
        self.today = floor(days)
        under = log(self.reach(card, days) / tempo)
        earned = 0.0
        if outcome >= 3:
            earned = exp(-((under / self.FAR) ** 2)) if under > 0 else 1.0
        elif -under > self.OVER:
            self.errors[card] = self.errors.get(card, 0) + 1
        self.credit[card] = self.credit.get(card, 0.0) + earned


MOTORS = {"edge": Edge, "power": Power, "overnight": Overnight}
