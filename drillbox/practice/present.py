"""The player's open cards as they stand today: recall now, tempo reached, due, owned."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Literal, NamedTuple

from drillbox.memory.recall import chance, curve
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key, parse_key
from drillbox.store.evidence import OpenCard

Level = Literal["owned", "sure", "fading", "rusty"]
LEVELS: tuple[Level, ...] = ("owned", "sure", "fading", "rusty")


class Cell(NamedTuple):
    """One open card today.

    ``key_id`` numbers the key; see the function. ``now`` is its retrievability. ``level``: rusty
    below ``break_below`` (it comes back slower), fading below the wanted retention, else owned
    or sure.
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
    due: date
    last_day: date
    attempts: int
    quarters: float


def key_id(key: Key) -> int:
    """Return what makes two keys the same however they are spelled: 0 to 11 major, 12 to 23."""
    return key.tonic.pitch_class + (12 if key.mode == "minor" else 0)


def cells(
    cards: Iterable[OpenCard],
    titles: Mapping[int, str],
    today: date,
    rules: Rules,
    shown: Callable[[Key], Key],
) -> list[Cell]:
    """Return the open cards as they stand on a practice day.

    ``shown`` turns a key at concert pitch into the one that the player reads.
    """
    decay, factor = curve(rules.weights)
    keys: dict[str, tuple[Key, int]] = {}
    found = []
    for card in cards:
        if card.key not in keys:
            key = shown(parse_key(card.key))
            keys[card.key] = key, key_id(key)
        now = chance(card.stability, (today - card.last_day).days, decay, factor)
        owned = card.tempo >= card.goal and card.stability >= rules.owned_days
        found.append(
            Cell(
                card.id, card.phrase_id, titles[card.phrase_id], *keys[card.key], card.position,
                card.goal, card.tempo, now, owned, _level(now, owned, rules), card.due,
                card.last_day, card.attempts, card.quarters,
            )
        )  # fmt: skip
    return found


def _level(now: float, owned: bool, rules: Rules) -> Level:
    if now < rules.tempo.break_below:
        return "rusty"
    # A card is due on the day nearest to the wanted retention: half a percent is rounding.
    if now < rules.retention - 0.005:
        return "fading"
    return "owned" if owned else "sure"


class Present(NamedTuple):
    """Memory now, apart from ability: over ``open`` cards of ``cards`` in ``phrases`` phrases.

    ``now`` is their mean retrievability; ``under`` so many lie below the wanted ``retention``;
    ``tempo`` is their mean tempo as a share of the goal; ``due`` are due today or before.
    """

    phrases: int
    cards: int
    open: int
    owned: int
    now: float
    under: int
    retention: float
    tempo: float
    due: int


def present(found: Sequence[Cell], phrases: int, cards: int, today: date, rules: Rules) -> Present:
    """Sum the open cards up."""
    count = max(1, len(found))
    return Present(
        phrases=phrases,
        cards=cards,
        open=len(found),
        owned=sum(cell.owned for cell in found),
        now=sum(cell.now for cell in found) / count,
        under=sum(cell.level in {"fading", "rusty"} for cell in found),
        retention=rules.retention,
        tempo=sum(cell.tempo / cell.goal for cell in found) / count,
        due=sum(cell.due <= today for cell in found),
    )
