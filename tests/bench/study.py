"""The study: how much simulated players remember by our choosing and by what players do today.

    python -m tests.bench.study --seeds 10            the main table
    python -m tests.bench.study --compare             settings against each other, on three cells

Everything is seeded; the same command prints the same table.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from math import log, sqrt
from statistics import mean, median, stdev

from tests.bench import study_runs
from tests.bench.study_baselines import BASELINES
from tests.bench.study_ours import Ours
from tests.bench.study_players import TRUTHS, Cell
from tests.bench.study_runs import Policy, Score, simulate

CELLS = [
    Cell(truth, transfer, phrases)
    for truth in TRUTHS
    for phrases in (10, 40)
    for transfer in ("none", "little", "much")
]
SOME = [Cell("act-r", "little", 40), Cell("multiscale", "none", 10), Cell("predictive", "much", 40)]
FIRST_SEED = 300  # none of these players was seen while the policy was sought
LOW, HIGH = 0.3, 0.97  # outside these even the best baseline says nothing
COMPARED: dict[str, dict[str, float]] = {
    "as it is": {},
    "two returns a session": {"returns_a_day": 1},
    "any lost card once": {"returns_a_day": 1, "returns_a_session": 100},
    "any lost card twice": {"returns_a_day": 2, "returns_a_session": 100},
    "any lost card three times": {"returns_a_day": 3, "returns_a_session": 100},
    "newest not at the end": {"newest_at_end": 0},
    "3 new a day": {"new_a_day": 3},
    "10 new a day": {"new_a_day": 10},
    "no card left alone": {"fresh": 1.0},
    "latest keys must hold a day": {"hold_days": 1.0},
}


def scores(cell: Cell, make: Callable[[], Policy], seeds: Sequence[int]) -> list[Score]:
    """Return the scores of a policy over players."""
    return [simulate(cell, seed, make()) for seed in seeds]


def interval(values: Sequence[float]) -> float:
    """Return half the width of a 95 % interval for the mean (Student's t, 9 or more: 2.26)."""
    return 2.26 * stdev(values) / sqrt(len(values)) if len(values) > 1 else 0.0


def row(
    cell: Cell, seeds: Sequence[int], settings: dict[str, float]
) -> tuple[str, dict[str, float]]:
    """Return a line of the main table, and the numbers that the summary needs."""
    base = {name: scores(cell, make, seeds) for name, make in BASELINES.items()}
    ours = scores(cell, partial(Ours, **settings), seeds)
    name = max(base, key=lambda each: mean(score.mean for score in base[each]))
    best, plain = base[name], base["plain FSRS"]
    gain = [own.mean - other.mean for own, other in zip(ours, best, strict=True)]
    values = {
        "best": mean(score.mean for score in best),
        "gain": mean(gain),
        "plain": mean(own.mean - other.mean for own, other in zip(ours, plain, strict=True)),
        "back": mean(own.back for own in ours) - most(base, "back"),
        "worst": mean(own.worst for own in ours) - most(base, "worst"),
    }
    loss, table = calibration([pair for own in ours for pair in own.probes])
    line = (
        f"| {cell.truth} | {cell.phrases} | {cell.transfer} | {name} {values['best']:.3f}"
        f" | {values['best'] + values['gain'] - values['plain']:.3f}"
        f" | {mean(own.mean for own in ours):.3f} ± {interval([own.mean for own in ours]):.3f}"
        f" | {values['gain']:+.3f} ± {interval(gain):.3f}"
        f" | {mean(own.back for own in ours):.3f} ({values['back']:+.3f})"
        f" | {mean(own.worst for own in ours):.3f} ({values['worst']:+.3f})"
        f" | {mean(own.opened for own in ours):.2f} | {loss:.3f} | {table} |"
    )
    return line, values


def most(base: dict[str, list[Score]], name: str) -> float:
    """Return the best baseline's mean of one score."""
    return max(mean(getattr(score, name) for score in each) for each in base.values())


def calibration(probes: Iterable[tuple[float, float]]) -> tuple[float, str]:
    """Return the log loss of predicted recall, and true recall where .9, .7 and .5 were said."""
    pairs = [(min(0.999, max(0.001, said)), true) for said, true in probes]
    if not pairs:
        return 0.0, ""
    loss = mean(-true * log(said) - (1 - true) * log(1 - said) for said, true in pairs)
    told = []
    for low, high in ((0.8, 1.0), (0.6, 0.8), (0.4, 0.6)):
        true = [each for said, each in pairs if low <= said < high]
        told.append(f"{mean(true):.2f}" if true else "–")
    return loss, " ".join(told)


def study(seeds: Sequence[int], settings: dict[str, float], cells: Sequence[Cell]) -> None:
    """Print the main table and what it comes to."""
    print("| memory | phrases | transfer | best baseline | plain FSRS | ours | against best"
          " | return day | worst tenth | open | log loss | true at .9 .7 .5 |")  # fmt: skip
    print("|---" * 12 + "|")
    inside = []
    for cell in cells:
        line, values = row(cell, seeds, settings)
        print(line, flush=True)
        if LOW <= values["best"] <= HIGH:
            inside.append(values)
    if inside:
        print(
            f"\n{len(inside)} cells whose best baseline lies in {LOW}–{HIGH}: worst"
            f" {min(each['gain'] for each in inside):+.3f}, median"
            f" {median(each['gain'] for each in inside):+.3f}; against plain FSRS worst"
            f" {min(each['plain'] for each in inside):+.3f}; medians against the best baseline on"
            f" the return day {median(each['back'] for each in inside):+.3f}, in the worst tenth"
            f" {median(each['worst'] for each in inside):+.3f}"
        )


def compare(seeds: Sequence[int], cells: Sequence[Cell]) -> None:
    """Print mean recall by setting."""
    print("| setting | " + " | ".join(" ".join(map(str, cell)) for cell in cells) + " |")
    print("|---" * (len(cells) + 1) + "|")
    for name, settings in COMPARED.items():
        found = [mean(each.mean for each in scores(cell, partial(Ours, **settings), seeds))
                 for cell in cells]  # fmt: skip
        print(f"| {name} | " + " | ".join(f"{each:.3f}" for each in found) + " |", flush=True)


def main() -> None:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--set", nargs="*", default=[], metavar="NAME=VALUE")
    parser.add_argument("--compare", action="store_true")
    parser.add_argument("--truth", choices=list(TRUTHS))
    parser.add_argument("--minutes", type=int, default=20)
    args = parser.parse_args()
    study_runs.SESSION = args.minutes * 60.0
    seeds = range(FIRST_SEED, FIRST_SEED + args.seeds)
    settings = {name: float(value) for name, value in (each.split("=") for each in args.set)}
    if args.compare:
        compare(seeds, SOME)
    else:
        study(seeds, settings, [each for each in CELLS if args.truth in {None, each.truth}])


if __name__ == "__main__":
    main()
