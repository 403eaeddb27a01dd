"""The product's own choosing as a policy of the study: the functions of ``memory``, unchanged.

Only the mode of the fit is found by numpy (``study_fit``, held equal to ``newton`` by a test), as
plain Python would take most of the study's time.
"""

from __future__ import annotations

from collections import Counter, deque
from datetime import date, timedelta

import numpy as np

from drillbox.memory import learning
from drillbox.memory.candidates import Candidate, Pace, Sitting, candidate
from drillbox.memory.cards import Attempted, CardState, is_cold, rate, untried
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.days import choose_due
from drillbox.memory.learning import LATEST, Seen, learn
from drillbox.memory.recall import Recall, after
from drillbox.memory.rules import rules_from
from tests.bench import study_fit
from tests.bench.study_players import Floats
from tests.bench.study_runs import OVERHEAD, Run
from tests.memory.lives import Rated, missed, misses_of, tried_before

START = date(2026, 1, 1)


class Ours:
    """``next_go`` until it returns None, with due days and memory states of the product; the pace
    isn't learnt, but that of goes that aren't lost."""

    def __init__(self, **settings: float) -> None:
        self.rules = rules_from({"between_goes": int(OVERHEAD)} | settings)
        self.states: dict[int, CardState] = {}
        self.pool: list[Candidate] = []
        self.load: Counter[date] = Counter()
        self.seen: deque[Seen] = deque(maxlen=LATEST)
        self.tries: list[Seen] = []
        self.missed: list[Rated] = []
        self.chances: Chances | None = None
        learning.find_mode = study_fit.find_mode

    def predicted(self, run: Run) -> Floats | None:
        """Return the chance of a clean cold go at goal tempo that the product shows."""
        chances = self.chances_on(run)
        return np.array([chances.at_goal(card) for card in self.pool])

    def predicted_at(self, run: Run, card: int, tempo: float) -> float | None:
        """Return the chance of a clean cold go now at a tempo."""
        if not self.chances:
            return None
        keys = self.pool[card // 12 * 12 : card // 12 * 12 + 12]
        warmed = any(each.last_day == self.chances.today for each in keys)
        return self.chances.at(self.pool[card], int(tempo), warmed=warmed)

    def chances_on(self, run: Run) -> Chances:
        """Return the chances of a day before its first go: once for the score and the drill."""
        self._begin(run)
        today = START.toordinal() + run.today
        if self.chances is None or self.chances.today != today:
            seen = list(self.seen)
            learned = learn(seen, self.pool, misses_of(self.missed, self.pool, today),
                            tried_before(self.tries, seen))  # fmt: skip
            self.chances = Chances(learned, self.pool, today, self.rules)
        return self.chances

    def _begin(self, run: Run) -> None:
        for each in range(len(self.pool), run.present * 12):
            goal = int(run.goal[each])
            self.pool.append(
                candidate(each, each // 12, each % 12, quarters=run.quarters[each], goal=goal,
                          state=untried(goal, self.rules), key=str(each % 12))
            )  # fmt: skip

    def day(self, run: Run) -> None:
        """Drill one session."""
        today = START + timedelta(run.today)
        chances = self.chances_on(run)
        sitting = Sitting(run.left / 60)
        pace = Pace()
        while True:
            go = next_go(self.pool, sitting, self.rules, pace, chances)
            if go is None or run.over:
                break
            card, before = self.pool[go.card_id], run.left
            rating = run.go(go.card_id, go.tempo)
            if not rating:
                break
            recall = Recall(rating)
            day = today.toordinal()
            if card.last_day < day:
                self.seen.append(Seen(go.card_id, day, recall, go.tempo, card.tempo))
                if not card.begun:
                    self.tries.append(self.seen[-1])
            if recall < Recall.CLEAN:
                self.missed.append(missed(card, day, recall, go.tempo))
            sitting = sitting.rated(card, go.tempo, recall, before - run.left)
            self._move(card, go.tempo, recall, today)

    def _move(self, before: Candidate, tempo: int, recall: Recall, today: date) -> None:
        """Take a card one attempt on, as the product does."""
        card = before.card_id
        state = self.states.get(card) or untried(before.goal, self.rules)
        due = state.due or today
        if is_cold(state, today):
            if before.due:
                self.load[date.fromordinal(before.due)] -= 1
            phrase = card // 12 * 12
            siblings = {
                date.fromordinal(each.due)
                for each in self.pool[phrase : phrase + 12]
                if each.due and each.card_id != card
            }
            memory = after(state.memory, recall, today)
            due = choose_due(memory, self.rules, str(card), state.attempts + 1, self.load, siblings)
            self.load[due] += 1
        state = rate(state, Attempted(today, recall, tempo, 0, due), before.goal, self.rules)
        self.states[card] = state
        self.pool[card] = candidate(
            card, before.phrase_id, before.position,
            quarters=before.quarters, goal=before.goal, state=state, key=before.key,
        )  # fmt: skip
