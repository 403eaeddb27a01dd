"""What changed, week by week, and when cards came to be owned."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from drillbox.memory.cards import Attempted, replay
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules, TempoRules
from drillbox.practice.preferences import preferences_from
from drillbox.practice.progress import all_turns, owned_on, progress, turns
from drillbox.store.access import Store
from drillbox.store.card_rows import card
from drillbox.store.first_tries import open_cards
from drillbox.store.log import CardLog, kept_turns, logs_of, played_cards
from drillbox.store.phrase_rows import delete_phrase, retire_phrase
from drillbox.store.reckoning import reckon_all, undo_attempt
from drillbox.store.setting_rows import Set
from drillbox.store.sql import query
from tests.practice.past import NOW as PAST_NOW
from tests.store.making import DAY, NOW, add, go, session
from tests.store.reading import attempts_of

EASY = replace(Rules(), owned_days=3)
RULES = (EASY, replace(EASY, owned_days=8), replace(EASY, tempo=TempoRules(tempo_step=0.2)))


def replayed(store: Store, rules: Rules) -> list[list[tuple[date, bool]]]:
    """Return the turns of every card by replaying its whole log."""
    cards = [each.card_id for each in played_cards(store)]
    return [found for log in logs_of(store, cards) if (found := turns(log, rules))]


def nothing(_done: int, _of: int) -> None:
    """Hear nothing."""


@pytest.mark.parametrize("seed", range(6))
def test_what_is_kept_is_what_the_log_gives(store: Store, seed: int) -> None:
    """Rated, undone, reckoned by other rules, a phrase retired or deleted: after each step."""
    dice = random.Random(seed)
    add(store, "Late kettle", "Blue door")
    sitting, made = session(store), []
    for step in range(30):
        day = NOW.date() + timedelta(days=step * 2)
        rules = dice.choice(RULES)
        deed = dice.choice(("rate", "rate", "rate", "rate", "undo", "reckon"))
        if deed == "rate":
            number = dice.choice((1, 2, 13))
            before = card(store, number).state
            recall = dice.choices(list(Recall), (1, 1, 2, 8))[0]
            at = NOW + timedelta(days=step * 2)
            made.append((go(store, number, sitting, (recall,), at=at, day=day)[0], before))
        elif deed == "undo" and made:
            attempt, before = made.pop()
            undo_attempt(store, attempt.uid, NOW)
        elif deed == "reckon":
            reckon_all(store, Set("owned_days", EASY.owned_days, NOW))
            made.clear()
        found = [each for each in all_turns(store, rules, nothing) if each]
        assert found == replayed(store, rules)
    retire_phrase(store, 2, NOW)
    assert [each for each in all_turns(store, EASY, nothing) if each] == replayed(store, EASY)


def test_a_log_is_replayed_once(store: Store) -> None:
    """The second time nothing is; after one more rating that card alone."""
    add(store, "Late kettle", "Blue door")
    sitting = session(store)
    for number in (1, 2, 13):
        for times in range(14):
            at = NOW + timedelta(days=times)
            go(store, number, sitting, (Recall.FLUENT,), at=at, day=at.date())
    told: list[int] = []
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3]
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3]
    at = NOW + timedelta(days=20)
    go(store, 2, sitting, (Recall.LOST,), at=at, day=at.date())
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3, 1]
    delete_phrase(store, 2, NOW)
    assert set(kept_turns(store)) == {1, 2}


def test_a_store_that_may_only_be_read_shows_it_too(store: Store) -> None:
    """What can't be kept is found all the same."""
    add(store, "Late kettle")
    for times in range(14):
        at = NOW + timedelta(days=times)
        go(store, 1, session(store), (Recall.FLUENT,), at=at, day=at.date())
    store.place.chmod(0o400)
    with store.read() as connection:
        connection.execute(query("PRAGMA query_only = ON"))
    assert [each for each in all_turns(store, EASY, nothing) if each] == replayed(store, EASY)


SETTINGS = preferences_from({"zone": "UTC"})
MONDAY = date(2026, 2, 23)


def on(store: Store, card_id: int, days: int, *recalls: Recall) -> None:
    at = session(store)
    go(store, card_id, at, recalls, at=NOW + timedelta(days=days), day=DAY + timedelta(days=days))


def test_nothing_played_no_weeks(store: Store) -> None:
    """An empty log has no weeks, and neither has one phrase without an attempt."""
    assert progress(store, SETTINGS, NOW, 12) == ()
    add(store, "Late kettle")
    assert progress(store, SETTINGS, NOW, 12) == ()


def test_weeks_run_from_monday_and_none_is_left_out(store: Store) -> None:
    """1 March 2026 is a Sunday: the week before ends with it; an empty week stands as one."""
    add(store, "Late kettle")
    on(store, 1, 0, Recall.LOST, Recall.CLEAN)  # Sunday 1 March
    on(store, 1, 1, Recall.CLEAN)  # Monday 2 March
    on(store, 2, 15, Recall.FLUENT)  # Monday 16 March
    weeks = progress(store, SETTINGS, NOW + timedelta(days=16), 12)
    assert [week.monday for week in weeks] == [MONDAY + timedelta(days=7 * n) for n in range(4)]
    assert [week.attempts for week in weeks] == [2, 1, 0, 1]
    assert [(week.tries, week.recalled) for week in weeks] == [(1, 0), (1, 1), (0, 0), (1, 1)]
    assert [week.started for week in weeks] == [1, 1, 1, 2]
    assert [week.share for week in weeks] == [0.0, 1.0, None, 1.0]
    assert weeks[0].minutes == pytest.approx(61 / 60)
    assert weeks[0].tempo == pytest.approx((79 + 72) / 2 / 132)
    assert weeks[2].tempo is None


def test_only_the_latest_weeks(store: Store) -> None:
    """Two weeks asked for, two given, with what was opened before them counted in."""
    add(store, "Late kettle")
    on(store, 1, 0, Recall.CLEAN)
    weeks = progress(store, SETTINGS, NOW + timedelta(days=30), 2)
    assert [week.monday for week in weeks] == [date(2026, 3, 23), date(2026, 3, 30)]
    assert [week.started for week in weeks] == [1, 1]


def test_a_clock_that_was_ahead(store: Store) -> None:
    """Attempts of days to come leave this week standing, empty."""
    add(store, "Late kettle")
    on(store, 1, 30, Recall.CLEAN)
    (week,) = progress(store, SETTINGS, NOW, 12)
    assert (week.monday, week.attempts) == (MONDAY, 0)


def log_of(*days: tuple[int, Recall, int]) -> CardLog:
    made = [
        Attempted(DAY + timedelta(days=day), recall, tempo, 0, DAY) for day, recall, tempo in days
    ]
    return CardLog(1, 100, tuple(made))


def test_turns_are_the_days_on_which_owning_changed() -> None:
    """Owned by two cold clean goes at goal and a memory that lasts, lost by two cold misses in a
    row, owned again; by replaying every beginning of the log."""
    log = log_of(
        (0, Recall.FLUENT, 90), (8, Recall.FLUENT, 100), (40, Recall.FLUENT, 100),
        (90, Recall.LOST, 100), (91, Recall.LOST, 95), (92, Recall.FLUENT, 100),
        (99, Recall.FLUENT, 100), (120, Recall.FLUENT, 100), (180, Recall.FLUENT, 100),
    )  # fmt: skip
    rules, found = Rules(), []
    for count in range(1, len(log.attempts) + 1):
        state = replay(100, log.attempts[:count], rules)
        day = log.attempts[count - 1].day
        found.append(owned_on(turns(log, rules), day) == state.owned)
    assert all(found)
    assert [now for _, now in turns(log, rules)] == [True, False, True]
    assert not owned_on(turns(log, rules), DAY - timedelta(days=1))


def test_owned_now_is_what_the_cards_say(past: Store) -> None:
    """The last week's count equals the cards owned today; no week counts what came later."""
    weeks = progress(past, SETTINGS, PAST_NOW, 12)
    now = [card.id for card in open_cards(past) if card.owned]
    assert weeks[-1].owned == len(now) > 0
    assert weeks[-1].started == len(open_cards(past))
    logs = {each: attempts_of(past, each) for each in now}
    for week in weeks:
        end = week.monday + timedelta(days=6)
        at_most = sum(made[0].day <= end for made in logs.values())
        assert week.owned <= at_most


def test_replaying_is_told(past: Store) -> None:
    """Each card replayed ticks once; other rules than those of other tests, so none is kept."""
    ticks: list[tuple[int, int]] = []
    other = preferences_from({"owned_days": 33})
    progress(past, other, PAST_NOW, 1, lambda done, of: ticks.append((done, of)))
    assert [done for done, _ in ticks] == list(range(ticks[0][1]))
