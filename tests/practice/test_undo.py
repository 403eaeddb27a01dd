"""Taking ratings back: to where the session stood but for time and skips, as often as ratings
were given."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.recall import Recall
from drillbox.practice.changing import change_setting
from drillbox.practice.drilling import Drill
from drillbox.practice.editing import Wanted, plan_edit
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, due_counts
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.store.phrase_edits import change_phrase
from drillbox.store.phrase_rows import find_phrase
from drillbox.store.setting_rows import get_settings
from tests.conftest import copied
from tests.store.making import DAY, NOW, add, go, session
from tests.store.reading import attempts_of, document

PREFERENCES = preferences_from({"zone": "Europe/Lisbon", "minutes": 60})


def used(place: Path) -> Store:
    """Return a store of some phrases, a few of whose cards are due."""
    store = open_store(place, now=NOW, backups=False)
    add(store, "Late kettle", "Blue door", "Stone step")
    at = session(store)
    for card_id in (1, 2, 13):
        go(store, card_id, at, (Recall.CLEAN, Recall.FLUENT))
    return store


def standing(store: Store, drill: Drill) -> dict[str, Any]:
    """Return all that the future of the session and of the cards depends on."""
    shown = drill.showing
    return {
        "cards": [phrase["cards"] for phrase in document(store)["phrases"]],
        "pool": candidates(store),
        "due": due_counts(store, DAY),
        "sitting": (drill.sitting.minutes, drill.sitting.done),
        "shown": shown and (shown.card, shown.tempo, shown.hint),
        "rated": drill.rated,
    }


@settings(max_examples=12)
@given(
    actions=st.lists(
        st.one_of(
            st.sampled_from(Recall), st.sampled_from(["skip", "hint", "slower", "undo", "pause"])
        ),
        max_size=14,
    )
)
def test_every_rating_is_taken_back_exactly(
    actions: list[Recall | str], empty: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """State, tempo, due days and queue are those from before each rating, back to the start."""
    now = NOW + timedelta(days=4)
    with used(copied(empty, tmp_path_factory.mktemp("undo") / "store.sqlite3")) as store:
        drill = Drill(store, PREFERENCES, minutes=60, now=now)
        before: list[dict[str, Any]] = []
        for action in actions:
            now += timedelta(seconds=20)
            if isinstance(action, Recall):
                if drill.showing is None:
                    break
                before.append(standing(store, drill))
                drill.rate(action, now)
            elif action == "undo":
                taken_back(store, drill, before, now)
            elif drill.showing is not None:
                other(drill, action, now)
        while before:
            now += timedelta(seconds=5)
            taken_back(store, drill, before, now)
        assert not drill.undo(now)
        assert drill.rated == ()


def taken_back(store: Store, drill: Drill, before: list[dict[str, Any]], now: Any) -> None:
    """Take a rating back and compare all with what stood before it."""
    assert drill.undo(now) == bool(before)
    if before:
        assert standing(store, drill) == before.pop()


def other(drill: Drill, action: str, now: Any) -> None:
    """Do something that isn't a rating; what it changes a later undo needn't take back."""
    if action == "skip":
        drill.skip(now)
    elif action == "hint":
        drill.hint()
    elif action == "slower":
        drill.change_tempo(-1)
    else:
        drill.pause(timedelta(seconds=5))


def test_hints_that_were_seen_at_the_next_card_still_count(tmp_path: Path) -> None:
    """It comes again once the former one is rated anew, its notes still named: rough at best."""
    now = NOW + timedelta(days=4)
    with used(tmp_path / "store.sqlite3") as store:
        drill = Drill(store, PREFERENCES, minutes=60, now=now)
        drill.rate(Recall.CLEAN, now)
        assert drill.showing
        second = drill.showing.card.id
        for _ in range(3):
            drill.hint()
        drill.undo(now)
        drill.rate(Recall.FLUENT, now)
        assert drill.showing
        assert (drill.showing.card.id, drill.showing.hint) == (second, 3)
        assert drill.rate(Recall.CLEAN, now).recall is Recall.ROUGH
        while drill.showing.card.id != second:
            drill.rate(Recall.CLEAN, now)
        assert drill.showing.hint == 0


def test_a_hint_that_came_by_a_slip_goes_with_it(tmp_path: Path) -> None:
    """A new key that was lost comes back with a hint; where lost was the wrong letter it doesn't,
    as nothing was asked for. One that was asked for besides stays seen."""
    with used(tmp_path / "store.sqlite3") as store:
        drill = Drill(store, PREFERENCES, minutes=60, now=NOW, only=frozenset({14}))
        for asked, stays in ((0, 0), (1, 2)):
            drill.rate(Recall.LOST, NOW)
            assert drill.showing
            assert drill.showing.hint == 1
            for _ in range(asked):
                drill.hint()
            drill.undo(NOW)
            drill.rate(Recall.ROUGH, NOW)
            assert drill.showing.hint == stays
            drill.undo(NOW)


def test_undoing_after_a_skip_brings_the_rated_card_back_and_not_the_skipped(
    tmp_path: Path,
) -> None:
    """A skip is for the whole session, and time that went by stays used: the corrected rating
    takes the seconds of the first press with those of the second."""
    now = NOW + timedelta(days=4)
    with used(tmp_path / "store.sqlite3") as store:
        drill = Drill(store, PREFERENCES, minutes=60, now=now)
        first = drill.showing
        assert first
        drill.rate(Recall.CLEAN, now + timedelta(minutes=4))
        assert drill.showing
        second = drill.showing.card.id
        drill.skip(now + timedelta(minutes=4.5))
        later = now + timedelta(minutes=5)
        assert drill.undo(later)
        assert drill.showing
        assert drill.showing.card == first.card
        assert drill.sitting.skipped == {second}
        assert (drill.seconds(later), drill.minutes_left(later)) == (240, 55)
        assert not drill.rest_is_due(later + timedelta(minutes=19.9))
        assert drill.rest_is_due(later + timedelta(minutes=20))
        drill.rate(Recall.CLEAN, later + timedelta(seconds=10))
        assert drill.sitting.used == 310
        assert attempts_of(store, first.card.id)[-1].seconds == 250
        coming = set()
        while drill.showing and len(coming) < 20:
            coming.add(drill.showing.card.id)
            drill.skip(later)
        assert second not in coming


def changed_elsewhere(store: Store, number: int, now: Any) -> None:
    """Change what cards are reckoned by, as another window does meanwhile."""
    if number % 2:
        change_setting(store, "tempo_step", ("0.05", "0.2")[number % 4 // 2], now)
        return
    preferences = preferences_from(get_settings(store))
    wanted = Wanted(goal=str(90 + number * 20))
    for title in ("Late kettle", "Blue door", "Stone step"):
        plan = plan_edit(store, preferences, find_phrase(store, title), wanted)
        change_phrase(store, plan.record.id, plan.new, now)


@settings(max_examples=5)
@given(steps=st.lists(st.sampled_from([*Recall, "undo", *range(8)]), max_size=12))
def test_a_rating_taken_back_after_a_change_elsewhere_leaves_what_the_log_says(
    steps: list[Recall | str | int], empty: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Another window sets another goal or another step in mid-session: every card still stands
    as its log leads to, by the goal and the rules of now."""
    now = NOW + timedelta(days=4)
    with used(copied(empty, tmp_path_factory.mktemp("undo") / "store.sqlite3")) as store:
        drill = Drill(store, PREFERENCES, minutes=60, now=now)
        for step in [*steps, *["undo"] * 12]:
            now += timedelta(seconds=20)
            if step == "undo":
                drill.undo(now)
            elif isinstance(step, Recall):
                if drill.showing is not None:
                    drill.rate(step, now)
            else:
                changed_elsewhere(store, int(step), now)
        assert check_store(store) == []
