"""Charts that a small terminal can't hold, as they go by in a real one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.player.children import ended, spawn

BLUES = "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7 D7 | Gm7 | C7 | F7 D7 | Gm7 C7"


@pytest.fixture
def blues(drillbox, made: Path) -> Path:
    """Return a store with one phrase of twelve bars, played fast and silently."""
    drillbox("add", "--title", "Long way", "--key", "F", "--tempo", "400", "--meter", "4/4",
             "--chart", BLUES, "--no-turnaround")  # fmt: skip
    drillbox("settings", "click", "off")
    drillbox("settings", "start_tempo", "1")
    return made


def test_the_chart_follows_the_beat(blues: Path):
    """With two hints at 40 by 24: first what is below is told of, later what is above."""
    child = spawn(blues, "drill", size=(24, 40))
    child.expect("Long way")
    child.send("h")
    child.expect("hint 1 of 3")
    child.send("h")
    child.expect("bars 9–12 below")
    child.expect("hint 2 of 3")
    child.send(" ")
    child.expect("bars 1–5 above")
    child.send("q")
    ended(child)


def test_a_bar_wider_than_the_screen_is_there_whole(drillbox, made: Path):
    """At 40 columns the last chord of each bar is seen, and all that stands over the chart."""
    drillbox("add", "--title", "Wide way", "--key", "F#m", "--tempo", "120", "--meter", "5/4",
             "--chart", "F#m(maj7) / / G#m7b5 C#7#9#5 | F#m6/9 | Bm7b5/A / E7alt D#dim7 C#7b9 "
             "| F#m9 / / / (C#7alt)")  # fmt: skip
    child = spawn(made, "drill", size=(24, 40))
    for said in ("Wide way", "first go today", "G♯ø7 +C♯7♯5♯9", "E7alt +D♯°7 +C♯7♭9", "C♯7alt"):
        child.expect(said)
    child.send("q")
    ended(child)
