"""The summary: ability from first tries, chances now beside it, what changed, what is next."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from drillbox.errors import BadInput
from drillbox.memory.recall import Recall
from drillbox.memory.weakness import FINE, UNPLAYED, WEAK, wilson_interval
from drillbox.music.keys import parse_key
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.readiness import chances_of
from drillbox.practice.standing import ALONE
from drillbox.practice.summing import Scope, Summary, summary
from drillbox.store.card_rows import candidates, card
from drillbox.store.opening import Store, open_store
from drillbox.store.phrase_rows import phrase, retire_phrase
from tests.practice.past import NOW as PAST_NOW
from tests.store.making import DAY, NOW, add, go, session

L, R, C, F = Recall

EVERYTHING = Scope()
SHORT = {"zone": "UTC", "minutes": 1}  # such days are soon looked ahead over
SETTINGS = preferences_from(SHORT)


def summed(store: Store, days: int = 0, scope: Scope = EVERYTHING, **settings: object) -> Summary:
    preferences: Preferences = preferences_from({**SHORT, **settings})
    return summary(store, preferences, NOW + timedelta(days=days), scope)


def on(store: Store, card_id: int, days: int, *recalls: Recall) -> None:
    at = session(store)
    go(store, card_id, at, recalls, at=NOW + timedelta(days=days), day=DAY + timedelta(days=days))


def test_an_empty_store_has_nothing_but_advice(store: Store) -> None:
    """No rows, no mean, and the advice to add a phrase."""
    found = summed(store)
    assert (found.keys, found.phrases, found.cells, found.mean) == ((), (), (), None)
    assert found.advice.kind == "add"


def test_phrases_without_an_attempt(store: Store) -> None:
    """Nothing to estimate yet: the advice is to start."""
    add(store, "Late kettle")
    found = summed(store)
    assert found.keys == ()
    assert (found.present.phrases, found.present.cards, found.present.started) == (1, 12, 0)
    assert found.advice.kind == "start"


def test_one_attempt(store: Store) -> None:
    """One try stands behind nothing: not enough played yet, for key and phrase alike."""
    add(store, "Late kettle")
    on(store, 1, 0, C)
    found = summed(store)
    for rows in (found.keys, found.phrases):
        (only,) = rows
        assert (only.verdict, only.tries, only.recalled, only.share) == (UNPLAYED, 1, 1, 1.0)
        assert (only.low, only.high) == wilson_interval(1, 1, 0.8)
    assert found.keys[0].name == "Bb"
    assert found.phrases[0].name == "Late kettle"
    assert found.advice.kind == "climb"


def test_a_phrase_alone_is_compared_with_nothing(store: Store) -> None:
    """With tries enough but no other key or phrase, no verdict is made up."""
    add(store, "Late kettle")
    for day in range(6):
        on(store, 1, day, L if day % 2 else C)
    found = summed(store, 6)
    assert found.keys[0].verdict == found.phrases[0].verdict == ALONE
    assert found.keys[0].share == 0.5


def test_only_first_tries_of_a_day_count(store: Store) -> None:
    """Five clean attempts after a lost one on the same day change no evidence."""
    add(store, "Late kettle")
    on(store, 1, 0, L, C, C, C, C, C)
    (only,) = summed(store).phrases
    assert (only.tries, only.recalled, only.verdict) == (1, 0, UNPLAYED)


def test_a_key_that_fails_in_every_phrase_is_weak(store: Store) -> None:
    """Four phrases, three keys each; one key is lost again and again, the others aren't."""
    add(store, "One", "Two", "Three", "Four")
    for day in range(0, 24, 2):
        for first in (1, 13, 25, 37):
            on(store, first, day, C)
            on(store, first + 1, day, C if day % 8 else R)
            on(store, first + 2, day, L if day % 6 else C)
    found = summed(store, 24)
    assert found.keys[0].name == "Ab"
    verdicts = {each.name: each.verdict for each in found.keys}
    assert verdicts == {"Ab": WEAK, "Eb": FINE, "Bb": FINE}
    assert {each.verdict for each in found.phrases} == {FINE}
    weakest = found.keys[0]
    assert (weakest.tries, weakest.cards) == (48, 4)
    assert found.mean is not None
    assert weakest.high < found.mean


def test_now_is_the_one_chance_of_a_clean_go_at_goal(store: Store) -> None:
    """Each card's and their mean are what the drill's own model says for that day."""
    add(store, "Late kettle")
    on(store, 1, 0, F)
    on(store, 2, 0, L)
    day = DAY + timedelta(days=4)
    found = summed(store, 4)
    drills = chances_of(store, SETTINGS.rules, day)
    chances = [drills.at_goal(each) for each in candidates(store) if each.begun]
    assert [cell.now for cell in found.cells] == chances
    assert found.present.now == pytest.approx(sum(chances) / 2)
    assert found.phrases[0].now == pytest.approx(sum(chances) / 2)
    assert (found.present.started, found.present.at_goal, found.present.owned) == (2, 0, 0)
    assert [cell.level for cell in found.cells] == ["climbing", "climbing"]
    tempi = [card(store, n).state.tempo.tempo / 132 for n in (1, 2)]
    assert found.present.tempo == pytest.approx(sum(tempi) / 2)


def test_the_outlook_and_what_waits(past: Store) -> None:
    """Four weeks ahead at the daily minutes more is owned than now; phrases that wait are named;
    of a long day's choices it is left out."""
    found = summary(past, preferences_from({"zone": "UTC"}), PAST_NOW)
    assert found.outlook is not None
    assert found.outlook.day == PAST_NOW.date() + timedelta(days=27)
    assert found.outlook.owned.mean > found.present.owned
    assert {each.kind for each in found.waiting} == {"phrase", "key"}
    long = preferences_from({"zone": "UTC", "minutes": 240})
    assert summary(past, long, PAST_NOW).outlook is None


def test_old_attempts_weigh_less_by_the_half_life(store: Store) -> None:
    """A key that was weak long ago and holds now is weak by a long memory only."""
    add(store, "One", "Two")
    for day in range(0, 40, 2):
        for first in (1, 13):
            on(store, first, day, C)
            on(store, first + 1, day, L if day < 20 else C)
    assert summed(store, 40, half_life=3650).keys[0].verdict == WEAK
    short = summed(store, 40, half_life=7)
    assert {each.verdict for each in short.keys} == {FINE}


def test_since_leaves_out_what_was_before(store: Store) -> None:
    """Evidence from that day on only; a day in the future is refused."""
    add(store, "Late kettle")
    on(store, 1, 0, L)
    on(store, 1, 3, C)
    (only,) = summed(store, 5, Scope(since=DAY + timedelta(days=1))).phrases
    assert (only.tries, only.recalled) == (1, 1)
    with pytest.raises(BadInput, match="future"):
        summed(store, 0, Scope(since=DAY + timedelta(days=1)))


def test_one_phrase_key_by_key(store: Store) -> None:
    """Its cards in their order with plain counts; the verdict rests on all phrases still."""
    add(store, "One", "Two")
    for day in range(6):
        on(store, 1, day, C)
        on(store, 2, day, L)
        on(store, 13, day, C)
    whole = summed(store, 6)
    found = summed(store, 6, Scope(phrase=phrase(store, 1)))
    assert [each.name for each in found.phrases] == ["One"]
    assert found.phrases[0] in whole.phrases
    assert [(each.name, each.tries, each.recalled) for each in found.cards] == [
        ("Bb", 6, 6), ("Eb", 6, 0),
    ]  # fmt: skip
    assert (found.present.started, found.present.cards) == (2, 12)


def test_one_key_by_phrases(store: Store) -> None:
    """Every phrase in that key, however it is spelled."""
    add(store, "One", "Two")
    on(store, 5, 0, C)
    on(store, 17, 0, L)
    on(store, 2, 0, C)
    found = summed(store, 0, Scope(key=parse_key("F#")))
    assert [(each.name, each.recalled) for each in found.cards] == [("One", 1), ("Two", 0)]
    assert [each.name for each in found.keys] == ["Gb"]
    assert (found.present.started, found.present.cards) == (2, 2)


def test_a_phrase_and_a_key_stand_whole_whatever_is_looked_at(store: Store) -> None:
    """A share of all of its first goes stands beside the tempo and the chance of all its cards."""
    add(store, "One", "Two")
    on(store, 1, 0, C, C)
    on(store, 2, 0, L)
    on(store, 13, 0, L)
    whole, scope = summed(store, 1), Scope(phrase(store, 1), parse_key("Bb"))
    for found in (summed(store, 1, scope), summed(store, 1, replace(scope, key=None))):
        assert [each.name for each in found.phrases] == ["One"]
        assert {*found.keys, *found.phrases} <= {*whole.keys, *whole.phrases}
    assert [(each.name, each.tries) for each in summed(store, 1, scope).cards] == [("Bb", 1)]


def test_the_advice_is_of_all_phrases_whatever_is_looked_at(past: Store) -> None:
    """What a drill begins with, and why: also where the phrase that is weak isn't in scope."""
    short = preferences_from({**SHORT, "minutes": 5})
    whole = summary(past, short, PAST_NOW).advice
    assert (whole.kind, whole.title) == ("weak phrase", phrase(past, 4).phrase.title)
    assert summary(past, short, PAST_NOW, Scope(phrase=phrase(past, 1))).advice == whole


def test_retired_phrases_are_left_out(store: Store) -> None:
    """Put aside, a phrase stands in no table, grid or count."""
    add(store, "One", "Two")
    on(store, 1, 0, C)
    on(store, 13, 0, C)
    retire_phrase(store, 1, NOW)
    found = summed(store)
    assert [each.name for each in found.phrases] == ["Two"]
    assert {cell.title for cell in found.cells} == {"Two"}
    assert found.present.cards == 12


def test_what_changed_this_week(store: Store) -> None:
    """Seven days against the seven before, today among them."""
    add(store, "Late kettle")
    on(store, 1, 0, L)
    on(store, 1, 3, C)
    on(store, 1, 7, C, C)
    on(store, 2, 8, R)
    changed = summed(store, 9).changes
    assert changed.since == DAY + timedelta(days=3)
    assert (changed.now.attempts, changed.now.tries, changed.now.recalled) == (4, 3, 2)
    assert changed.now.minutes == pytest.approx(4 * 30.5 / 60)
    assert (changed.before.attempts, changed.before.share) == (1, 0.0)
    assert changed.started == 1


def test_a_long_past_tells_of_its_weak_keys(past: Store) -> None:
    """Two keys and one phrase were made hard in it; the estimate finds them and no others."""
    found = summary(past, SETTINGS, PAST_NOW)
    weak = {each.name for each in found.keys if each.verdict == WEAK}
    assert {"Gb", "B"} <= weak <= {"Gb", "B", "F#m", "Bm"}
    hard = {each.name for each in found.phrases if each.verdict == WEAK}
    assert hard == {"Rain on the awning, twice"}
    assert found.present.owned > 0


def test_a_week_ago_is_what_the_summary_said_then(past_file: Path, tmp_path: Path) -> None:
    """What is named as new or no longer weak is the difference to the summary of a week ago."""
    then = PAST_NOW - timedelta(days=7)
    copy = tmp_path / "then.sqlite3"
    shutil.copyfile(past_file, copy)
    with closing(sqlite3.connect(copy)) as database:
        undo = "UPDATE attempt SET undone_at = at WHERE day > ?"
        database.execute(undo, (then.date().isoformat(),))
        database.commit()
    with open_store(past_file, now=PAST_NOW, backups=False) as store:
        now = summary(store, SETTINGS, PAST_NOW)
    with open_store(copy, now=then, backups=False) as store:
        before = summary(store, SETTINGS, then)
    for kind, new, old in (
        ("key", now.keys, before.keys), ("phrase", now.phrases, before.phrases),
    ):  # fmt: skip
        are, were = ({each.name for each in rows if each.verdict == WEAK} for rows in (new, old))
        assert {each.name for each in now.changes.weaker if each.kind == kind} == are - were
        assert {each.name for each in now.changes.better if each.kind == kind} == were - are
    assert now.changes.weaker or now.changes.better


def test_now_must_be_aware(store: Store) -> None:
    """A naive instant has no practice day."""
    with pytest.raises(ValueError, match="aware"):
        summary(store, SETTINGS, datetime(2026, 3, 1))  # noqa: DTZ001 - that is the point
