"""What a drill's and a round's screens share: head, chart, what is said, and the keys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from rich.cells import cell_len
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.screen import style
from drillbox.screen.footer import Foot, footer, short_footer
from drillbox.screen.large import Laying, large_heading, large_lines
from drillbox.screen.lead_sheet import BarRow, Sounding
from drillbox.screen.letters import LINED, LOW, SLIM, TALL, Alphabet
from drillbox.screen.look import Look, clean, wrapped

BESIDE = 4  # columns between large letters and what is stated beside them
Layouts = tuple[tuple[Alphabet, Alphabet | None], ...]
"""Letters of key and tempo, and of the chords (None: plain text), from best to least."""
IN_LETTERS: Layouts = ((TALL, TALL), (LOW, TALL), (TALL, LOW), (LOW, LOW))
CLOSE: tuple[tuple[Laying, Alphabet], ...] = (("broken", LOW), ("dense", SLIM), ("broken", SLIM))
"""How the chords' rows lie, and their letters, where bars find no room in rows of their own."""
IN_TEXT: Layouts = ((TALL, None), (LOW, None))


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over the chart: short texts to be drawn large, and facts beside or above them.

    ``ahead`` is the key that comes next. ``count`` is the beat of the count-in, drawn large
    where there is room; ``counted`` says it otherwise. ``small`` is all of it on one line, for
    a terminal with room for no large letter.
    """

    texts: tuple[str, ...]
    stated: str
    small: Text
    ahead: str = ""
    count: str = ""
    counted: str = ""


@dataclass(frozen=True, slots=True)
class Card:
    """A screen of drill or round: ``plain`` is its chart in rows, ``said`` what stands below.

    ``message`` is said below that; it comes and goes.
    ``large`` is false where something stands between the lines of the chart. ``folded`` is the
    chart with what is said of its bars between them, and what is said besides: for where the
    screen can't hold it all. ``first`` is the number of the chart's first bar.
    """

    top: Sequence[Text]
    heading: Heading
    chart: Chart
    plain: Sequence[BarRow]
    said: Sequence[str]
    message: str
    foot: Foot
    sounding: Sounding | None
    large: bool = True
    folded: tuple[Sequence[BarRow], Sequence[str]] | None = None
    first: int = 1


def title_line(title: str, corner: str, look: Look) -> list[Text]:
    """Return the title with a few words at the other end of its line, and a rule."""
    width = look.width - 2
    shown = clean(title, max(8, width - cell_len(corner) - 2), ascii=look.ascii)
    gap = " " * max(2, width - cell_len(shown) - cell_len(corner))
    line = Text.assemble((shown, style.TITLE), gap, corner)
    return [_indented(line), Text(look.rule * look.width, style.QUIET)]


def meter_line(chart: Chart, double_time: bool, look: Look, *first: str) -> str:
    """Return the chart's meter and feel on one line, after what is to stand first."""
    feel = ["double time"] if double_time else []
    return f" {look.dot} ".join([*first, chart.meter.text(), *feel])


def tempo_text(tempo: int) -> str:
    """Return a tempo for large letters, with a note sign: a bare figure reads as a chord's."""
    return f"♩={tempo}"


def count_in_text(count: int, sounding: Sounding | None, look: Look) -> str:
    """Return the count-in so far, ``1 2 3 ·``, or nothing outside of it."""
    if not count or sounding is None:
        return ""
    beats = range(1, sounding.beats + 1)
    return " ".join(str(n) if n <= count else look.dot for n in beats)


def card_lines(card: Card, look: Look) -> list[Text]:
    """Return the screen's lines: key and tempo large, and the chords too, wherever they fit.

    A key too wide to stand beside its tempo doesn't take the large letters from the chords.
    A line is kept free for what is said. A longer message has the controls' room before it makes
    the letters smaller: the chart stays as it is while one comes and goes.
    On a low terminal the controls give way first, then the letters, then what isn't near the bar
    that sounds; the ratings stay.
    """
    said, message = _said(card, card.said, look), _said(card, (), look)
    longer = max(0, len(message) - 1)  # than the line that is kept free
    feet = footer(card.foot, look), short_footer(card.foot, look)
    for laying, foot, (over, chords) in _layouts(card, feet, look):
        for above in _headings(card.heading, over, look):
            room = look.height - len(card.top) - len(above) - len(said) - (not message)
            chart = _chart(card, laying, chords, look, room + longer - len(foot))
            if chart is None:
                continue
            for each in (foot, feet[1]):
                beside = _chart(card, laying, chords, look, room - len(each))
                if beside is not None and _inked(beside) == _inked(chart):
                    return _stacked(card, [*above, *_chords(beside)], said, each, look)
            at_rest = card.sounding is None  # the lines of beats are empty
            if at_rest and len(_inked(chart)) <= room - len(feet[1]):
                return _stacked(card, [*above, *_chords(chart)], said, feet[1], look)
    return _small(card, said, feet, look)


def _chart(
    card: Card, laying: Laying, letters: Alphabet | None, look: Look, room: int
) -> list[str] | None:
    """Return the chart in letters, or as plain text without; None where it has no room."""
    if letters:
        width = look.width - 2
        return large_lines(card.chart, letters, look, width, room, card.sounding, laying)
    lines = [*_lines(card.plain), ""]
    return lines if len(lines) <= room else None


def _small(card: Card, said: list[Text], feet: Sequence[list[Text]], look: Look) -> list[Text]:
    """Return the screen's lines without large letters; of the chart the part that has room."""
    heading = _broken_text(card.heading.small, look.width - 2)
    whole = [*heading, Text(""), *_chords(_lines(card.plain)), Text("")]
    if len(card.top) + len(whole) + len(said) + len(feet[0]) <= look.height:
        return _stacked(card, whole, said, feet[0], look)
    rows, room = card.plain, look.height - len(card.top) - len(feet[1]) - len(heading)
    if card.folded and len(_close(rows)) + len(said) > room:
        rows, said = card.folded[0], _said(card, card.folded[1], look)
    if len(_close(rows)) + len(said) <= room:
        whole = [*heading, Text(""), *_chords(_lines(rows)), Text("")]
        return _stacked(card, whole, said, feet[1], look)
    at = _row_of_beat(rows, card)
    said = _shortened(said, card, room - len(_shown(rows, at, at + 1, card, look)), look)
    chart = _near(rows, card, room - len(said), look)
    return _stacked(card, [*heading, *_chords(chart)], said, feet[1], look)


def _shortened(said: list[Text], card: Card, room: int, look: Look) -> list[Text]:
    """Return what is said in so many lines, but its first and the message whatever the room."""
    message = len(_said(card, (), look))
    kept = max(1, room - message)
    if len(said) <= kept + message:
        return said
    more = "..." if look.ascii else "…"
    cut = wrapped(said[kept - 1].plain, look.width - 3 - len(more))[0]
    return [*said[: kept - 1], Text(f"{cut} {more}"), *said[len(said) - message :]]


def _lines(rows: Sequence[BarRow]) -> list[str]:
    return [line for row in rows for line in row.lines]


def _close(rows: Sequence[BarRow]) -> list[str]:
    """Return the lines of a chart in which something stands."""
    return _inked(_lines(rows))


def _inked(lines: Sequence[str]) -> list[str]:
    return [line for line in lines if line.strip()]


def _near(rows: Sequence[BarRow], card: Card, room: int, look: Look) -> list[str]:
    """Return the rows about the bar that sounds, and which bars there are besides.

    The row that comes next has room first, then the one before, then those that follow. Without
    room for more, the bar's own row stands alone.
    """
    first = _row_of_beat(rows, card)
    last = first + 1
    for ahead in (True, False, *[True] * len(rows), *[False] * len(rows)):
        wider = (first, last + 1) if ahead else (first - 1, last)
        fits = wider[0] >= 0 and wider[1] <= len(rows)
        if fits and len(_shown(rows, *wider, card, look)) <= room:
            first, last = wider
    shown = _shown(rows, first, last, card, look)
    return shown if len(shown) <= room else _close(rows[first:last])


def _row_of_beat(rows: Sequence[BarRow], card: Card) -> int:
    """Return which row has the bar that sounds, 0 where none does."""
    bar = card.sounding.bar if card.sounding else 0
    return next((number for number, row in enumerate(rows) if bar in row.bars), 0)


def _shown(rows: Sequence[BarRow], first: int, last: int, card: Card, look: Look) -> list[str]:
    """Return some rows of a chart between lines that say which bars are above and below."""
    above = [_rest(rows[:first], "above", card.first, look)] if first else []
    below = [_rest(rows[last:], "below", card.first, look)] if rows[last:] else []
    return [*above, *_close(rows[first:last]), *below]


def _rest(rows: Sequence[BarRow], where: str, number: int, look: Look) -> str:
    """Say which bars aren't shown."""
    first, last = rows[0].bars.start + number, rows[-1].bars.stop - 1 + number
    bars = f"bars {first}{look.dash}{last}" if last > first else f"bar {first}"
    return f"{'...' if look.ascii else '…'} {bars} {where}"


def _broken_text(text: Text, width: int) -> list[Text]:
    """Return a text in lines of at most ``width`` cells, its styles kept."""
    lines, at = [], 0
    for part in wrapped(text.plain, width):
        at = text.plain.index(part, at)
        lines.append(text[at : at + len(part)])
        at += len(part)
    return lines


def _layouts(
    card: Card, feet: Sequence[list[Text]], look: Look
) -> Iterator[tuple[Laying, list[Text], tuple[Alphabet | None, Alphabet | None]]]:
    """Yield the ways to draw a card from best to least: how rows lie, controls, letters.

    Where a heading is too wide for its letters, it is plain text before the chords are.
    """
    if card.large:
        layings: tuple[Laying, ...] = "airy", "dense"
        large = [*product(layings, feet, IN_LETTERS)]
        for foot, (laying, chords) in product(feet, CLOSE):
            large.append((laying, foot, (LOW, LINED if look.ascii and chords.slim else chords)))
        yield from large
        if _heading_lines(card.heading, LOW, look) is None:
            low = ((way, foot, chords) for way, foot, (over, chords) in large if over is LOW)
            yield from ((way, foot, (None, chords)) for way, foot, chords in low)
    for foot, layout in product(feet, IN_TEXT):
        yield "airy", foot, layout


def _stacked(
    card: Card, middle: Sequence[Text], said: Sequence[Text], foot: Sequence[Text], look: Look
) -> list[Text]:
    """Return all lines, empty ones left out where there are too many."""
    room = look.height - len(card.top) - len(foot)
    lines = [_indented(line) for line in [*middle, *said]]
    if len(lines) < room and said:
        lines.append(Text(""))
    if len(lines) > room:
        lines = [line for line in lines if line.plain.strip()][:room]
    return [*card.top, *lines, *foot]


def _headings(heading: Heading, letters: Alphabet | None, look: Look) -> Iterator[list[Text]]:
    """Yield the ways to draw a heading from best to least; without letters it is plain text.

    Where low letters are too wide, as the name of a mode makes them, the tempo stands below the
    key, or slim letters stand in.
    """
    if letters is None:
        yield [*_broken_text(heading.small, look.width - 2), Text("")]
        return
    if lines := _heading_lines(heading, letters, look):
        yield lines
        return
    if letters is not LOW:
        return
    slim = [] if look.ascii else [(SLIM, False), (SLIM, True)]
    for each, below in [(LOW, True), *slim]:
        if lines := _heading_lines(heading, each, look, below=below):
            yield lines


def _heading_lines(
    heading: Heading, letters: Alphabet, look: Look, *, below: bool = False
) -> list[Text] | None:
    """Return key and tempo in large letters with the facts; None where they are too wide.

    ``below`` puts the tempo below the key.
    """
    width, stated, then = look.width - 2, heading.stated, ""
    key, *tempo = heading.texts
    first = (key, ">", heading.ahead) if heading.ahead else (key,)
    drawn = _drawn(first, tempo, letters, look, below=below)
    if heading.ahead and max(map(cell_len, drawn)) > width:
        first, then = (key,), f"then {heading.ahead}   "
        drawn = _drawn(first, tempo, letters, look, below=below)
    if max(map(cell_len, drawn)) > width:
        return None
    stated, free = f"{then}{stated}", width - max(map(cell_len, drawn))
    beside = letters is not TALL and cell_len(stated) + BESIDE <= free
    if heading.count:
        counted = _drawn(first, [*tempo, heading.count], letters, look, below=below)
        taken = max(map(cell_len, counted)) + (cell_len(stated) + BESIDE if beside else 0)
        if taken <= width:
            drawn = counted
        else:
            stated = f"{then}{heading.counted}"
    lines = [Text(line, style.TITLE) for line in drawn]
    if beside:
        gap = " " * (BESIDE + max(map(cell_len, drawn)) - cell_len(drawn[0]))
        lines[0].append(gap).append(stated, style.QUIET)
        return lines
    over = [Text(part, style.QUIET) for part in wrapped(stated, width) or [""]]
    return [*over, *lines, *([Text("")] if letters is TALL else [])]


def _drawn(
    key: Sequence[str], tempo: Sequence[str], letters: Alphabet, look: Look, *, below: bool
) -> list[str]:
    """Return large letters of what belongs to the key and to the tempo, side by side or below."""
    rows = [key, tempo] if below else [[*key, *tempo]]
    return [line for row in rows for line in large_heading(row, letters, look)]


def _said(card: Card, said: Sequence[str], look: Look) -> list[Text]:
    lines = [*said, clean(card.message, ascii=look.ascii)]
    return [Text(part) for line in lines for part in wrapped(line, look.width - 2)]


def _chords(lines: Sequence[str]) -> list[Text]:
    """Return a chart's lines in the weight of chord symbols."""
    return [Text(line, style.CHORD, no_wrap=True) for line in lines]


def _indented(text: Text) -> Text:
    """Return a line a cell away from the terminal's edge."""
    return Text(" ", no_wrap=True).append_text(text)
