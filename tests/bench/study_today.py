"""The policy before tempo was part of its aim, frozen as a baseline (release of November 2026).

Its choosing, its fit, its ladder and the tempo that it showed after a gap, over arrays. Left
out is what changes nothing here (undo, skips, rounds, hints, the pace, which is 1), and due days
aren't spread, which moved them by a tenth of an interval at most.
"""

from __future__ import annotations

from collections import Counter, deque
from math import ceil

import numpy as np

from tests.bench import study_fsrs
from tests.bench.study_players import Floats, Ints
from tests.bench.study_runs import Run

LATEST, LOST_SHARE, APART, FEWEST = 1500, 0.1, 30, 20
PRIOR, PULL, EFFECT_PULL = np.array([-1.0, 1.3, 0.5, 0.0, -0.6, 0.3]), 3.0, 2.0
HORIZON, TIME_POWER, LEAST = 3, 0.7, 1e-6
FRESH, NEW_A_DAY, PHRASE_SHARE, BREAK_DAYS = 0.98, 24, 0.5, 7
START, RUNG, FLOOR, BREAK_BELOW, BREAK_STEP = 0.6, 0.05, 40, 0.8, 0.1
_NEVER = -(10**6)


def chance(odds: Floats) -> Floats:
    """Return the chances of these log-odds."""
    return np.asarray(1 / (1 + np.exp(-odds)))


class Fit:
    """Odds = base + growth ln(1 + n) - fading ln(days) - together ln(apart) + first + kept, and
    a term of each phrase and each key, by logistic regression with Normal priors."""

    def __init__(self, phrases: int) -> None:
        self.pull = np.r_[np.full(6, PULL), np.full(12 + phrases, EFFECT_PULL)]
        self.prior = np.r_[PRIOR, np.zeros(12 + phrases)]
        self.weights = self.prior.copy()

    def learn(self, rows: list[tuple[Ints, Floats, bool]]) -> None:
        """Find the mode by Newton's steps from the last one."""
        if len(rows) < FEWEST:
            return
        design = np.zeros((len(rows), len(self.prior)))
        design[:, :6] = [values for _, values, _ in rows]
        design[np.arange(len(rows))[:, None], [columns for columns, _, _ in rows]] = 1.0
        good = np.array([recalled for *_, recalled in rows], dtype=float)
        for _ in range(12):
            said = chance(design @ self.weights)
            slope = design.T @ (good - said) - self.pull * (self.weights - self.prior)
            bent = design.T @ (design * (said * (1 - said))[:, None]) + np.diag(self.pull)
            step = np.linalg.solve(bent, slope)
            self.weights = self.weights + np.clip(step, -2, 2)
            if np.abs(step).max() < 1e-4:
                break

    def odds(self, cards: Ints, values: list[Floats]) -> Floats:
        """Return the log-odds of cards; ``values`` go with the first six weights."""
        own = self.weights[:6].copy()
        own[1], own[2] = max(0.3, own[1]), max(0.1, own[2])
        effects = self.weights[6 + cards % 12] + self.weights[18 + cards // 12]
        return np.asarray(sum(w * v for w, v in zip(own, values, strict=True)) + effects)


class Today:
    """What came, card after card, until nothing was due and all was surely remembered."""

    def __init__(self) -> None:
        self.cards = 0

    def predicted(self, run: Run) -> Floats | None:
        """Return the retrievability that was shown."""
        return np.array([self._retrievability(run, card) if card in self.state else 0.0
                         for card in range(run.cards)]) if self.cards else None  # fmt: skip

    def predicted_at(self, run: Run, card: int, tempo: float) -> float | None:
        """Return the same; the tempo made no difference."""
        return self._retrievability(run, card) if card in self.state else None

    def _retrievability(self, run: Run, card: int) -> float:
        return study_fsrs.retrievability(self.state[card][0], run.today - int(self.last[card]))

    def _begin(self, run: Run) -> None:
        cards = self.cards = run.cards
        self.state: dict[int, tuple[float, float]] = {}
        self.last, self.due = np.full(cards, _NEVER), np.zeros(cards, dtype=np.int64)
        self.recalled, self.lost, self.kept = np.zeros(cards), np.zeros(cards), np.zeros(cards)
        self.goal = np.array(run.goal)
        self.tempo = np.maximum(FLOOR, np.floor(self.goal * START + 0.5))
        self.clean = np.zeros(cards, dtype=np.int64)
        self.quarters = np.array(run.quarters)
        self.rows: deque[tuple[Ints, Floats, bool]] = deque(maxlen=LATEST)
        self.fit = Fit(cards // 12)
        self.latest = dict.fromkeys(range(cards // 12), (_NEVER, -1, _NEVER))
        self.back, self.away, self.practised = _NEVER, 0, 0

    def day(self, run: Run) -> None:
        """Drill one session."""
        if not self.cards:
            self._begin(run)
        if run.today - self.practised > BREAK_DAYS:
            self.back, self.away = run.today, run.today - self.practised - 1
        self.practised = run.today
        self.fit.learn(list(self.rows))
        self.done: list[int] = []
        self.new: list[int] = []
        worth = self._worths(run, np.arange(12 * run.present))
        while True:
            card = self._next(run, worth)
            if card is None or run.left * 2 < self._seconds(card):
                return
            if not self._play(run, card):
                return
            cards = np.arange(12) + card // 12 * 12
            worth[cards] = self._worths(run, cards)

    def _seconds(self, cards: Ints | int) -> Floats:
        return np.asarray(2 * self.quarters[cards] * 60 / self.tempo[cards] + 10)

    def _apart(self, card: int, today: int) -> int:
        day, by, other = self.latest[card // 12]
        return min(APART, max(1, today - (other if by == card else day)))

    def _worths(self, run: Run, cards: Ints) -> Floats:
        """Return what a go at each card is worth, 0 for those that may not come."""
        today, opened = run.today, self.last[cards] >= 0
        days = np.where(opened, np.maximum(1, today - self.last[cards]), 1)
        near = np.array([self._apart(int(card), today) for card in cards])
        done = self.recalled[cards] + LOST_SHARE * self.lost[cards]
        kept, one, none = self.kept[cards], np.ones(len(cards)), np.zeros(len(cards))

        def odds(practice: Floats, gone: Floats, apart: Floats, held: Floats) -> Floats:
            values = [one, np.log1p(practice), -np.log(gone), -np.log(apart), none, held]
            return chance(self.fit.odds(cards, values))

        first = chance(self.fit.odds(cards, [one, none, none, -np.log(near), one, none]))
        now = np.where(opened, odds(done, days, near, kept), first)
        later = np.minimum(APART, near + HORIZON)
        alone = np.where(opened, odds(done, days + HORIZON, later, kept), first)
        good = odds(done + 1, HORIZON * one, later, one)
        bad = odds(done + LOST_SHARE, HORIZON * one, later, none)
        gain = np.maximum(LEAST, now * good + (1 - now) * bad - alone)
        worth = gain / (self._seconds(cards) * (2 - now)) ** TIME_POWER
        sure = opened & (now > FRESH) & (self.due[cards] > today)
        return np.where(sure | (self.last[cards] == today), 0.0, worth)

    def _next(self, run: Run, worths: Floats) -> int | None:
        """Return the card of most worth, of another phrase than the last if there is one."""
        newest = None
        if self.new and self.done.count(self.new[-1]) == 1 and self.done[-1] != self.new[-1]:
            newest = self.new[-1]
            if run.left < 1.5 * self._seconds(newest):
                return newest
        times = Counter(card // 12 for card in set(self.done))
        worth = worths.copy()
        for phrase, count in times.items():
            worth[12 * phrase : 12 * phrase + 12] *= PHRASE_SHARE**count
        if self._shut(run):
            worth[self.last[: len(worth)] < 0] = 0.0
        last = self.done[-1] if self.done else None
        if last is not None:
            others = worth.copy()
            others[last // 12 * 12 : last // 12 * 12 + 12] = 0.0
            if others.any():
                worth = others
            else:
                beside = [card for card in np.flatnonzero(worth).tolist()
                          if (card - last) % 12 not in {1, 11}]  # fmt: skip
                if beside:
                    worth = np.where(np.isin(np.arange(len(worth)), beside), worth, 0.0)
        return self._pick(run, worth) if worth.any() else newest

    def _pick(self, run: Run, worth: Floats) -> int:
        """Return the card of most worth; of equal ones a new key in its order, else any."""
        equal = np.flatnonzero(worth >= worth.max() * (1 - 1e-12)).tolist()
        fresh = [card for card in equal if self.last[card] < 0]
        return fresh[0] if fresh else run.random.choice(equal)

    def _shut(self, run: Run) -> bool:
        """Return whether no new key may be opened: enough were, or a backlog fills the day."""
        if len(self.new) >= NEW_A_DAY:
            return True
        if run.today >= self.back + self.away:
            return False
        waiting = (self.last >= 0) & (self.last < self.back)
        return float(self._seconds(np.flatnonzero(waiting)).sum()) > run.left

    def _shown(self, run: Run, card: int) -> float:
        """Return the tempo shown: slower the more has faded."""
        if card not in self.state:
            return float(self.tempo[card])
        fall = round((BREAK_BELOW - self._retrievability(run, card)) / BREAK_STEP, 9)
        lowest = min(self.tempo[card], max(FLOOR, np.floor(self.goal[card] * START + 0.5)))
        return float(max(lowest, self.tempo[card] - max(0, ceil(fall)) * self._rung(card)))

    def _rung(self, card: int) -> float:
        return float(max(1, np.floor(self.goal[card] * RUNG + 0.5)))

    def _play(self, run: Run, card: int) -> bool:
        tempo = self._shown(run, card)
        rating = run.go(card, tempo)
        if not rating:
            return False
        self._note(run, card, rating > 1)
        gone = run.today - int(self.last[card]) if card in self.state else 0
        state = self.state[card] = study_fsrs.after(self.state.get(card), gone, rating)
        self.due[card] = run.today + study_fsrs.interval(state[0], 0.9)
        self.last[card] = run.today
        row = (self.clean[card] if tempo == self.tempo[card] else 0) + 1 if rating == 3 else 0
        up = rating == 4 or row >= 2
        self.clean[card] = 0 if up else row
        move = self._rung(card) * (1 if up else -1 if rating == 1 else 0)
        self.tempo[card] = min(self.goal[card], max(FLOOR, tempo + move))
        self.done.append(card)
        return True

    def _note(self, run: Run, card: int, recalled: bool) -> None:
        """Keep the first go of a day for the fit."""
        today, last = run.today, int(self.last[card])
        if last == today:
            return
        practice = self.recalled[card] + LOST_SHARE * self.lost[card]
        days = max(1, today - last) if last >= 0 else 1
        values = [1.0, np.log1p(practice), -np.log(days), -np.log(self._apart(card, today)),
                  last < 0, self.kept[card]]  # fmt: skip
        columns = np.array([6 + card % 12, 18 + card // 12])
        self.rows.append((columns, np.array(values, dtype=float), recalled))
        (self.recalled if recalled else self.lost)[card] += 1
        self.kept[card] = recalled
        if last < 0:
            self.new.append(card)
        day, by, other = self.latest[card // 12]
        self.latest[card // 12] = (today, card, other if by == card else day)
