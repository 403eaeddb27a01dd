"""Lives that were lived before, kept under the system's temporary folder, for baselines only."""

from __future__ import annotations

import json
from collections.abc import Callable
from hashlib import sha256
from os import getpid
from pathlib import Path
from tempfile import gettempdir

from tests.bench.study_players import Cell
from tests.bench.study_runs import Policy, Score, simulate

HERE = Path(__file__).parent
TRUTHS = ("fsrs", "traits", "memories", "states", "motors", "held", "players", "runs")


def kept(cell: Cell, seed: int, make: Callable[[], Policy], name: str, module: str) -> Score:
    """Return a life's score, from the cache if it is there.

    ``name`` tells the policies of a module apart; a score is for the very source of the truths
    and of that module.
    """
    source = b"".join((HERE / f"study_{each}.py").read_bytes() for each in (*TRUTHS, module))
    folder = Path(gettempdir()) / "drillbox-study"
    text = f"{cell} {seed} {name}"
    path = folder / f"{sha256(source + text.encode()).hexdigest()}.json"
    if path.exists():
        score = Score(*json.loads(path.read_text()))
        return score._replace(shown=_pairs(score.shown), asked=_pairs(score.asked))
    score = simulate(cell, seed, make())
    folder.mkdir(exist_ok=True)
    part = path.with_suffix(f".{getpid()}.part")
    part.write_text(json.dumps(score))
    part.replace(path)
    return score


def _pairs(values: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return pairs, of which JSON makes lists."""
    return [(said, true) for said, true in values]
