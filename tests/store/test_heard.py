"""What was heard of an attempt stands beside it, travels with it, and holds no sound."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.practice.preferences import preferences_from
from drillbox.practice.rating import Agreement, agreement
from drillbox.screen.look import Look
from drillbox.screen.summary import agreement_lines
from drillbox.store.card_rows import card, cards_of, record_attempt
from drillbox.store.log import ratings_beside_proposals
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.reckoning import undo_attempt
from drillbox.store.values import HeardAttempt, NewAttempt
from tests.store.making import DAY, NOW, ZONE, add, session, step
from tests.store.reading import document, members_in

FEATURES = {"notes": 14, "missed": 2, "late": [0.5]}


def rate(store, card_id: int, recall: Recall, heard: HeardAttempt | None, days: int = 0, hint=0):
    """Store one attempt with what was heard of it."""
    before = card(store, card_id).state
    attempted, after = step(before, recall, DAY + timedelta(days=days))
    attempted = attempted._replace(hint=hint)
    new = NewAttempt(card_id, session(store), NOW + timedelta(days=days), ZONE, attempted,
                     before.attempts, heard=heard)  # fmt: skip
    return record_attempt(store, new, after), before


def heard(proposed: Recall | None, other: Recall | None = None) -> HeardAttempt:
    """Return what was heard, by MIDI."""
    return HeardAttempt("midi", proposed, other, FEATURES)


def test_it_travels_with_its_attempt(store, empty, tmp_path):
    """Exported, imported into an empty store, exported again: the same; twice changes nothing."""
    (phrase,) = add(store, "Late kettle")
    first, second = (each.id for each in cards_of(store, phrase.id)[:2])
    rate(store, first, Recall.ROUGH, heard(Recall.CLEAN, Recall.FLUENT))
    rate(store, first, Recall.CLEAN, None, days=1)
    rate(store, second, Recall.LOST, heard(None))
    told = document(store)
    assert [each.get("heard") for each in told["attempts"]] == [
        {"ear": "midi", "proposed": "clean", "other": "fluent", "features": FEATURES},
        {"ear": "midi", "proposed": None, "other": None, "features": FEATURES},
        None,
    ]
    place = Path(shutil.copy(empty, tmp_path / "another.sqlite3"))
    with open_store(place, now=NOW, backups=False) as another:
        merge(another, members_in(told), preferences_from)
        assert document(another)["attempts"] == told["attempts"]
        assert merge(another, members_in(told), preferences_from).nothing


def test_a_document_that_has_it_twice_is_merged(store, empty, tmp_path):
    """A damaged one may hold an attempt twice: it comes in once, with what was heard."""
    (phrase,) = add(store, "Late kettle")
    rate(store, cards_of(store, phrase.id)[0].id, Recall.ROUGH, heard(Recall.CLEAN))
    told = document(store)
    twice = {**told, "attempts": told["attempts"] * 2}
    place = Path(shutil.copy(empty, tmp_path / "another.sqlite3"))
    with open_store(place, now=NOW, backups=False) as another:
        assert merge(another, members_in(twice), preferences_from).attempts == 1
        assert document(another)["attempts"] == told["attempts"]


def test_agreement_is_counted_by_key(store):
    """Followed, kinder and harder; either of two proposed will do; undone ones don't count."""
    (phrase,) = add(store, "Late kettle")
    first = cards_of(store, phrase.id)[0]
    assert agreement(store, preferences_from({}), DAY) is None
    for day, (mine, proposed, other) in enumerate([
        (Recall.CLEAN, Recall.CLEAN, None), (Recall.FLUENT, Recall.CLEAN, Recall.FLUENT),
        (Recall.CLEAN, Recall.ROUGH, None), (Recall.FLUENT, Recall.ROUGH, None),
        (Recall.CLEAN, Recall.ROUGH, None), (Recall.LOST, Recall.ROUGH, None),
        (Recall.LOST, None, None),
    ]):  # fmt: skip
        rate(store, first.id, mine, heard(proposed, other), days=day * 7)
    record, _ = rate(store, first.id, Recall.LOST, heard(Recall.FLUENT), days=50)
    undo_attempt(store, record.uid, NOW + timedelta(days=51))
    assert [(each.apart, each.attempts) for each in ratings_beside_proposals(store, DAY)] == [
        (-1, 1), (0, 2), (1, 2), (2, 1),
    ]  # fmt: skip
    found = agreement(store, preferences_from({}), DAY + timedelta(days=42))
    assert found == Agreement(6, 2, 4, 0, 3, 1, parse_key("Bb"), None)
    assert agreement_lines(found, Look(80, 24, ascii=True, plain=False)) == [
        "Heard 6 goes; you rated 2 of them as proposed (33%), in the last four weeks 0 of 4.",
        "You rated yourself kinder 3 times, most in Bb; harder once.",
    ]


def test_a_rating_held_down_by_the_third_hint_tells_nothing(store):
    """Fluent was proposed and taken, and stored as rough: that isn't a harder rating."""
    (phrase,) = add(store, "Late kettle")
    first = cards_of(store, phrase.id)[0]
    rate(store, first.id, Recall.ROUGH, heard(Recall.FLUENT), hint=3)
    assert ratings_beside_proposals(store, DAY) == []
    rate(store, first.id, Recall.LOST, heard(Recall.ROUGH), days=1, hint=3)
    rate(store, first.id, Recall.ROUGH, heard(Recall.FLUENT), days=2, hint=2)
    assert [(each.apart, each.attempts) for each in ratings_beside_proposals(store, DAY)] == [
        (-2, 1),
        (-1, 1),
    ]


@pytest.mark.parametrize("recall", list(Recall))
def test_the_players_word_is_what_counts(store, recall: Recall):
    """Whatever was proposed, the card moves by the player's own rating."""
    (phrase,) = add(store, "Late kettle")
    one, other = (each.id for each in cards_of(store, phrase.id)[:2])
    rate(store, one, recall, heard(Recall.LOST))
    rate(store, other, recall, None)
    assert card(store, one).state == card(store, other).state
