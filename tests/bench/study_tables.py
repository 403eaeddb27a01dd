"""The study's numbers as Markdown: intervals, calibration, rows, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf, log, sqrt
from statistics import mean, median, stdev
from typing import NamedTuple

from tests.bench.study_players import Cell
from tests.bench.study_runs import Score

LOW, HIGH = 0.1, 0.95  # outside these even the best baseline says nothing
FEWEST = 0.05  # share of the probes that a tenth of calibration must hold to be told
# Student's t, two-sided 95 %, for two players and more.
QUANTILES = (12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23, 2.20, 2.18, 2.16)
HEAD = (
    "| memory | motor | transfer | strength | rater | life | best baseline | ours | against best"
    " | today | end | return | owned half, .8 | worst tenth (round-robin) | recall (today)"
    " | minutes |"
)


class Result(NamedTuple):
    """All scores of a cell: ours, and those of each baseline with each of its parameters."""

    cell: Cell
    ours: list[Score]
    base: dict[tuple[str, str], list[Score]]

    def best(self) -> tuple[tuple[str, str], list[Score]]:
        """Return the baseline of the highest mean, and its scores."""
        return max(self.base.items(), key=lambda each: of(each[1], "mean"))

    def gain(self) -> list[float]:
        """Return by how much ours is over the best baseline, player by player."""
        pairs = zip(self.ours, self.best()[1], strict=True)
        return [own.mean - other.mean for own, other in pairs]

    def gain_unseen(self) -> list[float]:
        """Return by how much ours is over the baseline that the other players would choose.

        The best one of a few players is partly the luckiest one; this one isn't. One player
        alone has no others: then it is ``gain``.
        """
        players = range(len(self.ours))
        if len(players) < 2:
            return self.gain()
        gains = []
        for player in players:
            others = {
                name: mean(each.mean for number, each in enumerate(scores) if number != player)
                for name, scores in self.base.items()
            }
            chosen = max(others, key=others.__getitem__)
            gains.append(self.ours[player].mean - self.base[chosen][player].mean)
        return gains

    def over(self, kinds: Sequence[str], name: str) -> float:
        """Return by how much ours is over the best of these baselines in one score."""
        others = [of(scores, name) for (kind, _), scores in self.base.items() if kind in kinds]
        return of(self.ours, name) - max(others)


def of(scores: Sequence[Score], name: str) -> float:
    """Return the mean of one score."""
    return mean(getattr(score, name) for score in scores)


def interval(values: Sequence[float]) -> float:
    """Return half the width of a 95 % interval for the mean, by Student's t."""
    if len(values) < 2:
        return inf
    quantile = QUANTILES[min(len(values), len(QUANTILES) + 1) - 2]
    return quantile * stdev(values) / sqrt(len(values))


def row(result: Result) -> str:
    """Return a line of the main table."""
    (kind, variant), best = result.best()
    ours, gain = result.ours, result.gain()
    robin = result.over(ROBINS, "worst")
    return (
        f"| {result.cell} | {kind} {variant} {of(best, 'mean'):.3f}"
        f" | {of(ours, 'mean'):.3f} | {mean(gain):+.3f} ± {interval(gain):.3f}"
        f" | {of(result.base['today', ''], 'mean'):.3f} | {of(ours, 'final'):.3f}"
        f" | {of(ours, 'back'):.3f} ({of(ours, 'back') - of(best, 'back'):+.3f})"
        f" | {_days(ours, 'half')}, {_days(ours, 'most')}"
        f" | {of(ours, 'worst'):.3f} ({robin:+.3f})"
        f" | {of(ours, 'recall'):.3f} ({result.over(('today',), 'recall'):+.3f})"
        f" | {of(ours, 'used'):.2f} |"
    )


ROBINS = ("round-robin", "round-robin climbing")


def _days(scores: Sequence[Score], name: str) -> str:
    days = median(getattr(score, name) for score in scores)
    return "–" if days == inf else f"{days:.0f}"


def summary(results: Sequence[Result]) -> str:
    """Return what the rows come to, one line each."""
    inside = [each for each in results if LOW <= of(each.best()[1], "mean") <= HIGH]
    if not inside:
        return f"No cell's best baseline lies in {LOW}–{HIGH}."
    gains = [mean(each.gain()) for each in inside]
    unseen = [mean(each.gain_unseen()) for each in inside]
    recalls = [each.over(("today",), "recall") for each in results]
    excused = [each.over(("today",), "mean") >= 0.05 for each in results]
    blamed = [by for by, free in zip(recalls, excused, strict=True) if not free]
    worst = [each.over(ROBINS, "worst") for each in results]
    return "\n".join(
        [
            f"- {len(inside)} of {len(results)} cells have their best baseline in {LOW}–{HIGH}:"
            f" worst {min(gains):+.3f}, median {median(gains):+.3f};"
            f" {sum(each < -0.02 for each in gains)} more than .02 under it.",
            f"- Against the baseline that a cell's other players would choose: worst"
            f" {min(unseen):+.3f}, median {median(unseen):+.3f};"
            f" {sum(each < -0.02 for each in unseen)} more than .02 under it.",
            f"- Recall against today's: worst {min(recalls):+.3f}, median {median(recalls):+.3f};"
            f" more than .03 under it where owned isn't .05 over it:"
            f" {sum(each < -0.03 for each in blamed)} cells.",
            f"- Worst tenth against the better round-robin: worst {min(worst):+.3f}, median"
            f" {median(worst):+.3f}; more than .05 under it: {sum(by < -0.05 for by in worst)}"
            " cells.",
            f"- Minutes used: least {min(of(each.ours, 'used') for each in results):.2f}.",
        ]
    )


class Calibration(NamedTuple):
    """Log loss of what was said, the least that the truth allows, the largest gap in a tenth
    that holds enough probes, and such tenths as (mean said, mean true, share of probes)."""

    loss: float
    least: float
    gap: float
    tenths: list[tuple[float, float, float]]


def calibration(probes: Iterable[tuple[float, float]]) -> Calibration:
    """Return how (predicted, true) chances agree."""
    pairs = [(min(0.999, max(0.001, said)), true) for said, true in probes]
    tenths: list[list[tuple[float, float]]] = [[] for _ in range(10)]
    for said, true in pairs:
        tenths[int(said * 10)].append((said, true))
    told = [
        (mean(said for said, _ in each), mean(true for _, true in each), len(each) / len(pairs))
        for each in tenths
        if each and len(each) >= FEWEST * len(pairs)
    ]
    return Calibration(
        mean(_loss(said, true) for said, true in pairs),
        mean(_loss(min(0.999, max(0.001, true)), true) for _, true in pairs),
        max((abs(said - true) for said, true, _ in told), default=0.0),
        told,
    )


def _loss(said: float, true: float) -> float:
    return -true * log(said) - (1 - true) * log(1 - said)


def calibrated(results: Sequence[Result]) -> str:
    """Return the calibration of what was shown and of what was asked, memory by memory and
    rater by rater."""
    lines = ["| players | chance | log loss (least) | largest gap | said → true (share) |",
             "|---|---|---|---|---|"]  # fmt: skip
    memories = dict.fromkeys(each.cell.memory for each in results)
    raters = dict.fromkeys(each.cell.rater for each in results)
    for level in (*memories, *raters):
        scores = [score for each in results if level in each.cell for score in each.ours]
        for name in ("shown", "asked"):
            probes = [pair for score in scores for pair in getattr(score, name)]
            if not probes:
                continue
            found = calibration(probes)
            told = ", ".join(f"{said:.2f} → {true:.2f} ({share:.0%})"
                             for said, true, share in found.tenths)  # fmt: skip
            lines.append(f"| {level} | {name} | {found.loss:.3f} ({found.least:.3f})"
                         f" | {found.gap:.3f} | {told} |")  # fmt: skip
    return "\n".join(lines)


def compared(result: Result) -> str:
    """Return a line of each baseline's mean with its best parameter, and the worst tenth."""
    cells = []
    for kind in dict.fromkeys(kind for kind, _ in result.base):
        found = {name: scores for (each, name), scores in result.base.items() if each == kind}
        name = max(found, key=lambda each: of(found[each], "mean"))
        cells.append(f"{of(found[name], 'mean'):.3f} {name}".strip())
    return f"| {result.cell} | " + " | ".join(cells) + " |"
