"""The player's cards as they stand today: the chance of a clean go now, tempo reached, owned."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Literal, NamedTuple

from drillbox.memory.chances import SURE_ENOUGH
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key, parse_key
from drillbox.store.first_tries import OpenCard

Level = Literal["owned", "sure", "unsure", "climbing"]
LEVELS: tuple[Level, ...] = ("owned", "sure", "unsure", "climbing")
Waits = Literal["", "tempo", "memory", "both"]


class Cell(NamedTuple):
    """One card begun, as it stands today.

    ``key_id`` is ``Key.number``. ``now`` is the chance that a cold go today at
    goal tempo comes out clean. ``level``: owned; else climbing below the goal tempo; at it sure
    from ``SURE_ENOUGH`` on, and unsure with less. ``waits``: what it lacks to be owned.
    """

    card_id: int
    phrase_id: int
    title: str
    key: Key
    key_id: int
    position: int
    goal: int
    tempo: int
    now: float
    owned: bool
    level: Level
    waits: Waits
    due: date
    last_day: date
    attempts: int
    quarters: float


def cells(
    cards: Iterable[OpenCard],
    titles: Mapping[int, str],
    now: Mapping[int, float],
    rules: Rules,
    shown: Callable[[Key], Key],
) -> list[Cell]:
    """Return the cards begun as they stand on a practice day.

    ``now`` has each card's chance of a clean cold go at its goal tempo on that day. ``shown``
    turns a key at concert pitch into the one that the player reads.
    """
    keys: dict[str, tuple[Key, int]] = {}
    found = []
    for card in cards:
        if card.key not in keys:
            key = shown(parse_key(card.key))
            keys[card.key] = key, key.number
        chance = now[card.id]
        found.append(
            Cell(
                card.id, card.phrase_id, titles[card.phrase_id], *keys[card.key], card.position,
                card.goal, card.tempo, chance, card.owned, _level(card, chance),
                _waits(card, rules), card.due, card.last_day, card.attempts, card.quarters,
            )
        )  # fmt: skip
    return found


def _level(card: OpenCard, now: float) -> Level:
    if card.owned:
        return "owned"
    if card.tempo < card.goal:
        return "climbing"
    return "sure" if now >= SURE_ENOUGH else "unsure"


def _waits(card: OpenCard, rules: Rules) -> Waits:
    """Return what a card lacks: a memory that lasts counts as proved by clean goes at goal."""
    if card.owned:
        return ""
    if card.tempo >= card.goal:
        return "memory"
    return "tempo" if card.stability >= rules.owned_days else "both"


def waits_for(group: Sequence[Cell]) -> Waits:
    """Return what half or more of a group's cards lack that aren't owned; "" where all are."""
    left = [cell.waits for cell in group if not cell.owned]
    if not left:
        return ""
    tempo = sum(each in {"tempo", "both"} for each in left) * 2 >= len(left)
    memory = sum(each in {"memory", "both"} for each in left) * 2 >= len(left)
    return "both" if tempo and memory else "tempo" if tempo else "memory"


class Present(NamedTuple):
    """How things stand now: ``started`` cards of ``cards`` in ``phrases`` phrases.

    ``now`` is the mean chance of a clean cold go at goal tempo today over the cards started;
    ``at_goal`` have climbed to their goal, ``unsure`` of them are neither owned nor sure;
    ``tempo`` is the mean tempo reached as a share of the goal; ``due`` are due today or before.
    """

    phrases: int
    cards: int
    started: int
    owned: int
    now: float
    at_goal: int
    unsure: int
    tempo: float
    due: int


def present(found: Sequence[Cell], phrases: int, cards: int, today: date) -> Present:
    """Sum the cards begun up."""
    count = max(1, len(found))
    return Present(
        phrases=phrases,
        cards=cards,
        started=len(found),
        owned=sum(cell.owned for cell in found),
        now=sum(cell.now for cell in found) / count,
        at_goal=sum(cell.tempo >= cell.goal for cell in found),
        unsure=sum(cell.level == "unsure" for cell in found),
        tempo=sum(cell.tempo / cell.goal for cell in found) / count,
        due=sum(cell.due <= today for cell in found),
    )
