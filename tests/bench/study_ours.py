"""The product's own choosing as a policy of the study: the functions of ``memory``, unchanged."""

from __future__ import annotations

from collections import Counter, deque
from datetime import date, timedelta

import numpy as np

from drillbox.memory.breaks import latest_break
from drillbox.memory.candidates import Candidate, Sitting, candidate
from drillbox.memory.cards import Attempted, CardState, rate, untried
from drillbox.memory.choose import next_card
from drillbox.memory.due import choose_due
from drillbox.memory.learning import LATEST, Seen, learn
from drillbox.memory.pace import Pace
from drillbox.memory.recall import Recall, after, retrievability
from drillbox.memory.rules import rules_from
from tests.bench import study_runs
from tests.bench.study_players import Floats
from tests.bench.study_runs import OVERHEAD, Run

START = date(2026, 1, 1)


class Ours:
    """``next_card`` until it returns None, with due days, memory states and pace of the product."""

    def __init__(self, **settings: float) -> None:
        own: dict[str, float] = {
            "minutes": int(study_runs.SESSION / 60), "overhead_seconds": int(OVERHEAD),
        }  # fmt: skip
        self.rules = rules_from(own | settings)
        self.states: dict[int, CardState] = {}
        self.pool: list[Candidate] = []
        self.load: Counter[date] = Counter()
        self.seen: deque[Seen] = deque(maxlen=LATEST)

    def predicted(self, run: Run) -> Floats | None:
        """Return the retrievability that the product shows."""
        today = START + timedelta(run.today)
        chance = np.zeros(run.cards)
        for card, state in self.states.items():
            if state.memory:
                chance[card] = retrievability(state.memory, today)
        return chance

    def day(self, run: Run) -> None:
        """Drill one session."""
        if not self.pool:
            self.pool = [
                Candidate(each, each // 12, each % 12, run.quarters[each], int(run.goal[each]),
                          int(run.tempo[each]), key=str(each % 12))
                for each in range(run.cards)
            ]  # fmt: skip
        today = START + timedelta(run.today)
        learned = learn(list(self.seen), self.pool)
        back = latest_break(
            (each.day for each in self.seen), today.toordinal(), self.rules.break_days
        )
        sitting = Sitting(self.rules.minutes, back=back)
        pace = Pace()
        while True:
            card = next_card(self.pool, sitting, today, self.rules, pace, learned)
            if card is None:
                break
            used = run.used
            run.over = False  # the end is next_card's to say
            _, ratings = run.play(np.array([card]))
            recall = Recall(int(ratings[0])) if len(ratings) else None
            if recall is None:
                break
            if self.pool[card].last_day < today.toordinal():
                self.seen.append(Seen(card, today.toordinal(), recall > Recall.LOST))
            sitting = sitting.rated(self.pool[card], recall, run.used - used)
            self._move(card, recall, today, run)

    def _move(self, card: int, recall: Recall, today: date, run: Run) -> None:
        """Take a card one attempt on, as the product does."""
        before = self.pool[card]
        if before.due:
            self.load[date.fromordinal(before.due)] -= 1
        state = self.states.get(card) or untried(before.goal, self.rules)
        memory = after(state.memory, recall, today)
        phrase = card // 12 * 12
        siblings = {
            date.fromordinal(each.due)
            for each in self.pool[phrase : phrase + 12]
            if each.due and each.card_id != card
        }
        due = choose_due(
            memory, self.rules, str(card), int(run.attempts[card]), self.load, siblings
        )
        self.load[due] += 1
        attempted = Attempted(today, recall, before.tempo, 0, due)
        state = self.states[card] = rate(state, attempted, before.goal, self.rules)
        self.pool[card] = candidate(
            card, before.phrase_id, before.position,
            quarters=before.quarters, goal=before.goal, state=state, key=before.key,
        )  # fmt: skip
