"""Sum up: which keys and phrases are weak, how sure that is, what would come out clean now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from drillbox.errors import BadInput
from drillbox.memory.weakness import Weakness
from drillbox.music.keys import Key, parse_key
from drillbox.practice.ahead.coming import Outlook, outlook
from drillbox.practice.ahead.readiness import chances_of, pace_of
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.summary.advice import Advice, Waiting, advise, bottlenecks
from drillbox.practice.summary.cells import Cell, Present, cells, present
from drillbox.practice.summary.changes import WEEK, Changes, changes, turned
from drillbox.practice.summary.standing import Standing, card_standings, standings, weigh
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.first_tries import Evidence, cards_by_key, evidence, open_cards, phrase_titles
from drillbox.store.values import PhraseRecord

# Attempts older than so many half-lives weigh under 1/256: too little to be read.
HALF_LIVES = 8


@dataclass(frozen=True, slots=True)
class Scope:
    """What a summary is narrowed to: a phrase, a key, days from ``since`` on; None for all."""

    phrase: PhraseRecord | None = None
    key: Key | None = None
    since: date | None = None


@dataclass(frozen=True, slots=True)
class Summary:
    """All that a summary shows.

    ``keys`` and ``phrases`` stand weakest first; ``cards`` only where the scope names a phrase
    or a key. ``cells`` are the cards begun in scope, by phrase and key. ``mean`` is the share
    recalled for the player's mean key and phrase, None while nothing counts. ``advice`` and
    ``outlook`` are of all phrases whatever the scope, as a drill is; ``outlook`` is None where it
    would take too long.
    """

    today: date
    scope: Scope
    since: date
    half_life: float
    mean: float | None
    keys: tuple[Standing, ...]
    phrases: tuple[Standing, ...]
    cards: tuple[Standing, ...]
    cells: tuple[Cell, ...]
    present: Present
    changes: Changes
    waiting: tuple[Waiting, ...]
    outlook: Outlook | None
    advice: Advice


def summary(
    store: Store, preferences: Preferences, now: datetime, scope: Scope = Scope()
) -> Summary:
    """Sum up the phrases in practice.

    The estimate rests on all of them whatever the scope. Raises BadInput for a ``since`` in
    the future.
    """
    day, rules = preferences.today(now), preferences.rules
    if scope.since and scope.since > day:
        raise BadInput(f"{scope.since} lies in the future", f"Today is {day}.")
    window = timedelta(days=round(HALF_LIVES * preferences.half_life))
    since = scope.since or day - window
    rows, fine = evidence(store, day, since, preferences.half_life)
    titles = phrase_titles(store)
    pool = candidates(store)
    chances = chances_of(store, rules, day, pool)
    now_at_goal = {each.card_id: chances.at_goal(each) for each in pool if each.begun}
    every = cells(open_cards(store), titles, now_at_goal, rules, preferences.shown_key)
    weakness = weigh(rows, {cell.card_id: cell for cell in every}, preferences.half_life)
    found = [cell for cell in every if _in(cell, scope)]
    total = present(found, len(titles), _cards_in(store, scope, preferences), day)
    keys, phrases = _both(found, weakness)
    changed = changes(store, every, scope.since or day - WEEK + timedelta(days=1), day, rules)
    if fine and scope.since is None:
        changed = _with_verdicts(changed, rows, every, weakness, preferences)
    advice = advise(store, pool, keys, phrases, every, chances, rules, pace_of(store, preferences))
    return Summary(
        day,
        scope,
        since,
        preferences.half_life,
        weakness.mean if weakness else None,
        keys,
        phrases,
        _cards(found, rows, scope),
        tuple(found),
        total,
        changed,
        bottlenecks(found),
        outlook(store, preferences, day, chances, pool) if every else None,
        _as_read(advice, preferences),
    )


def _in(cell: Cell, scope: Scope) -> bool:
    if scope.phrase and cell.phrase_id != scope.phrase.id:
        return False
    return scope.key is None or cell.key_id == scope.key.number


def _cards_in(store: Store, scope: Scope, preferences: Preferences) -> int:
    """Count the cards in scope, begun or not."""
    found = cards_by_key(store, scope.phrase.id if scope.phrase else None)
    wanted = scope.key.number if scope.key else None
    ids = {key: preferences.shown_key(parse_key(key)).number for key in found}
    return sum(count for key, count in found.items() if wanted in {None, ids[key]})


def _as_read(advice: Advice, preferences: Preferences) -> Advice:
    """Return advice with its key as the player reads it."""
    if advice.key is None:
        return advice
    return replace(advice, key=preferences.shown_key(advice.key))


def _both(
    found: Sequence[Cell], weakness: Weakness | None
) -> tuple[tuple[Standing, ...], tuple[Standing, ...]]:
    """Return keys and phrases; a key goes by the name that the player reads."""
    in_keys = weakness.keys if weakness else ()
    in_phrases = weakness.phrases if weakness else ()
    keys, phrases = {cell.key_id for cell in found}, {cell.phrase_id for cell in found}

    return (
        standings(found, lambda cell: cell.key_id, lambda cell: cell.key.text(),
                  [each for each in in_keys if each.id in keys], len(in_keys)),
        standings(found, lambda cell: cell.phrase_id, lambda cell: cell.title,
                  [each for each in in_phrases if each.id in phrases], len(in_phrases)),
    )  # fmt: skip


def _cards(found: Sequence[Cell], rows: Sequence[Evidence], scope: Scope) -> tuple[Standing, ...]:
    if scope.phrase:
        return card_standings(found, rows, lambda cell: cell.key.text())
    if scope.key:
        return card_standings(found, rows, lambda cell: cell.title)
    return ()


def _with_verdicts(
    changed: Changes,
    rows: Sequence[Evidence],
    found: Sequence[Cell],
    now: Weakness | None,
    preferences: Preferences,
) -> Changes:
    """Add what were first called weak this week, and what no longer is."""
    by_id = {cell.card_id: cell for cell in found}
    before = weigh(rows, by_id, preferences.half_life, WEEK.days)
    if before is None or now is None:
        return changed
    names = {("key", cell.key_id): cell.key.text() for cell in found}
    names |= {("phrase", cell.phrase_id): cell.title for cell in found}
    weaker, better = turned(before, now, names)
    return replace(changed, weaker=weaker, better=better)
