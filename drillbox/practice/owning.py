"""When cards came to be owned: their logs replayed, as no row keeps it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from drillbox.memory.cards import owned, rate, untried
from drillbox.memory.rules import Rules
from drillbox.store.weeks import CardLog


def turns(log: CardLog, rules: Rules) -> list[tuple[date, bool]]:
    """Return the practice days on which a card came to be owned (True) or ceased to be."""
    state, was, found = untried(log.goal, rules), False, []
    for attempted in log.attempts:
        state = rate(state, attempted, log.goal, rules)
        now = owned(state, log.goal, rules)
        if now != was:
            found.append((attempted.day, now))
        was = now
    return found


def owned_on(found: Sequence[tuple[date, bool]], day: date) -> bool:
    """Return whether a card was owned at the end of a practice day, given its turns."""
    return next((now for turn, now in reversed(found) if turn <= day), False)
