"""The settings of beat and click, as they are seen and heard in a real terminal."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting
from drillbox.terminal.device import open_device
from tests.player.children import BEAT, ended, spawn

NOW = datetime(2026, 3, 1, 18, tzinfo=UTC)
NO_BEAT = r"\[(?:8|16);1H \x1b\[0m"  # the line of beats, emptied


def set_to(place: Path, **values: object) -> None:
    """Change settings of a store."""
    with open_store(place, now=NOW, backups=False) as store:
        for name, value in values.items():
            set_setting(store, name, value)


def drill(place: Path, *arguments: str, **more: str):
    """Start a drill and its beat."""
    child = spawn(place, "drill", *arguments, **more)
    child.expect("Red door")
    child.expect("help")
    child.send(" ")
    return child


def stop(child) -> str:
    """Stop the drill and return what it wrote since the last expectation."""
    child.send("q")
    return ended(child)


def test_the_bell_rings(quick: Path):
    """The terminal's own: it is heard from the count-in on."""
    set_to(quick, click="bell")
    child = drill(quick)
    child.expect("\a")
    child.expect(BEAT)
    stop(child)


def test_no_click_is_silent_and_says_nothing(quick: Path):
    """Off is off: neither a bell nor a line about a device."""
    child = drill(quick)
    child.expect(BEAT)
    text = child.before + stop(child)
    assert "\a" not in text
    assert "No sound" not in text


def test_without_a_device_one_line_says_why_once(quick: Path):
    """The sound setting on a machine without a device: said at the first beat, not at the next."""
    set_to(quick, click="sound")
    child = drill(quick, ALSA_CONFIG_PATH="/dev/null", PULSE_SERVER="unix:/nowhere")
    child.expect(f"No sound|{BEAT}")
    if child.after != "No sound":
        pytest.skip("this machine has a sound device")
    child.expect(BEAT)
    child.send("  ")
    child.expect(BEAT)
    assert "No sound" not in child.before
    stop(child)


def test_without_a_device_a_backing_says_so_before_the_first_beat(quick: Path):
    """Beside what the session begins with, and without a press."""
    device = open_device()
    if not isinstance(device, str):
        device.close()
        pytest.skip("this machine has a sound device")
    child = spawn(quick, "drill", "Red door", "--backing", "bass", size=(24, 100))
    child.expect("Narrowed to 12 keys; 24 keys left out. No sound", timeout=8)
    stop(child)


def test_the_beat_of_a_phrase_in_double_time_may_be_the_doubled_one(quick: Path):
    """In 2/4 the doubled beat counts to four in the time of two."""
    with closing(sqlite3.connect(quick)) as database:
        database.execute("UPDATE phrase SET double_time = 1")
        database.commit()
    set_to(quick, beat="doubled")
    child = drill(quick)
    child.expect("1 2 3 4")
    stop(child)


def test_loops_until_a_key(quick: Path):
    """With 0 loops the beat goes on past what two loops last, until it is stopped."""
    child = drill(quick, "--loops", "0")
    for _ in range(12):  # two loops have eight beats
        child.expect(BEAT)
    stop(child)


def test_the_beat_ends_after_its_loops(quick: Path):
    """One loop of two bars: four beats fall, then the marks are gone until space."""
    child = drill(quick, "--loops", "1")
    child.expect(BEAT)
    child.expect(NO_BEAT)
    stop(child)
