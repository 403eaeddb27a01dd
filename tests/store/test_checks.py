"""Checks: damage is found and told, and a whole store is told from a damaged one."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput, StoreFailure
from drillbox.memory.cards import CardState, TempoState
from drillbox.memory.recall import MemoryState, Recall
from drillbox.music.phrases import check_tags
from drillbox.store.access import Store
from drillbox.store.backups import back_up
from drillbox.store.checks import check_store, same_state, sound_tags
from drillbox.store.opening import open_store
from drillbox.store.reckoning import undo_attempt
from drillbox.store.setting_rows import set_setting
from tests.conftest import copied
from tests.store.hardship import cut, flip
from tests.store.making import DAY, NOW, add, go, session


@pytest.fixture(scope="module")
def kept(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of some dozens of pages, closed, with attempts, an undone one, and a backup; it
    is copied, not changed.
    """
    place = copied(empty, tmp_path_factory.mktemp("kept") / "store.sqlite3")
    with open_store(place, now=NOW) as store:
        add(store, *(f"Title {number}" for number in range(12)))
        at = session(store)
        for card_id in range(1, 60, 2):
            go(store, card_id, at, (Recall.LOST, Recall.CLEAN))
            if card_id % 3 == 0:
                go(store, card_id + 1, at)
            elif card_id % 7 == 0:
                (taken,) = go(store, card_id + 1, at)
                undo_attempt(store, taken.uid, NOW)
        back_up(store.engine, place, NOW, "asked")
    return place


@pytest.fixture
def used(kept: Path, tmp_path: Path) -> Path:
    """A copy of that store for one test, with its backup."""
    shutil.copytree(kept.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / kept.name


def found_in(place: Path) -> str:
    """Open a store and check it; return what the player is told, empty where nothing is."""
    try:
        with open_store(place, now=NOW, backups=False) as store:
            return "; ".join(each.text for each in check_store(store))
    except StoreFailure as problem:
        return problem.line()


def test_a_whole_store_has_nothing_to_tell(used: Path) -> None:
    """Attempts, undone ones among them, and backups are as they should be."""
    assert found_in(used) == ""


@pytest.mark.parametrize("seed", range(40))
def test_a_flipped_page_is_found(used: Path, tmp_path: Path, seed: int) -> None:
    """Wherever the noise falls, opening or checking finds it and changes no byte."""
    hurt = tmp_path / "hurt.sqlite3"
    shutil.copyfile(used, hurt)
    flip(hurt, seed)
    before = hurt.read_bytes()
    assert found_in(hurt)
    assert hurt.read_bytes() == before


@pytest.mark.parametrize("seed", range(25))
def test_a_store_cut_short_is_found_on_opening(used: Path, seed: int) -> None:
    """A lost tail is found before anything is read; the newest backup is named."""
    cut(used, seed)
    before = used.read_bytes()
    with pytest.raises(StoreFailure) as caught:
        open_store(used, now=NOW)
    assert "is damaged" in caught.value.what or "no drillbox store" in caught.value.what
    assert "20260301T180000Z-asked.sqlite3" in caught.value.remedy
    assert used.read_bytes() == before


@pytest.mark.slow
def test_a_thousand_flipped_or_cut_stores_are_found(used: Path, tmp_path: Path) -> None:
    """The same over other pages and lengths."""
    for seed in range(1000, 2000):
        hurt = tmp_path / "hurt.sqlite3"
        shutil.copyfile(used, hurt)
        (flip if seed % 2 else cut)(hurt, seed)
        before = hurt.read_bytes()
        assert found_in(hurt), seed
        assert hurt.read_bytes() == before


def spoiled(place: Path, words: str) -> list[tuple[str, bool]]:
    """Change the store behind the program's back and return what checking it finds."""
    with closing(sqlite3.connect(place)) as raw:
        raw.execute("PRAGMA ignore_check_constraints = ON")
        raw.execute(words)
        raw.commit()
    with open_store(place, now=NOW) as store:
        return [(each.text, each.grave) for each in check_store(store)]


@pytest.mark.parametrize(
    ("words", "said", "grave"),
    [
        (
            "UPDATE attempt SET card_id = 999 WHERE id = 1",
            "row 1 of attempt points at a card that isn't there",
            True,
        ),
        (
            "UPDATE card SET stability = stability * 1.001 WHERE id = 1",
            "'Title 0' in Bb: its state doesn't match its 2 ratings",
            False,
        ),
        (
            "DELETE FROM attempt WHERE id = 1",
            "1 rating of the session of 2026-03-01 18:00 UTC can't be found",
            True,
        ),
        (
            "UPDATE card SET due_day = '2026-04-01' WHERE id = 1",
            "'Title 0' in Bb: its state doesn't match its 2 ratings",
            False,
        ),
        ("UPDATE card SET chart = '{}' WHERE id = 30", "'Title 2' in B: no chart: 'meter'", False),
        ("UPDATE card SET key = 'H' WHERE id = 30", "'Title 2' in H: 'H' isn't a key", False),
        (
            "UPDATE card SET chart = json_set(chart, '$.bars[0][0][1]', '6',"
            " '$.bars[0][1][0]', '6', '$.bars[0][1][1]', '-2') WHERE id = 30",
            "'Title 2' in B: bar 1 has a chord of -2 quarter notes",
            False,
        ),
        (
            "UPDATE phrase SET chart = json_set(chart, '$.bars[1][1][1]', '0') WHERE id = 2",
            "'Title 1': bar 2 has a chord of 0 quarter notes",
            False,
        ),
        (
            "UPDATE card SET chart = replace(chart, 'minor-seventh', 'odd') WHERE id = 30",
            "'Title 2' in B: 'odd' isn't a chord kind of MusicXML",
            False,
        ),
        (
            "UPDATE card SET tempo = 999 WHERE id = 30",
            "pages: CHECK constraint failed in card",
            True,
        ),
        (
            "UPDATE attempt SET at = '0900-03-01 18:00:00.000000' WHERE id = 1",
            "the rating of 0900-03-01T18:00 UTC: at: an instant with its zone, from 1970 to 2199",
            False,
        ),
        (
            "INSERT INTO setting (name, value, changed_at)"
            " VALUES ('minutes', '30', '0900-03-01 18:00:00.000000')",
            "the settings: settings_changed: minutes: an instant with its zone, from 1970 to 2199",
            False,
        ),
        (
            "UPDATE drill_session SET zone = 'a zone of one''s own'",
            "the session of 2026-03-01T18:00 UTC: zone: String should match pattern"
            " '^[A-Za-z0-9_+/.-]{1,64}$'",
            False,
        ),
        (
            """UPDATE phrase SET tags = '["blues", "a\\u001b[31mb"]' WHERE id = 2""",
            "'Title 1': its tags can't be used: ['blues', 'a\\x1b[31mb']",
            False,
        ),
        (
            "UPDATE drill_session SET host = CAST(x'ff8000' AS TEXT)",
            "it can't be read through: Could not decode to UTF-8 column 'host' with text"
            " '\ufffd\ufffd'",
            True,
        ),
        (
            "UPDATE attempt SET card_id = 2 WHERE card_id = 1 AND id = 1",
            "'Title 0' in Eb: its state doesn't match its 1 rating",
            False,
        ),
    ],
)
def test_what_was_changed_behind_its_back_is_found(
    used: Path, words: str, said: str, grave: bool
) -> None:
    """References, constraints, charts and the log's agreement with the cards."""
    assert (said, grave) in spoiled(used, words)


@example([f"tag {number}" for number in range(25)])
@example(["a" * 50, "A" * 41, "__b", "c\td", "\x1b[31m"])
@settings(max_examples=30)
@given(st.lists(st.text() | st.from_regex(r"[a-z][a-z &']{0,45}"), max_size=30))
def test_cleaned_tags_are_such_as_can_be_typed(stored: list[str]) -> None:
    """They pass the check of typed ones, cleaning them again changes nothing, and what could be
    typed stays as it is."""
    clean = sound_tags(stored)
    assert list(check_tags(clean)) == clean == sound_tags(clean)
    try:
        typed = check_tags(stored)
    except BadInput:
        return
    assert clean == list(typed)


@pytest.mark.parametrize("stored", [None, {"a": 1}, "blues", [1, None], ["\x1b", "_", ""]])
def test_what_holds_no_tag_is_cleaned_to_none(stored: object) -> None:
    """Whatever JSON stands in their place."""
    assert sound_tags(stored) == []


def test_an_index_that_lost_a_row_is_found(used: Path) -> None:
    """Integrity covers the indexes that picking relies on."""
    with closing(sqlite3.connect(used)) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        raw.execute("UPDATE sqlite_master SET sql = replace(sql, 'IS NULL', 'IS NOT NULL')"
                    " WHERE name = 'ix_attempt_card'")  # fmt: skip
        raw.commit()
    assert "ix_attempt_card" in found_in(used)


def test_rules_that_were_changed_since_are_told_apart_from_damage(used: Path) -> None:
    """Another ladder gives other states: worth telling, not grave."""
    with open_store(used, now=NOW) as store:
        set_setting(store, "tempo_step", 0.1)  # without reckoning, as nothing does
        found = check_store(store)
    assert found
    assert not any(each.grave for each in found)


def test_states_are_the_same_to_the_last_digits_only() -> None:
    """Floats may differ where they were added up in another order, by no more."""
    state = CardState(MemoryState(2.5, 5.0, DAY), TempoState(90), 1, DAY)
    near = state._replace(memory=MemoryState(2.5 + 1e-12, 5.0, DAY))
    far = state._replace(memory=MemoryState(2.5 + 1e-6, 5.0, DAY))
    fresh = CardState(None, TempoState(90))
    assert same_state(state, near)
    assert not same_state(state, far)
    assert not same_state(state, fresh)
    assert same_state(fresh, fresh)
    assert not same_state(state, state._replace(attempts=2))


def test_a_check_tells_how_far_it_is(used: Path) -> None:
    """It never goes back, and ends at the whole."""
    told: list[float] = []
    with open_store(used, now=NOW) as store:
        check_store(store, lambda done, whole: told.append(done / whole))
    assert len(told) > 80
    assert told == sorted(told)
    assert told[-1] == 1


def test_checking_changes_nothing(used: Path) -> None:
    """Not a byte, whether the store is whole or not."""
    before = used.read_bytes()
    assert found_in(used) == ""
    assert used.read_bytes() == before


def test_an_empty_store_is_whole(store: Store) -> None:
    """Nothing in it, nothing wrong with it."""
    assert check_store(store) == []
