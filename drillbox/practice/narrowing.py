"""Narrow a drill session to some phrases, keys or tags, to the weak, the new or the slow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from drillbox.errors import BadInput
from drillbox.memory.candidates import Candidate
from drillbox.music.keys import parse_key
from drillbox.output import counted
from drillbox.practice.gigs import goals_for
from drillbox.practice.library import tagged
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.phrase_rows import find_in_practice, list_phrases

SLOWEST, FEWEST = 3, 12
"""``--slow`` takes a third of the started keys that are below goal, twelve at least."""


@dataclass(frozen=True, slots=True)
class Narrowing:
    """What a session is narrowed to. Phrases, keys, tags and gig all hold; of the rest any may."""

    phrases: Sequence[str] = ()
    keys: Sequence[str] = ()
    tags: Sequence[str] = ()
    weak: bool = False
    new: bool = False
    slow: bool = False
    gig: str | None = None

    @property
    def asked(self) -> bool:
        """Return whether it narrows anything."""
        named = (self.phrases, self.keys, self.tags, self.gig)
        return any((*named, self.weak, self.new, self.slow))


class Narrowed(NamedTuple):
    """The cards that may come, and a line that says what is left out.

    ``goals`` are the tempos at which a gig wants them, none where they are for no gig.
    """

    only: frozenset[int]
    line: str
    goals: Mapping[int, int]


def narrow(
    store: Store, preferences: Preferences, wanted: Narrowing, now: datetime
) -> Narrowed | None:
    """Return what a session is narrowed to, None where it isn't.

    Raises NotFound for a phrase or tag that isn't there, BadInput where nothing is left.
    """
    if not wanted.asked:
        return None
    pool = candidates(store)
    kept = pool
    listed = list_phrases(store)
    if wanted.phrases:
        numbers = {find_in_practice(store, each).id for each in wanted.phrases}
        kept = [card for card in kept if card.phrase_id in numbers]
    if wanted.tags:
        numbers = {each.id for tag in wanted.tags for each in tagged(listed, tag)}
        kept = [card for card in kept if card.phrase_id in numbers]
    if wanted.keys:
        kept = _cards_in_keys(kept, wanted.keys, preferences)
    if wanted.weak or wanted.new or wanted.slow:
        ids = _cards_of_kinds(store, preferences, kept, wanted, now)
        kept = [card for card in kept if card.card_id in ids]
    goals: Mapping[int, int] = {}
    day = preferences.today(now)
    if wanted.gig is not None:
        goals = goals_for(store, preferences, wanted.gig, day)
        kept = [card for card in kept if card.card_id in goals]
    if not kept:
        raise BadInput("None of your keys matches all of that", "Ask for less at once.")
    line = _counts_in_words(pool, kept, day.toordinal())
    return Narrowed(frozenset(card.card_id for card in kept), line, goals)


def _cards_in_keys(
    pool: Sequence[Candidate], texts: Sequence[str], preferences: Preferences
) -> list[Candidate]:
    """Return the cards in keys as the player reads them, whatever their spelling."""
    wanted = {parse_key(text).number for text in texts}
    return [card for card in pool if preferences.shown_key(parse_key(card.key)).number in wanted]


def _cards_of_kinds(
    store: Store,
    preferences: Preferences,
    pool: Sequence[Candidate],
    wanted: Narrowing,
    now: datetime,
) -> set[int]:
    ids: set[int] = set()
    if wanted.new:
        ids |= {card.card_id for card in pool if not card.begun}
    if wanted.slow:
        below = sorted(
            (card for card in pool if card.begun and not card.at_goal),
            key=lambda card: card.tempo / card.goal,
        )
        ids |= {card.card_id for card in below[: max(FEWEST, len(below) // SLOWEST)]}
    if wanted.weak:
        ids |= _weak_cards(store, preferences, now)
    return ids


def _weak_cards(store: Store, preferences: Preferences, now: datetime) -> set[int]:
    """Return the started cards of keys and phrases that the summary calls weak."""
    from drillbox.practice.summing import weak_cards  # only where the weak are asked for

    found = weak_cards(store, preferences, now)
    if not found:
        raise BadInput(
            "None of your keys or phrases can be called weak yet", "Drill without --weak."
        )
    return found


def _counts_in_words(pool: Sequence[Candidate], kept: Sequence[Candidate], day: int) -> str:
    """Say how many keys may come, how many are left out and how many of those are due."""
    if len(kept) == len(pool):
        return f"Nothing is left out: {counted(len(pool), 'key')}."
    ids = {card.card_id for card in kept}
    out = [card for card in pool if card.card_id not in ids]
    due = sum(card.begun and card.due <= day for card in out)
    of_them = f", {due} of them due" if due else ""
    return f"Narrowed to {counted(len(kept), 'key')}; {counted(len(out), 'key')} left out{of_them}."
