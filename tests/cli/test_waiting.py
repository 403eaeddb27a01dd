"""Long work shows that it goes on: on a terminal as a bar, elsewhere as a line now and then."""

from __future__ import annotations

import re
import sys
from functools import partial
from pathlib import Path

import pytest

from drillbox.cli.context import PATIENCE
from drillbox.music.keys import parse_key
from drillbox.practice.adding import read_file
from drillbox.practice.changing import change_setting
from drillbox.practice.demo import demo_store
from drillbox.practice.keeping import check
from drillbox.practice.looping import Loop, render
from drillbox.practice.preferences import preferences_from
from drillbox.sound.loop_parts import LoopOptions
from drillbox.store.opening import open_store
from tests.player.children import become_drillbox, ended, environment, pexpect
from tests.sound.parts import LONG
from tests.store.making import NOW

Heard = list[tuple[int, int]]


def grows(heard: Heard) -> bool:
    """Return whether what was told begins small, never falls and ends at the whole."""
    done = [each for each, _ in heard]
    return done == sorted(done) and done[0] < done[-1] == heard[-1][1]


def test_the_demo_is_made_with_a_bar_on_a_terminal(tmp_path: Path, monkeypatch, short_past: None):
    """Its codes reach the terminal as codes, and the bar is gone when the work is done.

    It is shown at once here: a forked child may be done before a bar would come.
    """
    monkeypatch.setattr("drillbox.cli.context.PATIENCE", 0.0)
    words, names = ["--demo", "phrases"], environment(TMPDIR=str(tmp_path))
    child = pexpect.spawn(
        sys.executable, ["-m", "drillbox", *words], env=names, encoding="utf-8", timeout=20,
        preexec_fn=partial(become_drillbox, words, names) if sys.platform == "linux" else None,
    )  # fmt: skip
    child.expect("Inventing the demo's past")
    child.expect("Late kettle|Demo: ")
    assert not re.search(r"(?<!\x1b)\[\d+(;\d+)*m", child.before)
    ended(child)


def test_every_long_work_tells_how_far_it_is(tmp_path: Path, short_past: None):
    """Reading tunes of both formats, making and checking the demo, a loop as WAV and as MIDI."""
    heard: list[Heard] = [[], [], [], [], [], [], []]
    source = tmp_path / "many.abc"
    tune = 'X:{n}\nT:Side door {n}\nM:4/4\nL:1/8\nQ:1/4=120\nK:C\n"Dm7"DEFG "G7"AGFE|"C6"C8|\n'
    source.write_text("\n".join(tune.format(n=n) for n in range(1, 6)))
    read_file(
        source, part=None, tempo=None, title=None, key=None, tick=lambda *at: heard[0].append(at)
    )
    place = demo_store(NOW, lambda _: None, tmp_path, lambda *at: heard[1].append(at))
    preferences = preferences_from({})
    with open_store(place, now=NOW, backups=False) as store:
        check(store, preferences, lambda *at: heard[2].append(at))
        change_setting(store, "instrument", "trombone", NOW, lambda *at: heard[6].append(at))
    loop = Loop((LONG,), LoopOptions(100, loops=4), "Over the fence", parse_key("Bb"))
    render(loop, ".wav", lambda *at: heard[3].append(at))
    walking = loop._replace(options=LoopOptions(100, loops=4, bass="walking"))
    render(walking, ".mid", lambda *at: heard[4].append(at))
    score = Path(__file__).parent / "tin_umbrella.musicxml"
    read_file(
        score, part=None, tempo=120, title=None, key=None, tick=lambda *at: heard[5].append(at)
    )
    assert [grows(each) for each in heard] == [True] * 7


def test_without_a_terminal_short_work_says_nothing(drillbox, tmp_path: Path, monkeypatch):
    """What takes under a second needs no words."""
    drillbox("add", "--title", "Red door", "--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | C6")
    ran = drillbox("store", "check")
    assert "Replaying" not in ran.err


@pytest.mark.parametrize("word", ["Reading tunes", "Mixing"])
def test_a_quick_command_shows_no_bar(drillbox, tmp_path: Path, monkeypatch, word: str):
    """Neither does one tune, or a short loop; on a busy machine they have five times as long."""
    monkeypatch.setattr("drillbox.cli.context.PATIENCE", 5 * PATIENCE)
    drillbox("add", "--title", "Red door", "--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | C6")
    ran = drillbox("loop", "red", "--out", str(tmp_path / "a.wav"), "--loops", "1")
    assert word not in ran.err + ran.out
