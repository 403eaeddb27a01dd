"""A tune that is played on screen: golden while it goes, before it and when it is asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart
from drillbox.music.tunes import Tune
from drillbox.screen.chorus import ChorusView, Line, asked_lines, chorus_screen, tune_lines
from drillbox.screen.footer import Foot
from drillbox.screen.lead_sheet import Sounding
from drillbox.screen.look import Look
from tests.screen.conftest import drawn
from tests.screen.test_fit_places import tunes

FOOT = Foot((("l", "lost"), ("c", "clean")), (("space", "start"), ("q", "stop")))
LATE = Line("Late kettle", parse_key("Eb"))
NEXT = Line("Loose hinge", parse_key("Gb"), 1)
VIEWS = {
    "before": ChorusView(tunes()[0], 0, 1, 2, 132, coming=Line("Late kettle", LATE.key, 2)),
    "going": ChorusView(
        tunes()[0], 6, 1, 2, 132, now=LATE, coming=NEXT, sounding=Sounding(6, 1, 4), foot=FOOT
    ),
    "asking": ChorusView(tunes()[0], 15, 2, 2, 132, asking=(LATE, 4, 132), left=3, foot=FOOT),
}


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize("look", [Look(80, 24), Look(40, 20, ascii=True)], ids=["80", "40"])
def test_a_tune_looks_as_it_did(golden: Callable, name: str, look: Look) -> None:
    """The bars around the beat, the phrase that is and that comes, or the one asked for."""
    golden(f"chorus-{name}-{look.width}", drawn(chorus_screen(VIEWS[name], look), look))


@pytest.mark.parametrize("meter", [(3, 4), (5, 4), (6, 4), (7, 4)])
def test_bar_lines_stay_where_they_are_when_the_beat_begins(meter: tuple[int, int]) -> None:
    """At rest, counted in and sounding."""
    chart = parse_chart("Cm7 | F7 | Bbmaj7 | Gm7", Meter(*meter))
    view = ChorusView(Tune("Salt", parse_key("Bb"), 120, chart), 0, 1, 2, 120)
    beats = meter[0]
    going = (view, replace(view, sounding=Sounding(-1, 1, beats), count=2),
             replace(view, sounding=Sounding(0, 1, beats)))  # fmt: skip
    look = Look(80, 24)
    bars = {
        tuple(at for at, sign in enumerate(line) if sign == "│")
        for each in going
        for line in drawn(chorus_screen(each, look), look).splitlines()
        if "Cm7" in line
    }
    assert len(bars) == 1


def test_the_same_in_words() -> None:
    """The tune once, then a question for each phrase."""
    look = Look(plain=True)
    assert tune_lines(VIEWS["going"], look)[0] == "Tram to the lake, tempo 132, 4/4"
    assert asked_lines(VIEWS["going"], look) == []
    assert asked_lines(VIEWS["asking"], look) == [
        "How was Late kettle in E♭? It came 4 times, tempo 132."
    ]
