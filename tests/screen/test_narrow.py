"""Charts on a small terminal: where the beat is can be seen, and every chord can be read."""

from __future__ import annotations

from dataclasses import replace

import pytest
from rich.cells import cell_len

from drillbox.music.analysis.hints import hint, hint_title
from drillbox.music.analysis.whole import analyse
from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.typed import parse_chart
from drillbox.practice.hinting import HintView
from drillbox.practice.settings import PREFERENCES
from drillbox.screen.chorus import ChorusView, chorus_screen
from drillbox.screen.drill import DrillView, drill_screen
from drillbox.screen.lead_sheet import Sounding, bar_rows, span_text
from drillbox.screen.look import Look
from drillbox.screen.round import round_screen
from drillbox.screen.setting_list import setting_list
from tests.rows import every_row
from tests.screen.states import ASKING, CARD, ROUND, shown
from tests.screen.test_fit_places import tunes

SMALL, SMALL_ASCII = Look(40, 24), Look(40, 24, ascii=True)
BLUES = parse_chart(
    "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7 D7 | Gm7 | C7 | F7 D7 | Gm7 C7", Meter(4, 4)
)
TWICE = replace(BLUES, bars=BLUES.bars * 2)
LONG = replace(BLUES, bars=BLUES.bars * 4)
WIDE = parse_chart(
    "F#m(maj7) / / G#m7b5 C#7#9#5 | F#m6/9 | Bm7b5/A / E7alt D#dim7 C#7b9 | F#m9 / / / (C#7alt)",
    Meter(5, 4),
)


def hinted(drawn: Chart, level: int, key: str = "F") -> DrillView:
    """Return a card of a chart without a line, with a step of the ladder of hints."""
    analysis = analyse(Phrase("Blues", parse_key(key), 120, drawn))
    bars = hint(level, drawn, (), analysis, ascii=False)  # type: ignore[arg-type]
    title = hint_title(level, has_line=False)  # type: ignore[arg-type]
    return replace(CARD, key=parse_key(key), chart=drawn, hint=HintView(level, title, bars))


def lines_of(view: DrillView, look: Look = SMALL) -> list[str]:
    """Return the lines of a drill's screen."""
    return shown(look, lambda look: drill_screen(view, look)).splitlines()


def over_the_beat(lines: list[str]) -> str:
    """Return the chords over the line in which the beat is, a hint's between them left out."""
    at = next(number for number, line in enumerate(lines) if "▲" in line)
    return next(line for line in reversed(lines[:at]) if "│" in line)


@pytest.mark.parametrize("level", [1, 2, 3])
@pytest.mark.parametrize("bar", range(12))
def test_the_bar_that_sounds_is_there_beside_a_hint(level: int, bar: int):
    """Under each of twelve bars, with the hint's heading and the ratings."""
    lines = lines_of(replace(hinted(BLUES, level), sounding=Sounding(bar, 1, 4)))
    row = over_the_beat(lines)
    assert all(span_text(span, SMALL) in row for span in BLUES.bars[bar].spans)
    assert any(f"hint {level} of 3" in line for line in lines)
    assert any("l lost" in line for line in lines)
    assert len(lines) <= SMALL.height


NOTE = "Lay back on the second half, and keep the thumb off the octave key until the very last. "


@pytest.mark.parametrize(("height", "note"), [(12, NOTE * 3), (12, NOTE * 9), (10, NOTE * 3)])
@pytest.mark.parametrize("ascii", [False, True])
def test_a_long_note_gives_way_to_the_chart(height: int, note: str, ascii: bool):
    """It says that there's more of it, and the chart which bars aren't shown; what was just said
    stays."""
    view = replace(hinted(LONG, 1), note=note, message="Tempo 96 for this go.")
    lines = lines_of(view, Look(60, height, ascii=ascii))
    more = "..." if ascii else "…"
    (below,) = (number for number, line in enumerate(lines) if line.endswith("48 below"))
    assert lines[below].startswith(f" {more} bars ")
    assert any("hint 1 of 3" in line for line in lines[below:])
    at = next(number for number, line in enumerate(lines) if "Tempo 96" in line)
    assert lines[at - 1].endswith(f" {more}")
    assert (len(lines), max(map(cell_len, lines)) <= 60) == (height, True)


@every_row("bar", range(48))
def test_the_bar_that_sounds_is_there_in_a_long_chart(bar: int):
    """Without a hint, in a chart that no terminal of this size holds; what comes is seen too."""
    lines = lines_of(replace(CARD, chart=LONG, sounding=Sounding(bar, 1, 4)))
    row = over_the_beat(lines)
    assert all(span_text(span, SMALL) in row for span in LONG.bars[bar].spans)
    assert lines[lines.index(row) + 2].strip()


def test_two_choruses_of_a_blues_are_there_whole():
    """24 bars fit, the row of the last with its beat among them."""
    lines = lines_of(replace(CARD, chart=TWICE, sounding=Sounding(23, 1, 4)))
    assert sum("│" in line for line in lines) == 12
    assert not any("above" in line or "below" in line for line in lines)


@pytest.mark.parametrize(
    ("look", "bar", "said"),
    [
        (SMALL, -1, ["… bars 9–12 below"]),
        (SMALL, 11, ["… bars 1–5 above"]),
        (Look(40, 18), 6, ["… bars 1–5 above", "… bars 10–12 below"]),
        (Look(40, 18, ascii=True), 6, ["... bars 1-5 above", "... bars 10-12 below"]),
    ],
)
def test_what_is_not_shown_is_told_of(look: Look, bar: int, said: list[str]):
    """Above and below, by the numbers of the bars."""
    lines = lines_of(replace(hinted(BLUES, 2), sounding=Sounding(bar, 1, 4)), look)
    assert [line.strip() for line in lines if "above" in line or "below" in line] == said


def test_a_hint_by_chords_goes_with_its_bars():
    """Where a hint is too wide to stand under its chords, each bar's is with the bar."""
    drawn = replace(WIDE, bars=WIDE.bars * 3)
    for bar in range(12):
        view = replace(hinted(drawn, 2, "F#m"), sounding=Sounding(bar, 1, 5))
        lines = lines_of(view)
        row = over_the_beat(lines)
        assert all(span_text(span, SMALL) in row for span in drawn.bars[bar].spans)
        assert any(line.startswith(f" bar {bar + 1}  ") for line in lines)
        assert any("hint 2 of 3" in line for line in lines)


@pytest.mark.parametrize("look", [SMALL, SMALL_ASCII, Look(40, 20), Look(30, 24)])
def test_a_bar_wider_than_the_screen_can_be_read(look: Look):
    """Its chords move together or go on in the next line, in the order in which they come."""
    text = shown(look, lambda look: drill_screen(replace(CARD, chart=WIDE, key=parse_key("F#m")),
                                                 look))  # fmt: skip
    at = 0
    for bar in WIDE.bars:
        for span in bar.spans:
            at = text.index(span_text(span, look), at) + 1


@pytest.mark.parametrize("width", [16, 20, 24, 30, 38, 60])
@pytest.mark.parametrize("beat", range(5))
def test_a_broken_bar_keeps_its_chords_and_its_beats(width: int, beat: int):
    """Each chord and the beat that sounds once, no line too wide, a bar line at either end."""
    for at, bar in enumerate(WIDE.bars):
        row = bar_rows(WIDE, SMALL, width, (), Sounding(at, beat, 5))[at]
        text = "\n".join(row.lines)
        assert max(map(cell_len, row.lines)) <= width
        assert text.count("▲") == 1
        assert text.count("│") == 2
        words = [span_text(span, SMALL) for span in bar.spans]
        assert [word for word in text.split() if word in words] == words


@pytest.mark.parametrize("width", [40, 36, 24])
def test_what_stands_over_the_chart_is_not_cut(width: int):
    """Goal, which go it is, meter and feel go on in the next line, over large letters or small."""
    for chart in (CARD.chart, LONG):
        view = replace(CARD, chart=chart, double_time=True)
        text = " ".join(lines_of(view, Look(width, 24)))
        words = " ".join(text.split())
        assert "goal 132, first go today · 4/4 · double time" in words


def test_what_is_said_of_a_setting_stays_under_its_name():
    """On a narrow screen each line of it is further in: only names begin at the edge."""
    values = {name: each.default for name, each in PREFERENCES.items()}
    text = shown(SMALL, lambda _: setting_list(PREFERENCES, values))
    at_the_edge = [line for line in text.splitlines() if not line.startswith("    ")]
    assert [line.split(" = ")[0] for line in at_the_edge] == [*PREFERENCES]


def test_a_round_and_a_tune_show_the_bar_that_sounds():
    """Their long charts are cut like a drill's, a tune's bars by their numbers in the tune."""
    text = shown(SMALL, lambda look: round_screen(
        replace(ROUND, chart=LONG, sounding=Sounding(40, 1, 4)), look))  # fmt: skip
    assert "B♭7" in over_the_beat(text.splitlines())
    assert "f fluent" in text
    assert shown(SMALL, lambda look: round_screen(replace(ASKING, chart=LONG), look))
    tune = tunes()[0]
    view = ChorusView(tune, 9, 1, 2, 132, sounding=Sounding(9, 1, 4))
    text = shown(Look(40, 9), lambda look: chorus_screen(view, look))
    assert span_text(tune.chart.bars[9].spans[0], SMALL) in over_the_beat(text.splitlines())
    assert "… bars 13–16 below" in text
