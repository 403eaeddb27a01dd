"""A card's whole state, and the one step that an attempt takes it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from drillbox.memory.recall import MemoryState, Recall, after
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState, first_tempo, next_tempo


class CardState(NamedTuple):
    """What is known of a card; ``memory`` and ``due`` are None before its first attempt.

    ``days_recalled`` and ``days_lost`` count the days whose first attempt was recalled or lost,
    ``recalled_run`` those recalled in a row up to now.
    """

    memory: MemoryState | None
    tempo: TempoState
    attempts: int = 0
    due: date | None = None
    days_recalled: int = 0
    days_lost: int = 0
    recalled_run: int = 0


class Attempted(NamedTuple):
    """One attempt as the log keeps it: all that the next state depends on.

    ``tempo`` is the one that was shown and rated, ``hint`` the highest hint that was seen
    (0 to 3), ``due`` the day that was chosen then; ``in_round`` where it was part of a round.
    """

    day: date
    recall: Recall
    tempo: int
    hint: int
    due: date
    in_round: bool = False


def untried(goal: int, rules: Rules) -> CardState:
    """Return the state of a card that was never attempted; ``goal`` is its goal tempo."""
    return CardState(None, TempoState(first_tempo(goal, rules.tempo)))


def counted(recall: Recall, hint: int) -> Recall:
    """Return what a rating counts for: rough at best once the third hint has named the notes."""
    return min(recall, Recall.ROUGH) if hint >= 3 else recall


def rate(state: CardState, attempted: Attempted, goal: int, rules: Rules) -> CardState:
    """Return the state after an attempt.

    The tempo moves as ``_tempo_after`` says.
    """
    recall = counted(attempted.recall, attempted.hint)
    first = state.memory is None or attempted.day > state.memory.last_day
    lost = recall is Recall.LOST
    return CardState(
        after(state.memory, recall, attempted.day, rules.weights),
        _tempo_after(state.tempo, attempted, recall, goal, rules),
        state.attempts + 1,
        attempted.due,
        state.days_recalled + (first and not lost),
        state.days_lost + (first and lost),
        (0 if lost else state.recalled_run + 1) if first else state.recalled_run,
    )


def _tempo_after(
    own: TempoState, attempted: Attempted, recall: Recall, goal: int, rules: Rules
) -> TempoState:
    """Return the ladder's place after an attempt.

    It goes on from the tempo that was played; clean attempts in a row count only where that
    tempo didn't change. A round has one tempo for all its keys, set by the slowest: an
    attempt in one slower than the card's own moves the card only where it was lost, down
    from its own tempo.
    """
    if attempted.in_round and attempted.tempo < own.tempo:
        lost = recall is Recall.LOST
        return next_tempo(own, recall, goal, rules.tempo) if lost else own
    same = attempted.tempo == own.tempo
    played = TempoState(attempted.tempo, own.clean_run if same else 0)
    return next_tempo(played, recall, goal, rules.tempo)


def replay(goal: int, attempts: Iterable[Attempted], rules: Rules) -> CardState:
    """Return the state that a card's attempts, in the order they were made, lead to."""
    state = untried(goal, rules)
    for attempted in attempts:
        state = rate(state, attempted, goal, rules)
    return state


def owned(state: CardState, goal: int, rules: Rules) -> bool:
    """Return whether a card is owned: at goal tempo, and stable for ``owned_days`` at least."""
    return (
        state.memory is not None
        and state.tempo.tempo >= goal
        and state.memory.stability >= rules.owned_days
    )
