"""What can be read from two metres away: key and tempo always, chords wherever they fit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart
from drillbox.player.controls import coming_line, foot_of, while_running
from drillbox.screen.card import tempo_text
from drillbox.screen.drill import drill_screen
from drillbox.screen.large import EDGE, large_lines
from drillbox.screen.lead_sheet import Sounding, span_text
from drillbox.screen.letters import LINED, LOW, SLIM, TALL, Alphabet
from drillbox.screen.look import Look
from tests.screen.states import BIG, CARD, IN_DRILL, ROUND, SAID, round_screen, shown

TONICS = ("C", "Db", "Eb", "Gb", "Ab", "Bb", "F#")
SYMBOLS = ("m7", "7", "maj7", "m7b5", "6", "7b9", "m6", "dim7", "7#11", "7sus4")


def in_large(text: str, screen: str) -> bool:
    """Return whether a text stands on a screen in letters of either height."""
    return any(
        all(row.strip() in screen for row in letters.draw(text, ascii=False))
        for letters in (TALL, LOW)
    )


def symbols(drawn: Chart) -> list[str]:
    """Return a chart's symbols as they are printed."""
    return [span_text(span, Look()) for bar in drawn.bars for span in bar.spans]


@st.composite
def charts(draw: st.DrawFn, bars: int) -> Chart:
    """Return a chart of so many bars, one, two or four chords in each."""
    symbol = st.builds("{}{}".format, st.sampled_from(TONICS), st.sampled_from(SYMBOLS))
    bar = st.sampled_from((1, 2, 4, 4)).flatmap(
        lambda count: st.lists(symbol, min_size=count, max_size=count).map(" ".join)
    )
    return parse_chart(" | ".join(draw(st.lists(bar, min_size=bars, max_size=bars))), Meter(4, 4))


@given(charts(8))
@settings(max_examples=50)
def test_at_100_by_30_every_chart_of_eight_bars_is_large(drawn: Chart):
    """With a chord on every beat, too: no symbol is drawn in plain text, and the ratings stay."""
    view = replace(CARD, chart=drawn, tempo=104, message=SAID)
    screen = shown(Look(100, 30), lambda look: drill_screen(view, look))
    assert not any(each in screen.split() for each in symbols(drawn))
    assert "f fluent" in screen


USUAL = ("m7", "7", "maj7", "6", "7b9", "m6", "m7b5")


@pytest.mark.parametrize(
    ("size", "bars", "chords", "rows"),
    [((100, 30), 8, 4, 7), ((80, 24), 8, 2, 5), ((80, 24), 4, 4, 5)],
)
@given(st.data())
@settings(max_examples=15)
def test_in_ascii_usual_charts_are_large(
    size: tuple[int, int], bars: int, chords: int, rows: int, data: st.DataObject
):
    """Where the low letters are too wide, letters of lines stand in; nothing is in plain text.

    ``rows`` are what there is room for; each but the last may leave 22 cells free.
    """
    symbol = st.builds("{}{}".format, st.sampled_from(TONICS), st.sampled_from(USUAL))
    row = st.lists(symbol, min_size=chords, max_size=chords).map(" ".join)
    found = data.draw(st.lists(row, min_size=bars, max_size=bars))
    wide = sum(LINED.width(each) + EDGE for each in " ".join(found).split())
    assume(wide <= rows * (size[0] - 3) - (rows - 1) * 22)
    view = replace(CARD, chart=parse_chart(" | ".join(found), Meter(4, 4)), tempo=104, message=SAID)
    screen = shown(Look(*size, ascii=True), lambda look: drill_screen(view, look))
    assert not any(each in screen.split() for each in " ".join(found).split())
    assert "f fluent" in screen
    assert screen.isascii()


@given(charts(8))
@settings(max_examples=20)
def test_bars_that_go_on_in_the_next_row_keep_their_order(drawn: Chart):
    """Broken rows show every symbol once, in order, a bar line before each bar."""
    lines = large_lines(drawn, SLIM, Look(100, 30), 98, 40, laying="broken")
    assert lines is not None
    rows = ["".join(lines[at] for at in range(first, len(lines) - 1, 3)) for first in range(3)]
    for row, line in enumerate(rows):
        at = 0
        for text in symbols(drawn):
            block = SLIM.draw(text, ascii=False)[row].rstrip()
            at = line.index(block, at) + len(block)
    assert rows[0].count("│") >= len(drawn.bars)


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (120, 40)])
@pytest.mark.parametrize("key", ["C", "Gb", "C#m", "Ebm"])
def test_key_and_tempo_are_large_at_once(size: tuple[int, int], key: str):
    """In a drill of two bars and of sixteen, and in a round, with and without a message."""
    long = replace(CARD.chart, bars=CARD.chart.bars * 8)
    for message in ("", SAID):
        for bars in (CARD.chart, long):
            view = replace(CARD, key=parse_key(key), tempo=104, message=message, chart=bars)
            screen = shown(Look(*size), lambda look, view=view: drill_screen(view, look))
            assert in_large(view.key.text(ascii=False), screen)
            assert in_large(tempo_text(104), screen)
        told = replace(ROUND, message=message)
        screen = shown(Look(*size), lambda look, told=told: round_screen(told, look))
        assert in_large("B♭", screen)
        assert in_large(tempo_text(79), screen)


SIZES = [(40, 20), (44, 20), (48, 20), (50, 24), (40, 24), (40, 30)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("key", ["F Dorian", "B Locrian", "Gb Mixolydian"])
@pytest.mark.parametrize("ascii", [False, True])
def test_a_mode_takes_no_large_letters_from_the_chart(size: tuple[int, int], key: str, ascii: bool):
    """Its name is too wide beside a tempo; no symbol is drawn in plain text for that."""
    look, mode = Look(*size, ascii=ascii), parse_key(key)
    in_round = replace(ROUND, places=tuple(replace(each, key=mode) for each in ROUND.places[:4]))
    for view, draw in ((replace(CARD, key=mode), drill_screen), (in_round, round_screen)):
        told = replace(view, tempo=104)
        screen = shown(look, lambda look, told=told, draw=draw: draw(told, look))
        assert not any(each in screen.split() for each in symbols(told.chart))
        assert "f fluent" in screen


@pytest.mark.parametrize(
    ("key", "size", "letters"),
    [
        ("F Dorian", (40, 20), SLIM),
        ("F Dorian", (50, 20), SLIM),
        ("F Dorian", (40, 24), LOW),
        ("F Dorian", (40, 30), LOW),
        ("Gb Mixolydian", (48, 20), SLIM),
        ("Gb Mixolydian", (40, 30), SLIM),
    ],
)
def test_key_and_tempo_of_a_mode_are_large(key: str, size: tuple[int, int], letters: Alphabet):
    """The tempo below the key where there is height for it, else both slim, the count-in too."""
    view = replace(CARD, key=parse_key(key), tempo=104)
    for told in (view, replace(view, sounding=Sounding(-1, 2, 4), count=3)):
        screen = shown(Look(*size), lambda look, told=told: drill_screen(told, look))
        for text in (view.key.text(ascii=False), tempo_text(104)):
            assert all(row.strip() in screen for row in letters.draw(text, ascii=False))


@pytest.mark.parametrize("bars", [2, 4, 8])
def test_at_80_by_24_two_four_and_eight_bars_are_large(bars: int):
    """The eight bars of the longest golden chart, and its beginnings."""
    view = replace(BIG, chart=replace(BIG.chart, bars=BIG.chart.bars[:bars]), message=SAID)
    assert "♭m" not in shown(Look(80, 24), lambda look: drill_screen(view, look))


NARROW = parse_chart("Fm7 | Bb7 | Ebmaj7 | Ebmaj7 (C7)", Meter(4, 4))


@pytest.mark.parametrize(
    ("chart", "sizes", "message"),
    [
        (CARD.chart, [(80, 24), (100, 30), (120, 40)], SAID),
        (BIG.chart, [(80, 24), (100, 30), (120, 40)], SAID),
        (
            NARROW,
            [(60, 20), *((40, height) for height in range(20, 31))],
            f"{SAID} {coming_line(4)}",
        ),
    ],
)
def test_a_message_does_not_change_the_letters(
    chart: Chart, sizes: list[tuple[int, int]], message: str
):
    """A line is kept free for it, and a longer one, as where the next key counts itself in, has
    the controls' room first: the chart looks the same after a rating as before."""
    for size in sizes:
        bare, told = (
            shown(Look(*size), lambda look, said=said: drill_screen(
                replace(CARD, chart=chart, message=said), look)).split(" l lost")[0].split("\n")
            for said in ("", message)
        )  # fmt: skip
        stays = [line for line in bare if line.strip()]
        assert [line for line in told if line.strip()][: len(stays)] == stays, size


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (100, 24), (100, 30)])
@pytest.mark.parametrize("bars", [1, 2])
def test_a_go_that_is_heard_does_not_change_the_letters(bars: int, size: tuple[int, int]):
    """What can be pressed differs at rest, under the beat and with a proposal; the rows of the
    controls don't, and so neither does what is read from afar."""
    chart = parse_chart(" | ".join(["Fm7 | Bb7 | Ebmaj7 | C7"] * bars), Meter(4, 4))
    resting, running = foot_of({*IN_DRILL, "heard"}), while_running(foot_of(IN_DRILL))
    heard = foot_of({*IN_DRILL, "accept", "replay"} - {"start"})
    rest, beat, proposed = (
        shown(Look(*size), lambda look, view=view: drill_screen(view, look)).split("\n")
        for view in (
            replace(CARD, chart=chart, foot=resting),
            replace(CARD, chart=chart, foot=running, sounding=Sounding(0, 1, 4)),
            replace(CARD, chart=chart, foot=heard, message="fluent? all 13 notes, in time."),
        )
    )
    large = [line for line in rest if any(sign in line for sign in "█▀▄▌▐")]
    assert large
    assert set(large) <= set(beat)
    assert set(large) <= set(proposed)
