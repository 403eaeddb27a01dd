"""How often the ranges that a forecast gives hold what simulated players come to.

    python -m tests.bench.study_ahead             twelve cells of the search, one player each
    python -m tests.bench.study_ahead --doubt 0   with runs that all take the player for the same

The days ahead are played through on a few days of a life, as ``upcoming`` does, and the keys
started, at goal tempo and owned are counted when these days have come. Break and days without
practice are left out, as a forecast knows nothing of them.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict, deque
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from multiprocessing import get_context
from typing import NamedTuple

from drillbox.memory import forecasting
from drillbox.memory.candidates import Timed, learn_pace
from drillbox.memory.forecasting import Player, Range, forecast
from drillbox.memory.rules import rules_from
from drillbox.practice.coming import habits_from
from drillbox.practice.readiness import LEARNT_FROM
from tests.bench.study_ours import START, Ours
from tests.bench.study_players import BREAK, CELLS
from tests.bench.study_runs import LOOPS, OVERHEAD, Run

CELLS_LOOKED_AT = (0, 2, 3, 8, 9, 12, 14, 15, 18, 25, 29, 30)  # of daily practice
SEED = 120
FROM = (1, 3, 7, 14, 30, 60, 90)
AHEAD = (7, 14, 28)
WHAT = ("started", "at_goal", "owned")


class Said(NamedTuple):
    """One range, whether the player was known by then, and what came of it."""

    what: str
    ahead: int
    known: bool
    range: Range
    came: int


def lived(cell: int, doubt: float) -> list[Said]:
    """Return what was said in a life up to its break, and what came of it."""
    forecasting.DOUBT = doubt
    run = Run(CELLS[cell], SEED, Ours())
    words: Counter[int] = Counter()
    timed: deque[Timed] = deque(maxlen=LEARNT_FROM)
    run.go = partial(_counted, run, run.go, words, timed)  # type: ignore[method-assign]
    said: list[tuple[int, Said]] = []
    came: dict[int, dict[str, int]] = {}
    for today in range(BREAK):
        run.begin(today)
        came[today] = _standing(run)
        if today in FROM:
            said += [(today + each.ahead, each) for each in _ahead(run, words, timed)]
        run.policy.day(run)
    return [each._replace(came=came[day][each.what]) for day, each in said if day in came]


def _counted(
    run: Run,
    go: Callable[[int, float], int],
    words: Counter[int],
    timed: deque[Timed],
    card: int,
    tempo: float,
) -> int:
    left, cold = run.left, run.last[card] < run.today
    word = go(card, tempo)
    if word:
        words[word] += cold
        timed.append(Timed(left - run.left, run.quarters[card], int(tempo), LOOPS))
    return word


def _ours(run: Run) -> Ours:
    assert isinstance(run.policy, Ours)
    return run.policy


def _standing(run: Run) -> dict[str, int]:
    pool = _ours(run).pool
    return {
        "started": sum(card.begun for card in pool),
        "at_goal": sum(card.begun and card.at_goal for card in pool),
        "owned": sum(card.owned for card in pool),
    }


def _ahead(run: Run, words: Counter[int], timed: deque[Timed]) -> list[Said]:
    policy = _ours(run)
    rules = rules_from({"minutes": run.life.minutes, "between_goes": int(OVERHEAD)})
    learned = policy.chances_on(run).learned
    player = Player(
        list(policy.pool),
        {card: state.goal_run for card, state in policy.states.items()},
        learned,
        rules,
        learn_pace(timed, rules),
        habits_from(words),
    )
    days = forecast(player, START + timedelta(run.today), max(AHEAD)).days
    return [
        Said(what, ahead, bool(learned.phrases), getattr(days[ahead - 1], what), 0)
        for ahead in AHEAD
        for what in WHAT
    ]


def main() -> None:
    """Print how many of the ranges held, by what they are of and how far ahead."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--doubt", type=float, default=forecasting.DOUBT)
    parser.add_argument("--jobs", type=int, default=2)
    args = parser.parse_args()
    found: dict[tuple[str, int, bool], list[Said]] = defaultdict(list)
    with get_context("spawn").Pool(args.jobs) as pool:
        for some in pool.imap(partial(lived, doubt=args.doubt), CELLS_LOOKED_AT):
            for each in some:
                found[each.what, each.ahead, each.known].append(each)
    print("| what | days ahead | player | ranges | held | fewer came | more came | mean width |")
    print("|---|---|---|---|---|---|---|---|")
    for (what, ahead, known), said in sorted(found.items()):
        low = sum(each.came < each.range.low for each in said) / len(said)
        high = sum(each.came > each.range.high for each in said) / len(said)
        width = sum(each.range.high - each.range.low for each in said) / len(said)
        who = "known" if known else "not yet"
        print(f"| {what} | {ahead} | {who} | {len(said)} | {1 - low - high:.2f} | {low:.2f} |"
              f" {high:.2f} | {width:.0f} |")  # fmt: skip


if __name__ == "__main__":
    main()
