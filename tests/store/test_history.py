"""A past brought in at once reads back like one that was drilled."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy.exc import IntegrityError

from drillbox.memory.cards import replay, untried
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.history import PastSession, add_history
from drillbox.store.sessions import open_sessions
from drillbox.store.values import NewAttempt
from tests.store.making import DAY, NOW, ZONE, add, step
from tests.store.reading import attempts_of


def test_reads_back(store: Store) -> None:
    """Attempts keep session, order and first of day; each card stands where they lead."""
    record = add(store, "Late kettle")[0]
    card = cards_of(store, record.id)[0]
    state, sessions = untried(132, Rules()), []
    for days in (2, 1):
        then, attempts = NOW - timedelta(days=days), []
        for minute, recall in ((1, Recall.LOST), (5, Recall.CLEAN)):
            attempted, after = step(state, recall, DAY - timedelta(days=days))
            at = then + timedelta(minutes=minute)
            attempts.append(NewAttempt(card.id, 0, at, ZONE, attempted, state.attempts, 31.5, 2))
            state = after
        sessions.append(PastSession(then, then + timedelta(minutes=20), 20, ZONE, tuple(attempts)))
    add_history(store, sessions, {card.id: state})

    found = attempts_of(store, card.id)
    assert [(each.recall, each.first_of_day, each.seconds, each.loops) for each in found] == [
        (Recall.LOST, True, 31.5, 2),
        (Recall.CLEAN, False, 31.5, 2),
    ] * 2
    assert len({each.session_id for each in found}) == 2
    assert {each.session_id for each in found[:2]} == {found[0].session_id}
    stored = cards_of(store, record.id)[0]
    assert stored.opened_day == DAY - timedelta(days=2)
    assert stored.state == state == replay(132, (each.attempted() for each in found), Rules())
    assert open_sessions(store, NOW - timedelta(days=1)) == []


def test_all_or_nothing(store: Store) -> None:
    """Where one attempt can't be stored, no session is."""
    record = add(store, "Late kettle")[0]
    card = cards_of(store, record.id)[0]
    attempted, after = step(untried(132, Rules()), Recall.CLEAN, DAY)
    good = NewAttempt(card.id, 0, NOW, ZONE, attempted, 0)
    bad = NewAttempt(card.id + 999, 0, NOW, ZONE, attempted, 0)
    session = PastSession(NOW, NOW + timedelta(minutes=1), 20, ZONE, (good, bad))
    with pytest.raises(IntegrityError):
        add_history(store, [session], {card.id: after})
    assert attempts_of(store, card.id) == []
    assert cards_of(store, record.id)[0].state.attempts == 0
