"""The one model of a clean go, fitted to the player's own cold goes, and today's chances by it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from drillbox.memory.candidates import Candidate
from drillbox.memory.chances import Chances
from drillbox.memory.learning import LATEST, learn
from drillbox.memory.rules import Rules
from drillbox.store.access import Store
from drillbox.store.attempts import latest_firsts
from drillbox.store.card_rows import candidates


def chances_of(
    store: Store, rules: Rules, day: date, pool: Sequence[Candidate] | None = None
) -> Chances:
    """Return the chances of all cards in practice on a day; ``pool`` are they, where known."""
    pool = candidates(store) if pool is None else pool
    return Chances(learn(latest_firsts(store, LATEST), pool), pool, day.toordinal(), rules)
