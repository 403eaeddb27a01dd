"""The one thing to do next, and why; and what each phrase and key still waits for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from drillbox.memory.candidates import Candidate, Sitting
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.pace import Pace
from drillbox.memory.piled_up import PiledUp, piled_up
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key
from drillbox.practice.summary.cells import Cell, Waits, waits_for
from drillbox.practice.summary.standing import WEAK, Standing
from drillbox.store.access import Store
from drillbox.store.card_rows import card

Kind = Literal[
    "add", "start", "catch up", "weak key", "weak phrase", "keep", "new key", "climb", "all owned"
]
NAMED = 3  # phrases whose bottleneck is named; more would be a table
LONG = 240  # minutes of a sitting in which any chart has its time
FEWEST = 2  # keys begun of a group for it to be named for itself


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next: ``kind`` says why, the rest names the card that a drill begins with.

    ``title`` and ``key`` name it, at ``tempo``; ``now`` is its chance of a clean cold go at goal
    tempo, ``at`` that at ``tempo``; a weak key or phrase has its ``share`` recalled. ``piled_up``
    is what has piled up, where that is more than a day's practice.
    """

    kind: Kind
    title: str | None = None
    key: Key | None = None
    tempo: int | None = None
    now: float | None = None
    at: float | None = None
    share: float | None = None
    piled_up: PiledUp | None = None


class Waiting(NamedTuple):
    """What a phrase or a key waits for until it is owned: ``keys`` so many of its cards begun.

    ``tempo`` is the mean tempo of these as a share of the goal.
    """

    kind: Literal["phrase", "key"]
    name: str
    what: Waits
    keys: int
    tempo: float


def advise(
    store: Store,
    pool: Sequence[Candidate],
    keys: Sequence[Standing],
    phrases: Sequence[Standing],
    cells: Sequence[Cell],
    chances: Chances,
    rules: Rules,
    pace: Pace,
) -> Advice:
    """Return the next thing to do: what a drill of the daily minutes would begin with, and why."""
    if not cells:
        return Advice("start" if pool else "add")
    if all(_stands(each, chances) for each in pool):
        return Advice("all owned")
    go = next_go(pool, Sitting(LONG), rules, pace, chances)
    if go is None:
        return Advice("all owned")
    chosen = next(each for each in pool if each.card_id == go.card_id)
    shown = card(store, go.card_id)
    waiting = piled_up(pool, chances, rules, pace)
    many = waiting.minutes > rules.minutes
    kind, share = _why(chosen, cells, keys, phrases)
    return Advice(
        "catch up" if many else kind,
        shown.title,
        shown.key,
        go.tempo,
        chances.at_goal(chosen),
        chances.at(chosen, go.tempo),
        share,
        waiting if many else None,
    )


def _stands(card: Candidate, chances: Chances) -> bool:
    """Return whether a card is owned, and sure or played today."""
    return chances.is_sure(card) or (card.owned and card.last_day == chances.today)


def _why(
    chosen: Candidate,
    cells: Sequence[Cell],
    keys: Sequence[Standing],
    phrases: Sequence[Standing],
) -> tuple[Kind, float | None]:
    """Return why a card comes first, and the share recalled where that is for a weakness."""
    if not chosen.begun:
        return "new key", None
    cell = next(each for each in cells if each.card_id == chosen.card_id)
    for each in keys:
        if each.verdict == WEAK and each.id == cell.key_id:
            return "weak key", each.share
    for each in phrases:
        if each.verdict == WEAK and each.id == cell.phrase_id:
            return "weak phrase", each.share
    return "keep" if chosen.at_goal else "climb", None


def bottlenecks(cells: Sequence[Cell]) -> tuple[Waiting, ...]:
    """Return what stands in the way of owning: of the phrases with most keys begun and not owned,
    and of the key whose chances are lowest; () where all that was begun is owned."""
    left = [cell for cell in cells if not cell.owned]
    phrases = _grouped(left, lambda cell: cell.phrase_id)
    most = sorted(phrases, key=lambda group: (-len(group), group[0].phrase_id))[:NAMED]
    said = [_waiting("phrase", group[0].title, group) for group in most]
    keys = [group for group in _grouped(left, lambda cell: cell.key_id) if len(group) >= FEWEST]
    if len(keys) > 1:
        hardest = min(keys, key=lambda group: sum(cell.now for cell in group) / len(group))
        said.append(_waiting("key", hardest[0].key.text(), hardest))
    return tuple(said)


def _grouped(cells: Sequence[Cell], group: Callable[[Cell], int]) -> list[list[Cell]]:
    found: dict[int, list[Cell]] = {}
    for cell in cells:
        found.setdefault(group(cell), []).append(cell)
    return list(found.values())


def _waiting(kind: Literal["phrase", "key"], name: str, group: Sequence[Cell]) -> Waiting:
    share = sum(cell.tempo / cell.goal for cell in group) / len(group)
    return Waiting(kind, name, waits_for(group), len(group), share)
