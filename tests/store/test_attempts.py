"""Attempts: stored with their card or not at all, undone exactly, never lost to another."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy.exc import IntegrityError

from drillbox.errors import NotFound, Overtaken
from drillbox.memory.candidates import Timed
from drillbox.memory.cards import replay
from drillbox.memory.learning import Seen
from drillbox.memory.leniency import NO_MISSES, Missed
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card, record_attempt
from drillbox.store.checks import check_store
from drillbox.store.log import (
    OPENING_GOES,
    attempted_of,
    ever_first,
    latest_firsts,
    misses,
    recall_counts,
    recent_attempts,
)
from drillbox.store.opening import open_store
from drillbox.store.reckoning import reckon_all, undo_attempt
from drillbox.store.sql import query
from drillbox.store.values import CardMoved, NewAttempt
from tests.store.making import DAY, NOW, ZONE, add, go, session, step
from tests.store.reading import attempts_of


def test_an_attempt_and_its_card_are_stored_together(store: Store) -> None:
    """Both read back equal to what was computed, and the card is open since that day."""
    add(store, "Late kettle")
    at = session(store)
    before = card(store, 1)
    attempted, after = step(before.state, Recall.CLEAN, DAY)
    attempted = attempted._replace(in_round=True)
    new = NewAttempt(1, at, NOW, ZONE, attempted, 0, seconds=30.5, loops=2)
    stored = record_attempt(store, new, after)
    assert attempts_of(store, 1) == [stored]
    assert attempted_of(stored) == attempted
    assert (stored.at, stored.zone, stored.seconds, stored.loops) == (NOW, ZONE, 30.5, 2)
    assert (stored.in_round, stored.first_of_day, stored.undone_at) == (True, True, None)
    assert stored.recall is Recall.CLEAN
    moved = card(store, 1)
    assert moved.state == after
    assert moved.opened_day == DAY


def test_what_is_acknowledged_is_seen_by_another_program(store: Store) -> None:
    """When recording returns, a second connection to the file sees the attempt."""
    add(store, "Late kettle")
    (stored,) = go(store, 1, session(store))
    with open_store(store.place, now=NOW) as other:
        assert attempts_of(other, 1) == [stored]


def test_the_log_is_in_the_order_in_which_the_card_moved(store: Store) -> None:
    """A rating that another program's overtook, or one by a clock set right, is dated just after
    the card's latest: replaying by time gives the card, and the practice day stays true.
    """
    add(store, "Late kettle")
    at = session(store)
    overtaken = NOW - timedelta(milliseconds=3)
    ahead, tomorrow = NOW + timedelta(days=365), NOW + timedelta(days=1)
    for moment, recall in (
        (NOW, Recall.CLEAN), (overtaken, Recall.ROUGH),
        (ahead, Recall.FLUENT), (tomorrow, Recall.LOST),
    ):  # fmt: skip
        go(store, 1, at, (recall,), at=moment, day=moment.date())
    assert check_store(store) == []
    found = [(each.at, each.day) for each in attempts_of(store, 1)]
    just = timedelta(microseconds=1)
    assert found[1:2] + found[3:] == [(NOW + just, NOW.date()), (ahead + just, tomorrow.date())]


def test_an_attempt_that_cannot_be_stored_leaves_the_card(store: Store) -> None:
    """A fault in the second of the two changes takes back the first."""
    add(store, "Late kettle")
    at = session(store)
    before = card(store, 1)
    attempted, after = step(before.state, Recall.CLEAN, DAY)
    impossible = after._replace(tempo=after.tempo._replace(tempo=401))
    with pytest.raises(IntegrityError, match="ck_card_tempo"):
        record_attempt(store, NewAttempt(1, at, NOW, ZONE, attempted, 0), impossible)
    assert attempts_of(store, 1, undone=True) == []
    assert card(store, 1) == before


def test_a_card_that_moved_is_not_overwritten(store: Store) -> None:
    """Two that computed from the same state: the second is told and stores nothing."""
    add(store, "Late kettle")
    at = session(store)
    seen = card(store, 1).state
    (first,) = go(store, 1, at)
    state = card(store, 1).state
    attempted, after = step(seen, Recall.LOST, DAY)
    with pytest.raises(CardMoved) as caught:
        record_attempt(store, NewAttempt(1, at, NOW, ZONE, attempted, 0), after)
    assert caught.value.card_id == 1
    assert attempts_of(store, 1) == [first]
    assert card(store, 1).state == state


def test_an_attempt_at_no_card_is_refused(store: Store) -> None:
    """A card number that isn't there ends in one clear failure."""
    add(store, "Late kettle")
    attempted, after = step(card(store, 1).state, Recall.LOST, DAY)
    with pytest.raises(NotFound, match="no card number 99"):
        record_attempt(store, NewAttempt(99, session(store), NOW, ZONE, attempted, 0), after)


def test_an_attempt_in_no_session_is_refused(store: Store) -> None:
    """Foreign keys are enforced."""
    add(store, "Late kettle")
    attempted, after = step(card(store, 1).state, Recall.LOST, DAY)
    with pytest.raises(IntegrityError, match="FOREIGN KEY"):
        record_attempt(store, NewAttempt(1, 99, NOW, ZONE, attempted, 0), after)


def test_a_time_without_a_zone_is_refused(store: Store) -> None:
    """A naive instant never comes in; one of another zone is kept as the same instant."""
    add(store, "Late kettle")
    at = session(store)
    attempted, after = step(card(store, 1).state, Recall.LOST, DAY)
    new = NewAttempt(1, at, NOW, ZONE, attempted, 0)
    with pytest.raises(Exception, match=r"has no zone|an aware instant"):
        record_attempt(store, replace(new, at=datetime(2026, 3, 1)), after)  # noqa: DTZ001 - meant
    tokyo = datetime(2026, 3, 2, 3, tzinfo=timezone(timedelta(hours=9)))
    record_attempt(store, replace(new, at=tokyo), after)
    assert attempts_of(store, 1)[0].at == NOW
    assert attempts_of(store, 1)[0].at.tzinfo is UTC


def test_undoing_puts_the_card_back_exactly(store: Store) -> None:
    """Any number of times, back to the beginning; the attempts stay in the log, marked."""
    add(store, "Late kettle")
    at = session(store)
    states, made = [], []
    for recall in (Recall.LOST, Recall.CLEAN, Recall.FLUENT):
        states.append(card(store, 1))
        made += go(store, 1, at, (recall,))
    pool = candidates(store)
    for before, attempt in zip(reversed(states), reversed(made), strict=True):
        undo_attempt(store, attempt.uid, NOW + timedelta(hours=1))
        assert card(store, 1) == before
    assert attempts_of(store, 1) == []
    undone = attempts_of(store, 1, undone=True)
    assert [each.undone_at for each in undone] == [NOW + timedelta(hours=1)] * 3
    assert [each.uid for each in undone] == [each.uid for each in made]
    assert candidates(store) != pool
    assert candidates(store)[0].last_day == 0


def test_an_attempt_is_undone_once(store: Store) -> None:
    """A second undo of the same attempt changes nothing and says so."""
    add(store, "Late kettle")
    before = card(store, 1)
    (made,) = go(store, 1, session(store))
    undo_attempt(store, made.uid, NOW)
    with pytest.raises(NotFound, match="undone already"):
        undo_attempt(store, made.uid, NOW)
    assert card(store, 1) == before


def test_only_the_latest_attempt_is_undone(store: Store) -> None:
    """One that another session has built on stays."""
    add(store, "Late kettle")
    first, _ = go(store, 1, session(store), (Recall.LOST, Recall.CLEAN))
    state = card(store, 1)
    with pytest.raises(Overtaken):
        undo_attempt(store, first.uid, NOW)
    assert card(store, 1) == state
    assert len(attempts_of(store, 1)) == 2


def test_the_first_attempt_of_a_day_is_marked(store: Store) -> None:
    """One a card and practice day, and the next one takes over where it was undone."""
    add(store, "Late kettle")
    at = session(store)
    first, second = go(store, 1, at, (Recall.LOST, Recall.CLEAN))
    (tomorrow,) = go(store, 1, at, at=NOW + timedelta(days=1), day=DAY + timedelta(days=1))
    (other,) = go(store, 2, at)
    assert [each.first_of_day for each in (first, second, tomorrow, other)] == [
        True, False, True, True,
    ]  # fmt: skip
    (undone,) = go(store, 3, at)
    undo_attempt(store, undone.uid, NOW)
    assert go(store, 3, at)[0].first_of_day


def test_a_day_that_comes_twice_has_two_first_attempts(store: Store) -> None:
    """Flown west over the date line: the card's state, its marks and the summary's counts agree.

    In Tokyo on 4 March, in Los Angeles on the 3rd and then on the 4th: three cold goes.
    """
    add(store, "Late kettle")
    at = session(store)
    days = [DAY + timedelta(days=shift) for shift in (3, 2, 3)]
    for hours, day in enumerate(days):
        go(store, 1, at, at=NOW + timedelta(hours=hours * 20), day=day)
    assert card(store, 1).state.days_clean == 3
    assert [each.first_of_day for each in attempts_of(store, 1)] == [True, True, True]
    assert recall_counts(store, DAY) == {Recall.CLEAN: 3}
    assert reckon_all(store) == 0
    assert [each.first_of_day for each in attempts_of(store, 1)] == [True, True, True]


def test_the_latest_attempts_tell_the_pace(store: Store) -> None:
    """The newest come first, with the chart's length, as many as were asked for."""
    add(store, "Late kettle")
    at = session(store)
    go(store, 1, at, (Recall.CLEAN, Recall.CLEAN, Recall.CLEAN))
    assert recent_attempts(store, 2) == [Timed(30.5, 8.0, 96, 2), Timed(30.5, 8.0, 86, 2)]
    assert len(recent_attempts(store, 200)) == 3


def test_attempts_of_a_round_say_nothing_of_the_pace(store: Store) -> None:
    """In a round the beat sets the pace, so that its attempts are left out."""
    add(store, "Late kettle")
    at = session(store)
    attempted, after = step(card(store, 1).state, Recall.CLEAN, DAY)
    attempted = attempted._replace(in_round=True)
    new = NewAttempt(1, at, NOW, ZONE, attempted, 0, seconds=4.0, loops=1)
    record_attempt(store, new, after)
    assert recent_attempts(store, 200) == []


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    steps=st.lists(
        st.tuples(st.sampled_from(Recall), st.integers(0, 40), st.booleans()), max_size=12
    ),
    card_id=st.integers(1, 12),
)
def test_replaying_the_log_gives_the_stored_state(
    store: Store, steps: list[tuple[Recall, int, bool]], card_id: int
) -> None:
    """Whatever was rated and undone, a card's state is exactly what its attempts give."""
    if not candidates(store):
        add(store, "Late kettle")
    at = session(store)
    moment = max((each.at for each in attempts_of(store, card_id)), default=NOW)
    for recall, gap, undo in steps:
        moment += timedelta(days=gap, minutes=1)
        (made,) = go(store, card_id, at, (recall,), at=moment, day=moment.date())
        if undo:
            undo_attempt(store, made.uid, moment)
    log = [attempted_of(each) for each in attempts_of(store, card_id)]
    assert replay(132, log, Rules()) == card(store, card_id).state


def test_latest_first_attempts_of_a_day(store: Store) -> None:
    """Only a card's first attempt of a day counts; oldest first; undone ones and older are out.

    Each tells the tempo played and the one reached before, the same where that isn't known.
    """
    add(store, "Late kettle")
    at = session(store)
    go(store, 1, at, (Recall.LOST, Recall.CLEAN))
    (taken,) = go(store, 2, at)
    undo_attempt(store, taken.uid, NOW)
    go(store, 3, at, (Recall.FLUENT,), at=NOW + timedelta(hours=1))
    attempted, after = step(card(store, 4).state, Recall.CLEAN, DAY)
    slower = NewAttempt(4, at, NOW + timedelta(hours=2), ZONE, attempted._replace(tempo=70), 0)
    record_attempt(store, replace(slower, reached=79), after)
    unknown = NewAttempt(5, at, NOW, ZONE, attempted._replace(tempo=70), 0)
    record_attempt(store, replace(unknown, at=NOW + timedelta(hours=3)), after)
    ordinal = DAY.toordinal()
    assert latest_firsts(store, 9) == [
        Seen(1, ordinal, Recall.LOST, 79, 79),
        Seen(3, ordinal, Recall.FLUENT, 79, 79),
        Seen(4, ordinal, Recall.CLEAN, 70, 79),
        Seen(5, ordinal, Recall.CLEAN, 70, 70),
    ]
    assert latest_firsts(store, 1) == [Seen(5, ordinal, Recall.CLEAN, 70, 70)]


def test_very_first_goes_before_a_day(store: Store) -> None:
    """The latest of them, oldest first: none of later days at a key, no later one of that day,
    and none that was taken back."""
    add(store, "Late kettle")
    at = session(store)
    for days, card_id in enumerate((4, 2, 4, 6, 2)):
        since = timedelta(days=days)
        go(store, card_id, at, (Recall.LOST, Recall.CLEAN), at=NOW + since,
           day=DAY + since)  # fmt: skip
    (taken,) = go(store, 7, at, at=NOW + timedelta(days=5), day=DAY + timedelta(days=5))
    ordinal = DAY.toordinal()
    found = [Seen(4, ordinal, Recall.LOST, 79, 79), Seen(2, ordinal + 1, Recall.LOST, 79, 79)]
    assert ever_first(store, DAY + timedelta(days=3), 9) == found
    assert ever_first(store, DAY + timedelta(days=3), 1) == found[1:]
    later = DAY + timedelta(days=9)
    assert [each.card_id for each in ever_first(store, later, 9)] == [4, 2, 6, 7]
    undo_attempt(store, taken.uid, NOW + timedelta(days=9))
    assert [each.card_id for each in ever_first(store, later, 9)] == [4, 2, 6]


def test_very_first_goes_are_looked_up_card_by_card(store: Store) -> None:
    """A session begins with them: a log of years isn't read for it."""
    with store.read() as connection:
        words = query(f"EXPLAIN QUERY PLAN {OPENING_GOES}")
        steps = [row[3] for row in connection.execute(words, {"before": DAY, "count": 300})]
    assert "SEARCH card USING COVERING INDEX ix_card_opened (opened_day<?)" in steps
    assert "SEARCH attempt USING INDEX ix_attempt_day (day=? AND card_id=?)" in steps


def test_misses_by_kinds_of_goes(store: Store) -> None:
    """A day's first goes well below the tempo reached, the other first ones, and the later ones,
    from a day on; undone ones are out, and clean ones aren't misses."""
    add(store, "Late kettle")
    at = session(store)
    go(store, 1, at, (Recall.LOST, Recall.LOST, Recall.ROUGH, Recall.CLEAN))
    go(store, 2, at, (Recall.ROUGH, Recall.ROUGH))
    go(store, 3, at)
    (taken,) = go(store, 3, at, (Recall.LOST,))
    undo_attempt(store, taken.uid, NOW)
    for card_id, tempo, reached in ((4, 70, 79), (5, 74, 79), (6, 70, None)):
        attempted, after = step(card(store, card_id).state, Recall.ROUGH, DAY)
        slower = NewAttempt(card_id, at, NOW, ZONE, attempted._replace(tempo=tempo), 0)
        record_attempt(store, replace(slower, reached=reached), after)
    found = misses(store, DAY)
    assert (found.near, found.later) == (Missed(lost=1, rough=3), Missed(lost=1, rough=2))
    assert found.slow == Missed(lost=0, rough=1)
    assert misses(store, DAY + timedelta(days=1)) == NO_MISSES
