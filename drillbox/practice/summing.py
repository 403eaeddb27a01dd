"""Sum up: what is weak, how sure that is, what would come out clean now, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal, NamedTuple

from drillbox.errors import BadInput
from drillbox.memory.candidates import Candidate, Pace, Sitting
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.rules import Rules
from drillbox.memory.weakness import WEAK, Weakness
from drillbox.music.keys import Key, parse_key
from drillbox.practice.coming import Outlook, outlook
from drillbox.practice.preferences import Preferences
from drillbox.practice.progress import WEEK, Changes, Week, changes, progress, verdicts_turned
from drillbox.practice.readiness import PiledUp, chances_of, pace_of, piled_up
from drillbox.practice.standing import (
    Cell,
    Present,
    Slipping,
    Standing,
    Waiting,
    bottlenecks,
    card_standings,
    cells_of,
    present,
    slipping,
    standings,
    weakness_of,
)
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card
from drillbox.store.first_tries import Evidence, cards_by_key, evidence, phrase_titles
from drillbox.store.values import PhraseRecord
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.practice.fits import TuneFits

Kind = Literal[
    "add", "start", "catch up", "weak key", "weak phrase", "keep", "new key", "climb", "all owned"
]
LONG = 240  # minutes of a sitting in which any chart has its time


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do next: ``kind`` says why, the rest names the card that a drill begins with.

    ``title`` and ``key`` name it, at ``tempo``; ``now`` is its chance of a clean cold go at goal
    tempo, ``at`` that at ``tempo``; a weak key or phrase has its ``share`` recalled. ``piled_up``
    is what has piled up, where that is more than a day's practice.
    """

    kind: Kind
    title: str | None = None
    key: Key | None = None
    tempo: int | None = None
    now: float | None = None
    at: float | None = None
    share: float | None = None
    piled_up: PiledUp | None = None


def advise(
    store: Store,
    pool: Sequence[Candidate],
    keys: Sequence[Standing],
    phrases: Sequence[Standing],
    cells: Sequence[Cell],
    chances: Chances,
    rules: Rules,
    pace: Pace,
) -> Advice:
    """Return the next thing to do: what a drill of the daily minutes would begin with, and why."""
    if not cells:
        return Advice("start" if pool else "add")
    if all(map(chances.is_done_with, pool)):
        return Advice("all owned")
    sitting = Sitting(LONG)
    go = next_go(pool, sitting, rules, pace, chances)
    if go is None:
        return Advice("all owned")
    chosen = next(each for each in pool if each.card_id == go.card_id)
    shown = card(store, go.card_id)
    waiting = piled_up(pool, chances, rules, pace)
    many = waiting.minutes > rules.minutes
    kind, share = _reason_for(chosen, cells, keys, phrases)
    return Advice(
        "catch up" if many else kind,
        shown.title,
        shown.key,
        go.tempo,
        chances.at_goal(chosen),
        chances.at(chosen, go.tempo, warmed=chosen.phrase_id in chances.warmed_up(sitting)),
        share,
        waiting if many else None,
    )


def _reason_for(
    chosen: Candidate,
    cells: Sequence[Cell],
    keys: Sequence[Standing],
    phrases: Sequence[Standing],
) -> tuple[Kind, float | None]:
    """Return why a card comes first, and the share recalled where that is for a weakness."""
    if not chosen.begun:
        return "new key", None
    cell = next(each for each in cells if each.card_id == chosen.card_id)
    for each in keys:
        if each.verdict == WEAK and each.id == cell.key_id:
            return "weak key", each.share
    for each in phrases:
        if each.verdict == WEAK and each.id == cell.phrase_id:
            return "weak phrase", each.share
    return "keep" if chosen.at_goal else "climb", None


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
    would take too long. For a ``lenient`` player the chances are of goes that they call fluent.
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
    slipping: tuple[Slipping, ...]
    outlook: Outlook | None
    advice: Advice
    lenient: bool


def summary(
    store: Store, preferences: Preferences, now: datetime, scope: Scope = Scope()
) -> Summary:
    """Sum up the phrases in practice.

    The estimate rests on all of them whatever the scope. Raises BadInput for a ``since`` in
    the future.
    """
    day, rules = preferences.today(now), preferences.rules
    if scope.since and scope.since > day:
        raise BadInput(f"{scope.since} is in the future", f"Today is {day}.")
    since = scope.since or _window_start(day, preferences)
    rows, fine, titles, pool, chances, every, weakness = _measured(store, preferences, day, since)
    found = [cell for cell in every if _is_in(cell, scope)]
    total = present(found, len(titles), _count_cards(store, scope, preferences), day)
    keys, phrases = _keys_and_phrases(every, weakness)
    changed = changes(store, every, scope.since or day - WEEK + timedelta(days=1), day, rules)
    if fine and scope.since is None:
        changed = _with_verdicts(changed, rows, every, weakness, preferences)
    pace = pace_of(store, preferences)
    advice = advise(store, pool, keys, phrases, every, chances, rules, pace)
    return Summary(
        day,
        scope,
        since,
        preferences.half_life,
        weakness.mean if weakness else None,
        _those_in({cell.key_id for cell in found}, keys),
        _those_in({cell.phrase_id for cell in found}, phrases),
        _single_cards(found, rows, scope),
        tuple(found),
        total,
        changed,
        bottlenecks(found),
        slipping(found, pool),
        outlook(store, preferences, day, chances, pool) if every else None,
        _advice_as_read(advice, preferences),
        chances.learned.lenient,
    )


class _Measured(NamedTuple):
    """What was played since a day, the cards with their chances, and the estimate from both."""

    rows: list[Evidence]
    fine: bool
    titles: dict[int, str]
    pool: list[Candidate]
    chances: Chances
    cells: list[Cell]
    weakness: Weakness | None


def _measured(store: Store, preferences: Preferences, day: date, since: date) -> _Measured:
    rows, fine = evidence(store, day, since, preferences.half_life)
    titles, pool = phrase_titles(store), candidates(store)
    chances = chances_of(store, preferences.rules, day, pool)
    found = cells_of(store, pool, titles, chances, preferences)
    of_card = {cell.card_id: cell for cell in found}
    weakness = weakness_of(rows, of_card, preferences.half_life)
    return _Measured(rows, fine, titles, pool, chances, found, weakness)


def _window_start(day: date, preferences: Preferences) -> date:
    """Return the day since which first tries count in the estimate."""
    return day - timedelta(days=round(HALF_LIVES * preferences.half_life))


def weak_cards(store: Store, preferences: Preferences, now: datetime) -> set[int]:
    """Return the begun cards of the keys and phrases that a summary calls weak."""
    day = preferences.today(now)
    measured = _measured(store, preferences, day, _window_start(day, preferences))
    keys, phrases = (
        {each.id for each in some if each.verdict == WEAK}
        for some in _keys_and_phrases(measured.cells, measured.weakness)
    )
    return {
        cell.card_id for cell in measured.cells if cell.key_id in keys or cell.phrase_id in phrases
    }


def _is_in(cell: Cell, scope: Scope) -> bool:
    if scope.phrase and cell.phrase_id != scope.phrase.id:
        return False
    return scope.key is None or cell.key_id == scope.key.number


def _count_cards(store: Store, scope: Scope, preferences: Preferences) -> int:
    """Count the cards in scope, begun or not."""
    found = cards_by_key(store, scope.phrase.id if scope.phrase else None)
    wanted = scope.key.number if scope.key else None
    ids = {key: preferences.shown_key(parse_key(key)).number for key in found}
    return sum(count for key, count in found.items() if wanted in {None, ids[key]})


def _advice_as_read(advice: Advice, preferences: Preferences) -> Advice:
    """Return advice with its key as the player reads it."""
    if advice.key is None:
        return advice
    return replace(advice, key=preferences.shown_key(advice.key))


def _keys_and_phrases(
    found: Sequence[Cell], weakness: Weakness | None
) -> tuple[tuple[Standing, ...], tuple[Standing, ...]]:
    """Return keys and phrases; a key goes by the name that the player reads."""
    in_keys = weakness.keys if weakness else ()
    in_phrases = weakness.phrases if weakness else ()
    return (
        standings(found, lambda cell: cell.key_id, lambda cell: cell.key.text(), in_keys),
        standings(found, lambda cell: cell.phrase_id, lambda cell: cell.title, in_phrases),
    )


def _those_in(ids: set[int], rows: tuple[Standing, ...]) -> tuple[Standing, ...]:
    """Return the keys or phrases that are in scope: each stands there with all of its cards, as
    its share recalled does."""
    return tuple(each for each in rows if each.id in ids)


def _single_cards(
    found: Sequence[Cell], rows: Sequence[Evidence], scope: Scope
) -> tuple[Standing, ...]:
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
    before = weakness_of(rows, by_id, preferences.half_life, WEEK.days)
    if before is None or now is None:
        return changed
    names = {("key", cell.key_id): cell.key.text() for cell in found}
    names |= {("phrase", cell.phrase_id): cell.title for cell in found}
    weaker, better = verdicts_turned(before, now, names)
    return replace(changed, weaker=weaker, better=better)


@dataclass(frozen=True, slots=True)
class Report:
    """What a report shows: the summary of all phrases in practice, the latest weeks, the tunes."""

    summary: Summary
    weeks: tuple[Week, ...]
    tunes: tuple[TuneFits, ...] = ()


def report_of(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = silent,
) -> Report:
    """Return what the report shows; ``tick`` hears of cards replayed, as in ``progress``."""
    found = summary(store, preferences, now)
    tunes = _tunes_with_fits(store, preferences, found.today)
    return Report(found, progress(store, preferences, now, weeks, tick), tunes)


def _tunes_with_fits(store: Store, preferences: Preferences, day: date) -> tuple[TuneFits, ...]:
    from drillbox.practice.fits import fits_in, repertoire  # only for a report
    from drillbox.store.tune_rows import list_tunes

    records = list_tunes(store)
    if not records:
        return ()
    own = repertoire(store, preferences.rules, day)
    return tuple(fits_in(each.tune, own, preferences) for each in records)
