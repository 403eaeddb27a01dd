"""When cards became owned: their logs replayed, each once, as what came of it is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date

from drillbox.errors import StoreFailure
from drillbox.memory.cards import rate, untried
from drillbox.memory.rules import Rules
from drillbox.store.access import Store
from drillbox.store.turns import Kept, Turns, keep_turns, kept_turns, played_cards
from drillbox.store.weeks import CardLog, logs_of

# Goes up when memory or the ladder decide otherwise, so that what is kept is recomputed.
EDITION = 2


def all_turns(store: Store, rules: Rules, tick: Callable[[int, int], object]) -> list[Turns]:
    """Return the turns of every card in practice that was ever owned.

    Only logs that have changed since, or were read by other rules, are replayed; ``tick``
    hears how many of how many.
    """
    near = [each for each in played_cards(store) if each.highest >= each.goal]
    kept = kept_turns(store)
    stale = {}
    for each in near:
        wanted = (_print(rules, each.goal), each.attempts, each.undone)
        if each.card_id not in kept or kept[each.card_id][1:4] != wanted:
            stale[each.card_id] = wanted
    new = []
    for number, log in enumerate(logs_of(store, list(stale))):
        tick(number, len(stale))
        new.append(Kept(log.card_id, *stale[log.card_id], turns(log, rules)))
    if new:
        with suppress(StoreFailure):  # a store that may only be read is read again each time
            keep_turns(store, new)
    kept |= {each.card_id: each for each in new}
    return [kept[each.card_id].turns for each in near if each.card_id in kept]


def _print(rules: Rules, goal: int) -> str:
    """Return what tells the rules that owning depends on from any others, for one goal."""
    words = repr((EDITION, goal, rules.owned_days, rules.tempo, rules.weights))
    return hashlib.sha256(words.encode()).hexdigest()[:16]


def turns(log: CardLog, rules: Rules) -> Turns:
    """Return the practice days on which a card became owned (True) or ceased to be."""
    state, was, found = untried(log.goal, rules), False, []
    for attempted in log.attempts:
        state = rate(state, attempted, log.goal, rules)
        now = state.owned
        if now != was:
            found.append((attempted.day, now))
        was = now
    return found


def owned_on(found: Sequence[tuple[date, bool]], day: date) -> bool:
    """Return whether a card was owned at the end of a practice day, given its turns."""
    return next((now for turn, now in reversed(found) if turn <= day), False)
