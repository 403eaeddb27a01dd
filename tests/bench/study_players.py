"""The cells of the study: a memory × a motor part × transfer × strength × a rater × a life.

36 cells of a seeded fractional design: each level comes about equally often, each memory meets
each motor part, and pairs of levels are as even as the best of some hundred shuffles. Cells of two
memories (predictive, half-life) and of one motor part (overnight) were kept out of the first
searches, and are of the search by now. Twelve more, of two other memories and one other motor part
(``study_held``), are held: kept out of all searches but the last.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from itertools import combinations
from math import exp, log
from random import Random
from typing import NamedTuple

from tests.bench import study_held, study_memories, study_motors
from tests.bench.study_traits import ALL, STRENGTHS, TRANSFERS, Floats, Ints, draw

__all__ = ["CELLS", "LIVES", "Cell", "Floats", "Ints", "Life", "Player"]

RATERS = ("exact", "noisy", "kind")
LATER = frozenset({"predictive", "half-life", "overnight"})  # in the search since some while
MEMORIES = study_memories.MEMORIES | study_held.MEMORIES
MOTORS = study_motors.MOTORS | study_held.MOTORS
HELD = frozenset({*study_held.MEMORIES, *study_held.MOTORS})
BREAK, BREAK_DAYS = 120, 14


class Life(NamedTuple):
    """How many lines there are, minutes a day of practice, days in all, days of a week on which
    is practised; ``weekly`` where one line comes a week, the first on day 0. Days 120 to 133 are
    a break in each."""

    phrases: int
    minutes: int
    days: int = 180
    week: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    weekly: bool = False

    def present(self, today: int) -> int:
        """Return how many phrases there are on a day."""
        return min(self.phrases, today // 7 + 1) if self.weekly else self.phrases

    def practised(self, today: int) -> bool:
        """Return whether a day is one of practice."""
        return today % 7 in self.week and not BREAK <= today < BREAK + BREAK_DAYS


LIVES = {
    "4 lines, 10 min": Life(4, 10),
    "12 lines, 20 min": Life(12, 20),
    "40 lines, 45 min": Life(40, 45),
    "40 lines, 20 min": Life(40, 20),
    "12 lines, 45 min, 3 days": Life(12, 45, week=(0, 2, 4)),
    "a line a week, 20 min": Life(52, 20, days=365, weekly=True),
}


class Cell(NamedTuple):
    """One cell of the study, by the names of its levels."""

    memory: str
    motor: str
    transfer: str
    strength: str
    rater: str
    life: str

    @property
    def held(self) -> bool:
        """Return whether the cell was kept out of the search."""
        return bool(HELD & {self.memory, self.motor})

    @property
    def later(self) -> bool:
        """Return whether the cell was kept out of the first searches."""
        return bool(LATER & {self.memory, self.motor})

    def __str__(self) -> str:
        return " | ".join(self)


def _design(pairs: list[tuple[str, str]]) -> list[Cell]:
    """Return a cell for each pair of a memory and a motor part, the same each time."""
    dice, size = Random(11), len(pairs)
    columns = [[level[at * len(level) // size] for at in range(size)]
               for level in (TRANSFERS, STRENGTHS, RATERS, tuple(LIVES))]  # fmt: skip
    best: tuple[float, list[Cell]] | None = None
    for _ in range(300):
        for column in columns:
            dice.shuffle(column)
        cells = [Cell(*pair, *levels)
                 for pair, *levels in zip(pairs, *columns, strict=True)]  # fmt: skip
        uneven = _unevenness(cells) + _unevenness([each for each in cells if not each.later])
        if best is None or uneven < best[0]:
            best = uneven, cells
    assert best
    return best[1]


@lru_cache(maxsize=1)
def _cells() -> tuple[Cell, ...]:
    """Return all cells: those of the search, of which the later ones come last, and the held."""
    pairs = [
        (memory, motor)
        for memory in study_memories.MEMORIES
        for motor in study_motors.MOTORS
        for _ in range(2 if LATER & {memory, motor} else 3)
    ]
    others = [(memory, motor) for memory in study_held.MEMORIES for motor in study_motors.MOTORS]
    others += [(memory, motor) for motor in study_held.MOTORS for memory in MEMORIES
               if memory != "predictive"]  # fmt: skip
    return (*sorted(_design(pairs), key=lambda cell: cell.later), *_design(others))


def _unevenness(cells: list[Cell]) -> float:
    """Return how far the levels, and pairs of them, are from coming equally often."""
    found, levels = 0.0, list(zip(*cells, strict=True))
    for columns in [(each,) for each in levels] + list(combinations(levels, 2)):
        counts = Counter(zip(*columns, strict=True))
        found += sum(count**2 for count in counts.values()) * (6 if len(columns) == 1 else 1)
    return found


CELLS = _cells()


class Player:
    """A memory and a motor part that know the same cards, and how the player rates."""

    def __init__(self, cell: Cell, seed: int) -> None:
        self.traits = draw(seed, LIVES[cell.life].phrases, cell.transfer, cell.strength)
        self.memory = MEMORIES[cell.memory](self.traits)
        self.motor = MOTORS[cell.motor](self.traits)
        self.rater = cell.rater
        self.goal = self.traits.goal

    def chance(self, card: int, days: float, tempo: float) -> float:
        """Return the chance that a go at a card comes out clean or better."""
        under = log(self.motor.reach(card, days) / tempo)
        return self.memory.chance(card, days) * logistic(self.motor.K * under)

    def chances(self, days: float, cards: slice = ALL) -> tuple[Floats, Floats]:
        """Return the chances of recall, and of a clean go at goal tempo."""
        recall = self.memory.recall(days, cards)
        ratio = self.motor.capacity(days, cards) / self.goal[cards]
        return recall, recall / (1 + ratio**-self.motor.K)

    def go(self, card: int, days: float, tempo: float, dice: Random) -> int:
        """Play a card, learn by it, and return the true outcome, 1 lost to 4 fluent.

        Of what is recalled, fluent are clean goes with the chance logistic(10 (x - .2)) at a
        capacity e^x times the tempo; what isn't clean is lost with the chance
        logistic(8 (-x - .25)), else rough.
        """
        under = log(self.motor.reach(card, days) / tempo)
        recalled = dice.random() < self.memory.chance(card, days)
        clean = dice.random() < logistic(self.motor.K * under)
        luck = dice.random()
        if not recalled:
            outcome = 1
        elif clean:
            outcome = 4 if luck < logistic(10 * (under - 0.2)) else 3
        else:
            outcome = 1 if luck < logistic(8 * (-under - 0.25)) else 2
        self.memory.learn(card, days, recalled)
        self.motor.practise(card, days, tempo, outcome)
        return outcome

    def word(self, outcome: int, dice: Random) -> int:
        """Return what the player says of a go.

        Noisy: with a chance of .1 a notch up or down. Kind: rough is called clean and clean
        fluent; each second lost one is called rough.
        """
        luck, other = dice.random(), dice.random()
        if self.rater == "noisy" and luck < 0.1:
            outcome += 1 if other < 0.5 else -1
        if self.rater == "kind" and (outcome > 1 or luck < 0.5):
            outcome += 1
        return min(4, max(1, outcome))


def logistic(x: float) -> float:
    """Return 1 / (1 + e^-x), without overflow."""
    return 1 / (1 + exp(-max(-40.0, min(40.0, x))))
