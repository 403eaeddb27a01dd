"""The study: what simulated players own at tempo by our choosing, and by what players do today.

    python -m tests.bench.study --search              the cells that the search may see
    python -m tests.bench.study --seeds 3             the final table, all cells, other players
    python -m tests.bench.study --held --seeds 2      the cells that no search has seen
    python -m tests.bench.study --search --baselines  what each baseline reaches

``--cells edge fsrs`` takes only the cells that name all of these. Everything is seeded; the same
command prints the same table. Baselines are lived once and kept in the temporary folder.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from functools import partial
from multiprocessing import get_context

from tests.bench.study_baselines import BASELINES
from tests.bench.study_cache import kept
from tests.bench.study_players import CELLS, Cell
from tests.bench.study_runs import Score, simulate
from tests.bench.study_tables import HEAD, Result, calibrated, compared, row, summary

SEARCH_SEED, FINAL_SEED = 100, 350  # no player of the final table was seen in the search
OURS = "ours"
Job = tuple[Cell, int, str, str, tuple[tuple[str, float], ...]]


def lived(job: Job) -> Score:
    """Return the score of a cell, a seed, a policy, its variant and (ours alone) settings."""
    cell, seed, kind, variant, settings = job
    if kind == OURS:
        from tests.bench.study_ours import Ours

        return simulate(cell, seed, Ours(**dict(settings)))
    module = "today" if kind == "today" else "baselines"
    return kept(cell, seed, BASELINES[kind][variant], f"{kind} {variant}", module)


def results(
    cells: Sequence[Cell], seeds: Sequence[int], jobs: int, policy: str, settings: dict[str, float]
) -> Iterator[Result]:
    """Yield cell by cell what came of it; ``policy`` stands for ours."""
    names = [(kind, variant) for kind, each in BASELINES.items() for variant in each]
    own = (OURS, "") if policy == OURS else (policy, next(iter(BASELINES[policy])))
    of_cell = [*names, own]
    work = [
        (cell, seed, *name, tuple(settings.items()))
        for cell in cells
        for name in of_cell
        for seed in seeds
    ]
    with get_context("spawn").Pool(jobs) as pool:
        scores = pool.imap(lived, work)
        for cell in cells:
            found = [[next(scores) for _ in seeds] for _ in of_cell]
            yield Result(cell, found[-1], dict(zip(names, found, strict=False)))


def part(cell: Cell) -> int:
    """Return which part of the table a cell stands in."""
    return 2 if cell.held else 1 if cell.later else 0


def table(found: Iterator[Result]) -> None:
    """Print the main table and what it comes to, the held cells apart."""
    print(HEAD)
    print("|---" * (HEAD.count("|") - 1) + "|")
    done: list[Result] = []
    for result in found:
        print(row(result), flush=True)
        done.append(result)
    parts = ("Cells of the search", "Cells that joined it later", "Held cells")
    for number, title in enumerate(parts):
        some = [each for each in done if part(each.cell) == number]
        if some:
            print(f"\n**{title}**\n\n{summary(some)}\n\n{calibrated(some)}")


def baselines(found: Iterator[Result]) -> None:
    """Print what each baseline reaches with its best parameter."""
    head = f"{HEAD.split('| best')[0]}| " + " | ".join(BASELINES) + " |"
    print(head)
    print("|---" * (head.count("|") - 1) + "|")
    for result in found:
        print(compared(result), flush=True)


def main() -> None:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--search", action="store_true", help="cells and players of the search")
    parser.add_argument("--held", action="store_true", help="the held cells alone")
    parser.add_argument("--seeds", type=int, default=3, help="players for each cell")
    parser.add_argument("--cells", nargs="*", default=[], help="only cells that name all of these")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--policy", default=OURS, choices=[OURS, *BASELINES], help="as ours")
    parser.add_argument("--set", nargs="*", default=[], metavar="NAME=VALUE", help="for ours")
    parser.add_argument("--baselines", action="store_true", help="the baselines side by side")
    args = parser.parse_args()
    cells = [
        cell
        for cell in CELLS
        if not (args.search and cell.held)
        and (cell.held or not args.held)
        and all(word in str(cell) for word in args.cells)
    ]
    first = SEARCH_SEED if args.search else FINAL_SEED
    settings = {name: float(value) for name, value in (each.split("=") for each in args.set)}
    policy = "today" if args.baselines else args.policy
    found = partial(results, cells, range(first, first + args.seeds), args.jobs)
    (baselines if args.baselines else table)(found(policy, settings))


if __name__ == "__main__":
    main()
