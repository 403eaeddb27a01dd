"""The one thing to do next, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from drillbox.memory.opening import openable
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key
from drillbox.practice.present import Cell, Present
from drillbox.practice.standing import WEAK, Standing
from drillbox.store.access import Store
from drillbox.store.cards import candidates, card

Kind = Literal[
    "add", "start", "backlog", "weak key", "weak phrase", "due", "open", "all owned", "wait"
]


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next: ``kind`` says why, the rest names the card and what is due in all.

    ``title`` and ``key`` name a card, at ``tempo``, due on ``due``; a weak key or phrase has
    its ``share`` recalled. ``cards`` are due today; they take ``minutes``.
    """

    kind: Kind
    title: str | None = None
    key: Key | None = None
    tempo: int | None = None
    due: date | None = None
    share: float | None = None
    cards: int = 0
    minutes: float = 0.0


def advise(
    store: Store,
    found: Sequence[Cell],
    keys: Sequence[Standing],
    phrases: Sequence[Standing],
    total: Present,
    today: date,
    rules: Rules,
    pace: Pace,
) -> Advice:
    """Return the next thing to do: what waits and is weak first, then what waits, then new keys."""
    if not total.open:
        return Advice("start" if total.phrases else "add")
    due = [cell for cell in found if cell.due <= today]
    seconds = sum(expected_seconds(cell.quarters, cell.tempo, pace, rules) for cell in due)
    if seconds > rules.minutes * 60:
        return _of(_most_faded(due), "backlog", due, seconds)
    for kind, standings in (("weak key", keys), ("weak phrase", phrases)):
        for each in standings:
            own = [cell for cell in due if _id(cell, kind) == each.id]
            if each.verdict == WEAK and own:
                return _of(_most_faded(own), _kind(kind), due, seconds, each.share)
    if due:
        return _of(_most_faded(due), "due", due, seconds)
    return _nothing_due(store, found, total, today, rules)


def _nothing_due(
    store: Store, found: Sequence[Cell], total: Present, today: date, rules: Rules
) -> Advice:
    ready = openable(candidates(store), today.toordinal(), rules) if rules.new_a_day else []
    if ready:
        new = card(store, ready[0].card_id)
        return Advice("open", new.title, new.key, new.state.tempo.tempo)
    if total.owned == total.cards:
        return Advice("all owned")
    return _of(min(found, key=lambda cell: (cell.due, cell.now)), "wait", [], 0.0)


def _id(cell: Cell, kind: str) -> int:
    return cell.key_id if kind == "weak key" else cell.phrase_id


def _kind(kind: str) -> Kind:
    return "weak key" if kind == "weak key" else "weak phrase"


def _most_faded(found: Sequence[Cell]) -> Cell:
    return min(found, key=lambda cell: (cell.now, cell.card_id))


def _of(
    cell: Cell, kind: Kind, due: Sequence[Cell], seconds: float, share: float | None = None
) -> Advice:
    return Advice(kind, cell.title, cell.key, cell.tempo, cell.due, share, len(due), seconds / 60)
