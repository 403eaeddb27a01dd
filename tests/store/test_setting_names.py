"""Settings of an older drillbox: under its name they still count, and the gone ones are silent."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.practice.preferences import preferences_from
from drillbox.practice.settings import PREFERENCES
from drillbox.store.access import Store
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import GONE, RENAMED, get_settings, set_setting
from tests.store.making import NOW
from tests.store.reading import document, members_in

FORMER = {
    "retention": 0.85, "newest_at_end": 0, "overhead_seconds": 20, "start_share": 0.5,
    "rung": 0.1, "floor": 50,
}  # fmt: skip
PRESENT = {
    "recall_target": 0.85, "repeat_newest": 0, "between_goes": 20, "start_tempo": 0.5,
    "tempo_step": 0.1, "slowest_tempo": 50,
}  # fmt: skip


def write_raw(place: Path, settings: dict[str, object]) -> None:
    """Write settings into the file as an older drillbox did."""
    rows = [(name, json.dumps(value)) for name, value in settings.items()]
    with closing(sqlite3.connect(place)) as raw, raw:
        raw.executemany("INSERT INTO setting (name, value) VALUES (?, ?)", rows)


def test_the_two_lists_and_the_settings_are_apart() -> None:
    """Each former name leads to a setting there is; neither it nor a gone one is one itself."""
    assert set(RENAMED) == set(FORMER)
    assert set(RENAMED.values()) == set(PRESENT) <= set(PREFERENCES)
    assert not (set(RENAMED) | GONE) & set(PREFERENCES)


def test_a_store_keeps_what_was_set_under_former_names(place: Path) -> None:
    """They are in force and go out under today's names; what is gone isn't mentioned."""
    write_raw(place, {**FORMER, "new_a_day": 5, "fresh": 0.9, "minutes": 30})
    with open_store(place, now=NOW) as store:
        assert get_settings(store) == {**PRESENT, "minutes": 30}
        preferences = preferences_from(get_settings(store))
        assert preferences.left_out == {}
        assert (preferences.rules.recall_target, preferences.rules.tempo.tempo_step) == (0.85, 0.1)
        assert document(store)["settings"] == {**PRESENT, "minutes": 30}


@pytest.mark.parametrize("value", [0.2, None])
def test_setting_it_anew_leaves_nothing_under_the_former_name(place: Path, value: object) -> None:
    """Neither the new value nor its default is undone by the row that an older one wrote."""
    write_raw(place, {"rung": 0.1})
    with open_store(place, now=NOW) as store:
        set_setting(store, "tempo_step", value, NOW)
        assert get_settings(store) == ({} if value is None else {"tempo_step": value})
    with closing(sqlite3.connect(place)) as raw:
        assert raw.execute("SELECT name FROM setting").fetchall() == [("tempo_step",)]


def test_an_import_reads_former_names_and_drops_gone_ones(store: Store) -> None:
    """The later time counts under either name; nothing is reported as left out."""
    set_setting(store, "minutes", 40, NOW)
    data = document(store)
    data["settings"] = {"rung": 0.1, "phrase_share": 0.5, "break_days": 7, "hold_days": 2}
    data["settings_changed"] = {
        "rung": "2030-01-01T00:00:00Z",
        "break_days": "2030-01-01T00:00:00Z",
    }
    merged = merge(store, members_in(data), preferences_from)
    assert (list(merged.settings), merged.left_out) == (["tempo_step"], [])
    assert get_settings(store) == {"minutes": 40, "tempo_step": 0.1}
    data["settings"]["rung"] = 0.2  # set at the same time elsewhere: the larger text stays
    merge(store, members_in(data), preferences_from)
    assert get_settings(store)["tempo_step"] == 0.2
