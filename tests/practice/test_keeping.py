"""Keeping the store: the way from damage back to the newest backup."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.errors import NotFound
from drillbox.memory.recall import Recall
from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.keeping import check, failure_of, make_backup, mend, restore
from drillbox.practice.preferences import preferences_from
from drillbox.screen.storing import checked_lines
from drillbox.store.access import Store, damage
from drillbox.store.files import list_backups
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles
from drillbox.store.setting_rows import get_settings, set_setting
from drillbox.store.tune_rows import NewTune, add_tunes
from tests.store.hardship import flip
from tests.store.making import NOW, add, go, session


@pytest.fixture
def store(made: Path) -> Iterator[Store]:
    """A store with some phrases."""
    with open_store(made, now=NOW) as opened:
        add(opened, *(f"Title {number}" for number in range(20)))
        yield opened


def test_from_damage_back_to_the_newest_backup(store: Store) -> None:
    """Backed up, damaged, found, restored: each step by what the one before returned."""
    made = make_backup(store, NOW)
    assert check(store, preferences_from({})).findings == ()
    assert not check(store, preferences_from({})).damaged
    store.close()
    flip(store.place, 3)
    with open_store(store.place, now=NOW) as hurt:
        found = check(hurt, preferences_from({}))
    assert found.damaged
    assert str(made.path) in damage(store.place).remedy
    assert list_backups(store.place) == [made]
    told: list[str] = []
    aside = restore(store.place, made.path.name, NOW, told.append)
    assert told == []
    assert aside
    assert aside.exists()
    with open_store(store.place, now=NOW) as mended:
        assert not check(mended, preferences_from({})).findings
        assert len(all_titles(mended)) == 20


def test_the_newest_backup_is_named_with_damage(store: Store) -> None:
    """Damage says what to restore."""
    make_backup(store, NOW)
    newest = make_backup(store, NOW.replace(hour=20))
    assert str(newest.path) in damage(store.place).remedy


def test_mending_reckons_cards_anew_after_a_backup(store: Store) -> None:
    """What the rules in force give is put in place; a damaged store is left alone."""
    go(store, 1, session(store), (Recall.CLEAN,))
    for name, value in (("tempo_step", 0.1), ("start_tempo", 0.5)):
        set_setting(store, name, value)  # without reckoning, as nothing does
    other = preferences_from(get_settings(store))
    assert check(store, other).findings
    mended = mend(store, other, NOW)
    assert mended.mended > 1
    assert mended.findings == ()
    (kept,) = list_backups(store.place)
    assert kept.reason == "asked"
    store.close()
    flip(store.place, 3)
    before = store.place.read_bytes()
    with open_store(store.place, now=NOW) as hurt:
        assert mend(hurt, other, NOW).damaged
    assert store.place.read_bytes() == before


def test_no_such_backup(store: Store) -> None:
    """A name that isn't in the list is refused and changes nothing; nor is one of nobody's home."""
    before = store.place.read_bytes()
    for named in ("x", "~nosuchuser/x"):
        with pytest.raises(NotFound, match=f"no backup '{named}'"):
            restore(store.place, named, NOW, print)
    assert store.place.read_bytes() == before


def test_a_chart_that_an_earlier_version_stored_wrong_is_mended(store: Store) -> None:
    """Its spans fill their bars again, and the check has nothing left to tell."""
    words = (
        "UPDATE card SET chart = json_set(chart, '$.bars[0][0][1]', '6',"
        " '$.bars[0][1][0]', '6', '$.bars[0][1][1]', '-2') WHERE id = 30"
    )
    with store.engine.begin() as connection:
        connection.exec_driver_sql(words)
    assert [each.text for each in check(store, preferences_from({})).findings] == [
        "'Title 2' in B: bar 1 has a chord of -2 quarter notes"
    ]
    assert mend(store, preferences_from({}), NOW).findings == ()


@pytest.mark.parametrize(
    ("words", "finding", "remedy"),
    [
        (
            "UPDATE phrase SET chart = json_set(chart, '$.bars[0][0][1]', '-1') WHERE id = 1",
            "bar 1 has a chord of -1 quarter notes",
            "makes a backup and makes the chords fill their bars.",
        ),
        (
            "UPDATE tune SET chart = json_set(chart, '$.bars[0][0][1]', '0')",
            "the tune 'Wet slate': bar 1 has a chord of 0 quarter notes",
            "makes a backup and makes the chords fill their bars.",
        ),
        ("UPDATE tune SET key = 'Q'", "the tune 'Wet slate': ", "damaged"),
        ("UPDATE card SET chart = '{}' WHERE id = 2", "no chart: 'meter'", "damaged"),
        (
            "UPDATE drill_session SET minutes = 999",
            ": minutes: Input should be ",
            "Restore a backup to get these back",
        ),
        (
            "UPDATE card SET stability = 3 WHERE id = 1",
            "its state doesn't match its 1 rating",
            "may have changed since. 'drillbox store check --fix' makes a backup and recomputes",
        ),
    ],
)
def test_each_finding_has_its_own_remedy(
    store: Store, words: str, finding: str, remedy: str
) -> None:
    """What --fix does about it, and a backup where it can do nothing; what keeps the store from
    being read is told as the damage that every other command takes it for."""
    chart = parse_chart("Cm7 F7 | Bbmaj7", Meter(4, 4))
    tune = Tune("Wet slate", parse_key("Bb"), 120, chart, parse_form("", 2))
    add_tunes(store, [NewTune(tune, ())], NOW)
    go(store, 1, session(store))
    with store.engine.begin() as connection:
        connection.exec_driver_sql(words)
    found = check(store, preferences_from({}))
    lines = checked_lines(found, "there")
    assert finding in lines[0]
    assert ("Nothing is damaged" in lines[-1]) == ("--fix" in lines[-1])
    if found.fault:
        lines.append(failure_of(store, found.fault).line())
    assert remedy in lines[-1]
    if "fill" in remedy:
        assert mend(store, preferences_from({}), NOW).findings == ()
