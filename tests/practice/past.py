"""A past that stays as it is: eight weeks of attempts by a fixed plan and seeded dice.

What is drilled when follows from the plan alone, not from what drillbox would choose, so that
screens made from it change only when what they show changes.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import NamedTuple

from drillbox.memory.cards import Attempted, CardState, rate, untried
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.card_rows import cards_of
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import add_phrases
from drillbox.store.sessions import PastSession, add_history
from drillbox.store.values import NewAttempt
from tests.store.making import new_phrase

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
DAYS = 56
PHRASES = (
    ("Paper lantern", "Bb"), ("Slow lift", "F"), ("Third floor back", "C"),
    ("Rain on the awning, twice", "Eb"), ("Cold stove", "Cm"), ("Night porter", "Gm"),
)  # fmt: skip
GAPS = (1, 2, 4, 7, 11, 16)
HARD_KEYS, HARD_PHRASE = {6: 0.45, 11: 0.35}, 3


class Planned(NamedTuple):
    """One day's work at a card: what number of day, and which card."""

    day: int
    card_id: int


def build_past(place: Path | str) -> None:
    """Make the store at a path, or in the empty database at an address."""
    started = NOW - timedelta(days=DAYS + 1)
    with open_store(place, now=started, backups=False) as store:
        records = add_phrases(
            store,
            [new_phrase(title, key=key, tempo=120) for title, key in PHRASES],
            started,
        )
        cards = {card.id: card for record in records for card in cards_of(store, record.id)}
        dice = random.Random(7)
        states = {card_id: untried(120, Rules()) for card_id in cards}
        sessions: dict[int, list[NewAttempt]] = {}
        for day, card_id in sorted(_plan()):
            hard = HARD_KEYS.get(cards[card_id].key.tonic.pitch_class, 0.0)
            hard += 0.4 if (card_id - 1) // 12 == HARD_PHRASE else 0.0
            at_day = sessions.setdefault(day, [])
            state, made = _attempts(card_id, states[card_id], day, hard, dice, len(at_day))
            states[card_id] = state
            at_day += made
        past = [
            PastSession(_at(day, 0), _at(day, 40), 20, "UTC", tuple(made))
            for day, made in sorted(sessions.items())
        ]
        add_history(store, past, {key: each for key, each in states.items() if each.attempts})


def _plan() -> Iterator[Planned]:
    """Yield the days on which each card is played: opened in turn, then at wider gaps."""
    for phrase in range(len(PHRASES)):
        for position in range(12):
            day = 3 * phrase + 4 * position
            for gap in (0, *GAPS):
                day += gap
                if day < DAYS:
                    yield Planned(day, phrase * 12 + position + 1)


def _at(day: int, minute: int) -> datetime:
    at = datetime.combine(TODAY - timedelta(days=DAYS - day), time(18), UTC)
    return at + timedelta(minutes=minute)


def _attempts(
    card_id: int, state: CardState, day: int, hard: float, dice: random.Random, place: int
) -> tuple[CardState, list[NewAttempt]]:
    """Return the state after a card's attempts of a day, and the attempts: two after a lost one."""
    made = []
    while True:
        luck = dice.random()
        recall = Recall.CLEAN if luck > 0.2 + hard else Recall.ROUGH if luck > 0.1 else Recall.LOST
        if made:
            recall = Recall.CLEAN
        elif luck > 0.8:
            recall = Recall.FLUENT
        # The first phrase's player turns the tempo up.
        tempo = min(120, state.tempo.tempo + (24 if card_id <= 12 else 6))
        today = TODAY - timedelta(days=DAYS - day)
        due = today + timedelta(days=GAPS[min(state.attempts, 5)])
        attempted = Attempted(today, recall, tempo, int(hard > 0 and luck < 0.1), due)
        made.append(
            NewAttempt(card_id, 0, _at(day, place + len(made)), "UTC", attempted, state.attempts,
                       seconds=30.0 + card_id % 7, loops=2)
        )  # fmt: skip
        state = rate(state, attempted, 120, Rules())
        if recall is not Recall.LOST:
            return state, made
