"""The invented player's past is a past that drilling could have made."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest

from drillbox.memory.cards import replay
from drillbox.memory.day import practice_day
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.practice.invented import AWAY, DAYS, InventedCard, Past, build_history

TODAY = date(2026, 3, 30)  # the weeks before it hold a change of clocks
ZONE = "Europe/Lisbon"
CARDS = tuple(
    InventedCard(
        id=phrase * 12 + position + 1,
        phrase_id=phrase,
        position=position,
        tonic=(phrase * 7 + position * 5) % 12,
        quarters=16.0,
        goal=120 + phrase,
        since=phrase * 4,
        hard=phrase == 2,
        seed=f"line {phrase}/{position}",
    )
    for phrase in range(6)
    for position in range(12)
)
BY_ID = {card.id: card for card in CARDS}


@pytest.fixture(scope="module")
def past() -> Past:
    return build_history(CARDS, TODAY, Rules(), ZONE)


def test_is_the_same_every_time(past: Past) -> None:
    """The same day gives the same past, another seed another one."""
    assert played_in(build_history(CARDS, TODAY, Rules(), ZONE)) == played_in(past)
    assert played_in(build_history(CARDS, TODAY, Rules(), ZONE, seed=8)) != played_in(past)


def played_in(past: Past) -> list[object]:
    """Return all of a past but the attempts' ids, which are drawn anew each time."""
    attempts = [replace(each, uid="") for one in past.sessions for each in one.attempts]
    return [past.states, attempts, [replace(each, attempts=()) for each in past.sessions]]


def test_states_are_what_the_attempts_lead_to(past: Past) -> None:
    """Replaying a card's attempts gives exactly its state; cards never attempted have none."""
    made: dict[int, list] = {}
    for session in past.sessions:
        for attempt in session.attempts:
            before = made.setdefault(attempt.card_id, [])
            assert attempt.seen_attempts == len(before)
            before.append(attempt.attempted)
    assert made.keys() == past.states.keys()
    for card_id, attempts in made.items():
        assert replay(BY_ID[card_id].goal, attempts, Rules()) == past.states[card_id]


def test_sittings(past: Past) -> None:
    """Sittings follow one another up to yesterday, a quarter of an hour to twenty minutes long."""
    days = []
    for session in past.sessions:
        day = practice_day(session.started_at, ZONE, 4)
        assert {attempt.attempted.day for attempt in session.attempts} == {day}
        times = [session.started_at, *(a.at for a in session.attempts), session.ended_at]
        assert times == sorted(times)
        assert session.ended_at - session.started_at <= timedelta(minutes=session.minutes + 2)
        days.append(day)
    assert days == sorted(set(days))
    assert (days[0], days[-1]) == (TODAY - timedelta(days=DAYS), TODAY - timedelta(days=1))
    assert 0.6 * DAYS < len(days) < 0.9 * DAYS
    assert not {TODAY - timedelta(days=DAYS - away) for away in AWAY} & set(days)
    settled = [s.ended_at - s.started_at for s in past.sessions[15:]]
    assert timedelta(minutes=12) < sum(settled, timedelta()) / len(settled) < timedelta(minutes=20)


def test_starts_keys_in_order(past: Past) -> None:
    """Keys of a phrase start in their order, and none before the phrase is in."""
    opened: list[tuple[date, int]] = []
    for session in past.sessions:
        for attempt in session.attempts:
            if attempt.seen_attempts == 0:
                opened.append((attempt.attempted.day, attempt.card_id))
    for phrase in range(6):
        positions = [BY_ID[id_].position for _, id_ in opened if BY_ID[id_].phrase_id == phrase]
        assert positions == list(range(len(positions)))
    for day, card_id in opened:
        assert (day - TODAY).days + DAYS >= BY_ID[card_id].since


def test_is_uneven(past: Past) -> None:
    """B, E and F sharp and the hard phrase are clean less often, at a slower tempo, as meant."""
    clean: Counter[str] = Counter()
    tempo: Counter[str] = Counter()
    played: Counter[str] = Counter()
    for session in past.sessions:
        for attempt in session.attempts:
            card = BY_ID[attempt.card_id]
            for name in ("weak key" if card.tonic in {11, 4, 6} else "key",
                         "hard phrase" if card.hard else "phrase"):  # fmt: skip
                played[name] += 1
                clean[name] += attempt.attempted.recall >= Recall.CLEAN
                tempo[name] += attempt.attempted.tempo / card.goal
    for less, more in (("weak key", "key"), ("hard phrase", "phrase")):
        assert clean[less] / played[less] < clean[more] / played[more] - 0.05
        assert tempo[less] / played[less] < tempo[more] / played[more] - 0.02
    assert min(played.values()) > 40


def test_tempo_is_the_one_shown(past: Past) -> None:
    """Each warm go is rated at the tempo that the ladder had come to, and hints are few."""
    by_card: dict[int, list] = {}
    for session in past.sessions:
        for attempt in session.attempts:
            by_card.setdefault(attempt.card_id, []).append(attempt.attempted)
    for card_id, attempts in by_card.items():
        for count, (_, later) in enumerate(pairwise(attempts), start=1):
            state = replay(BY_ID[card_id].goal, attempts[:count], Rules())
            if later.day == attempts[count - 1].day:
                assert later.tempo == state.tempo.tempo
            else:
                assert later.tempo <= state.tempo.tempo
    hints = Counter(attempted.hint for attempts in by_card.values() for attempted in attempts)
    assert set(hints) == {0, 1, 2}
    assert hints[0] > 0.9 * sum(hints.values())
