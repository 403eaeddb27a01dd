"""The line is heard as the last step after the third hint, and counts as that hint."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.player.in_drill import InDrill
from drillbox.practice.adding import keep, prepare, read_file
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store
from tests.store.making import NOW

PREFERENCES = preferences_from({"zone": "UTC", "swing": "triplet"})
TUNE = """X:1
T:Red door
M:4/4
L:1/8
Q:1/4=120
K:C
"Dm7" DEFG "G7" AGFE | "Cmaj7" C4 "A7" ^C4 |
"""


@pytest.fixture
def playing(tmp_path: Path, made: Path):
    """Return a drill over one phrase with a line of eighths."""
    source = tmp_path / "door.abc"
    source.write_text(TUNE)
    (tune,) = read_file(source, part=None, tempo=None, title=None, key=None).tunes
    with open_store(made, now=NOW, backups=False) as store:
        keep(store, [prepare(tune.phrase, PREFERENCES)], NOW)
        yield InDrill(Drill(store, PREFERENCES, minutes=20, now=NOW), lambda: NOW, ascii=True)


def test_three_hints_are_seen_before_the_line_is_heard(playing: InDrill):
    """The fourth press plays it at the card's tempo; the hint that counts stays the third."""
    for _ in range(3):
        assert playing.actions()["hint"]().hear is None
    heard = playing.actions()["hint"]().hear
    assert heard is not None
    assert heard.options.tempo == playing.showing.tempo
    assert playing.showing.hint == 3
    done = playing.actions()["fluent"]()
    assert "the best rating is rough" in done.message


def test_by_lines_nothing_is_played_and_it_says_so(playing: InDrill):
    """Ratings that come from a script go with no sound."""
    playing.drill.timed = False
    for _ in range(3):
        playing.actions()["hint"]()
    told = playing.actions()["hint"]()
    assert (told.hear, told.message) == (
        None, "That was the last hint; hearing the line needs a terminal.",
    )  # fmt: skip


def test_the_line_is_swung_as_the_player_has_set(playing: InDrill):
    """Eighths at a triplet's 2:1: the second begins two thirds into the beat."""
    for _ in range(3):
        playing.actions()["hint"]()
    (part,) = playing.actions()["hint"]().hear.parts
    assert [str(note.onset) for note in part.line[:4]] == ["0", "2/3", "1", "5/3"]


def test_a_drill_plays_the_chart_that_sounds(playing: InDrill):
    """A backing gets the chart at concert pitch, not as a transposing instrument reads it."""
    assert playing.charts() == [playing.showing.card.chart]
