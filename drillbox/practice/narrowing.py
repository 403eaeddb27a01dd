"""Narrow a drill session to some phrases, keys or tags, to the weak, the new or the slow."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from shlex import quote
from typing import NamedTuple, NoReturn

from drillbox.errors import BadInput
from drillbox.memory.candidates import Candidate
from drillbox.music.keys import parse_key
from drillbox.output import counted
from drillbox.practice.gigs import goals_for
from drillbox.practice.library import tagged
from drillbox.practice.preferences import Preferences, card_in
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, cards_of
from drillbox.store.naming import pasted
from drillbox.store.phrase_rows import find_in_practice, list_phrases, phrase
from drillbox.store.values import PhraseOverview

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
        named = (self.phrases, self.keys, self.tags, self.gig is not None)
        return any((*named, self.weak, self.new, self.slow))

    def which(self, noun: str) -> str:
        """Return how phrases or keys are spoken of, as in: your keys, these keys."""
        named = self.phrases or self.tags or (noun == "keys" and self.keys)
        return f"{'these' if named else 'your'} {noun}"


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

    Raises NotFound for a phrase or tag that isn't there, BadInput where nothing is left, with
    the reason of the first word that leaves none.
    """
    if not wanted.asked:
        return None
    pool = candidates(store)
    kept = _cards_of_phrases(store, pool, wanted)
    if wanted.keys:
        kept = _cards_in_keys(store, kept, wanted, preferences)
    goals: Mapping[int, int] = {}
    day = preferences.today(now)
    if wanted.gig is not None:
        goals = goals_for(store, preferences, wanted.gig, day)
        kept = [card for card in kept if card.card_id in goals]
        if not kept:
            raise BadInput(
                f"None of {wanted.which('keys')} is to be drilled for {wanted.gig!r}",
                f"What it asks for: drillbox gig show {pasted(wanted.gig)}",
            )
    if wanted.weak or wanted.new or wanted.slow:
        kept = _cards_of_kinds(store, preferences, kept, wanted, now)
    line = _counts_in_words(pool, kept, day.toordinal())
    return Narrowed(frozenset(card.card_id for card in kept), line, goals)


def _cards_of_phrases(
    store: Store, pool: Sequence[Candidate], wanted: Narrowing
) -> Sequence[Candidate]:
    """Return the cards of the phrases and tags that are named, all where none is."""
    kept = pool
    if wanted.phrases:
        numbers = {find_in_practice(store, each).id for each in wanted.phrases}
        kept = [card for card in kept if card.phrase_id in numbers]
    if wanted.tags:
        listed = list_phrases(store)
        numbers = {each.id for tag in wanted.tags for each in tagged(listed, tag)}
        kept = [card for card in kept if card.phrase_id in numbers]
        if not kept:
            raise BadInput(
                f"None of these phrases has the tag {' or '.join(map(repr, wanted.tags))}",
                "Leave out --tag, or name other phrases.",
            )
    return kept


def _cards_in_keys(
    store: Store, pool: Sequence[Candidate], wanted: Narrowing, preferences: Preferences
) -> list[Candidate]:
    """Return the cards in keys as the player reads them, whatever their spelling."""
    numbers = {parse_key(text).number for text in wanted.keys}
    kept = [card for card in pool if preferences.shown_key(parse_key(card.key)).number in numbers]
    if not kept:
        _refuse_keys(store, {card.phrase_id for card in pool}, wanted, preferences)
    return kept


def _refuse_keys(
    store: Store, phrases: Collection[int], wanted: Narrowing, preferences: Preferences
) -> NoReturn:
    """Raise BadInput for keys that are put aside, or that none of some phrases is played in."""
    for each in list_phrases(store):
        if each.aside and each.id in phrases:
            _refuse_put_aside(store, each, wanted, preferences)
    if len(phrases) == 1:
        (number,) = phrases
        record = phrase(store, number)
        card_in(record.phrase, cards_of(store, number), wanted.keys[0], preferences)  # raises
    raise BadInput(
        f"None of {wanted.which('phrases')} is played in {' or '.join(wanted.keys)}",
        "Each one's keys: drillbox show PHRASE",
    )


def _refuse_put_aside(
    store: Store, listed: PhraseOverview, wanted: Narrowing, preferences: Preferences
) -> None:
    """Raise BadInput where one of the keys is put aside for a phrase."""
    away = {
        preferences.shown_key(card.key).number for card in cards_of(store, listed.id) if card.aside
    }
    for text in wanted.keys:
        if parse_key(text).number in away:
            raise BadInput(
                f"{text} is put aside for {listed.title!r}",
                f"Bring it back: drillbox edit {pasted(listed.title)} --back {quote(text)}",
            )


def _cards_of_kinds(
    store: Store,
    preferences: Preferences,
    pool: Sequence[Candidate],
    wanted: Narrowing,
    now: datetime,
) -> list[Candidate]:
    """Return the weak cards, the new and the slow, each where it is asked for."""
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
        from drillbox.practice.summing import weak_cards  # only where the weak are asked for

        ids |= weak_cards(store, preferences, now)
    kept = [card for card in pool if card.card_id in ids]
    if not kept:
        raise _none_of_kinds(wanted)
    return kept


def _none_of_kinds(wanted: Narrowing) -> BadInput:
    """Return that nothing is weak, new or slow, as far as that was asked for."""
    said = {
        "weak": "can be called weak",
        "new": "is still to be started",
        "slow": "is started and below its goal",
    }
    asked = [name for name in said if getattr(wanted, name)]
    gig = f" for {wanted.gig!r}" if wanted.gig is not None else ""
    return BadInput(
        f"None of {wanted.which('keys')}{gig} {' or '.join(said[name] for name in asked)}",
        f"Drill without {' and '.join(f'--{name}' for name in asked)}"
        f"{', or without --gig' if gig else ''}.",
    )


def _counts_in_words(pool: Sequence[Candidate], kept: Sequence[Candidate], day: int) -> str:
    """Say how many keys may come, how many are left out and how many of those are due."""
    if len(kept) == len(pool):
        return f"Nothing is left out: {counted(len(pool), 'key')}."
    ids = {card.card_id for card in kept}
    out = [card for card in pool if card.card_id not in ids]
    due = sum(card.begun and card.due <= day for card in out)
    of_them = f", {due} of them due" if due else ""
    return f"Narrowed to {counted(len(kept), 'key')}; {counted(len(out), 'key')} left out{of_them}."
