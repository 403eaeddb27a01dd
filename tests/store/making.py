"""Stores with a phrase or two in them, and ratings, made in one line of a test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache

from drillbox.memory.cards import Attempted, CardState, rate
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.analysis.whole import Analysis, analyse
from drillbox.music.keys import Key, in_order, parse_key
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.store.access import Store
from drillbox.store.card_rows import card, record_attempt
from drillbox.store.phrase_rows import add_phrases
from drillbox.store.sessions import begin_session
from drillbox.store.values import (
    AttemptRecord,
    NewAttempt,
    NewCard,
    NewPhrase,
    PhraseRecord,
    new_cards,
)
from tests.music.shorthand import chart

NOW = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
DAY = date(2026, 3, 1)
ZONE = "Europe/Lisbon"
CHART = chart("Cm7 F7 | Bbmaj7 G7*")
LINE = tuple(
    LineNote(onset=CHART.meter.beat * n, length=CHART.meter.beat, pitch=parse_pitch(name))
    for n, name in enumerate(("Eb5", "D5", "C5", "A4", "Bb4"))
)


def new_phrase(title: str = "Late kettle", *, key: str = "Bb", tempo: int = 132) -> NewPhrase:
    """Return a phrase to be with twelve cards, all of them over the same chart."""
    written = Phrase(title, parse_key(key), tempo, CHART, LINE)
    cards = tuple(NewCard(each, CHART, LINE) for each in in_order(written.key, "fourths"))
    return NewPhrase(written, "fourths", cards)


def add(store: Store, *titles: str, now: datetime = NOW) -> list[PhraseRecord]:
    """Add a phrase of each title."""
    return add_phrases(store, [new_phrase(title) for title in titles], now)


def laid_out(made: NewPhrase) -> NewPhrase:
    """Return the phrase with its charts and lines moved to each key, as ``add`` moves them."""
    # Neither title nor tempo has a say in it, so that a whole law lays a few phrases out.
    nameless = replace(made.phrase, title="", tempo=60)
    cards, analysis = _laid(nameless, tuple(card.key for card in made.cards))
    return replace(made, cards=cards, analysis=analysis)


@cache
def _laid(written: Phrase, keys: tuple[Key, ...]) -> tuple[tuple[NewCard, ...], Analysis]:
    cards = (phrase_to(written, key) for key in keys)
    return new_cards(cards), analyse(written)


def add_in_keys(store: Store, *titles: str, now: datetime = NOW) -> list[PhraseRecord]:
    """Add a phrase of each title, laid out in its twelve keys."""
    return add_phrases(store, [laid_out(new_phrase(title)) for title in titles], now)


def session(store: Store, now: datetime = NOW) -> int:
    """Begin a drill session and return its number."""
    return begin_session(store, minutes=20, zone=ZONE, kind="drill", now=now).id


def step(
    state: CardState,
    recall: Recall,
    day: date,
    *,
    goal: int = 132,
    rules: Rules | None = None,
) -> tuple[Attempted, CardState]:
    """Return an attempt at the tempo shown, due again three days later, and what follows."""
    attempted = Attempted(day, recall, state.tempo.tempo, 0, day + timedelta(days=3))
    return attempted, rate(state, attempted, goal, rules or Rules())


def go(
    store: Store,
    card_id: int,
    session_id: int,
    recalls: Sequence[Recall] = (Recall.CLEAN,),
    *,
    at: datetime = NOW,
    day: date = DAY,
    rules: Rules | None = None,
) -> list[AttemptRecord]:
    """Rate a card so many times, a minute apart, and return the attempts."""
    made = []
    for number, recall in enumerate(recalls):
        found = card(store, card_id)
        before = found.state
        attempted, after = step(before, recall, day, goal=found.goal, rules=rules)
        new = NewAttempt(
            card_id,
            session_id,
            at + timedelta(minutes=number),
            ZONE,
            attempted,
            before.attempts,
            seconds=30.5,
            loops=2,
            reached=before.tempo.tempo,
        )
        made.append(record_attempt(store, new, after))
    return made
