"""A setting in the store that can't be used: told in a line, left out, and removed when asked."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.errors import ExitCode

BAD = {
    "weights": ["x", ["x"], [1, 2, 3], [1e9] * 21, {"a": 1}, True],
    "day_start_hour": ["abc", 99, -1, 1e999, [4]],
    "minutes": ["abc", 0, 10**9, 2.5, True],
    "zone": ["Mars/Olympus", "../../etc/passwd", 7, "\x1b]0;x\x07", "a" * 5000],
    "instrument": ["kazoo", {}, 3],
    "own_order": ["C C C", 4, ["C"]],
    "recall_target": ["nan", 2, "1e309"],
    "volume": [400, "loud"],
}
READING = (
    ["phrases"], ["show", "1"], ["summary"], ["progress"], ["upcoming", "--days", "2"],
    ["settings"], ["store", "check"],
)  # fmt: skip


def put(place: Path, name: str, words: str) -> None:
    """Write a setting into the store's file as no drillbox would."""
    with closing(sqlite3.connect(place)) as raw, raw:
        raw.execute("DELETE FROM setting WHERE name = ?", (name,))
        raw.execute("INSERT INTO setting (name, value) VALUES (?, ?)", (name, words))


def told(ran) -> str:
    """Return the one line that was told, but for how far long work has come on a busy machine."""
    assert ran.code == ExitCode.OK, ran.err
    (line,) = [line for line in ran.err.splitlines() if not line.endswith("%")]
    assert len(line) < 200
    return line


@pytest.mark.parametrize("name", BAD)
def test_the_store_opens_and_goes_on_with_the_default(kettle, place, name):
    """Every reading command and a drill work, and each names the setting in one line."""
    kettle("settings", "minutes", "1")  # short days are soon looked ahead over
    for value in BAD[name]:
        put(place, name, json.dumps(value))
        begins = f"drillbox: The stored setting {name!r} can't be used: "
        assert told(kettle("drill", keys="c\n")).startswith(begins), value
    for command in READING:
        assert told(kettle(*command)).startswith(begins), command
    assert not kettle("store", "check").out.startswith("Nothing is wrong")


@pytest.mark.parametrize("words", ["{", "", "fourths", "[" * 5000])
def test_a_value_that_is_not_even_json_is_left_out(kettle, place, words):
    """Text in the column that no drillbox wrote keeps nobody from the drill."""
    put(place, "minutes", words)
    assert kettle("drill", keys="c\n").code == ExitCode.OK
    assert "setting 'minutes' can't be used" in kettle("phrases").err


def test_a_check_heals_it_when_asked(kettle, place):
    """``--fix`` removes it after a backup; afterwards nothing is said any more."""
    put(place, "weights", "[1, 2, 3]")
    put(place, "day_start_hour", '"abc"')
    kettle("drill", keys="c\n")
    ran = kettle("store", "check")
    assert "the setting 'weights' can't be used: [1, 2, 3]" in ran.out
    assert "the setting 'day_start_hour' can't be used" in ran.out
    ran = kettle("store", "check", "--fix")
    assert ran.code == ExitCode.OK
    ran = kettle("store", "check")
    assert (ran.out, ran.err) == (f"Nothing is wrong with {place}.\n", "")


def test_a_sitting_from_an_unknown_zone_keeps_nobody_from_rating(kettle, place):
    """Another computer's zone data may be newer; the day's backup then goes by UTC."""
    kettle("drill", keys="c\n")
    with closing(sqlite3.connect(place)) as raw, raw:
        raw.execute("UPDATE drill_session SET zone = 'Mars/Olympus'")
    ran = kettle("drill", keys="c\n", now="2026-03-04T18:00:00Z")
    assert (ran.code, ran.err) == (ExitCode.OK, "")
    assert len(list(place.with_name(f"{place.name}-backups").glob("*-day.sqlite3"))) == 2
