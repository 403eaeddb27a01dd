"""How often the player's ratings are the ones that were proposed from listening."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import NamedTuple

from drillbox.music.keys import Key, parse_key
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.log import compared

LATELY = timedelta(days=28)
TELLING = 3
"""Kinder or harder ratings in one key from which on that key is named."""


class Agreement(NamedTuple):
    """Attempts heard, and those rated as proposed; the same of the latest four weeks.

    ``kinder`` and ``harder`` count the others; ``kindest`` is the key where most of the
    kinder ones are, where they are several, as the player reads it; ``hardest`` likewise.
    """

    heard: int
    agreed: int
    lately: int
    agreed_lately: int
    kinder: int
    harder: int
    kindest: Key | None
    hardest: Key | None


def agreement(store: Store, preferences: Preferences, today: date) -> Agreement | None:
    """Return how the ratings agree with what was heard; None where nothing was."""
    rows = compared(store, today - LATELY)
    if not rows:
        return None
    kinder, harder = Counter[str](), Counter[str]()
    for row in rows:
        kinder[row.key] += row.attempts if row.apart > 0 else 0
        harder[row.key] += row.attempts if row.apart < 0 else 0

    def most(counts: Counter[str]) -> Key | None:
        key, count = counts.most_common(1)[0]
        return preferences.shown_key(parse_key(key)) if count >= TELLING else None

    same = [row for row in rows if row.apart == 0]
    return Agreement(
        sum(row.attempts for row in rows),
        sum(row.attempts for row in same),
        sum(row.latest for row in rows),
        sum(row.latest for row in same),
        kinder.total(),
        harder.total(),
        most(kinder),
        most(harder),
    )
