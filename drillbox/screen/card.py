"""What a drill's and a round's screens share: head, chart, what is said, and the keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.screen import style
from drillbox.screen.bars import Sounding
from drillbox.screen.large import large_lines
from drillbox.screen.look import Look, clean, wrapped

HEAD = 2  # lines above the body: the title and a rule


@dataclass(frozen=True, slots=True)
class Body:
    """What stands between the head and the keys: the chart with its facts, and what is said."""

    chart: list[Text]
    said: list[Text]


def head(title: str, corner: str, look: Look) -> list[Text]:
    """Return the title with a few words at the other end of its line, and a rule."""
    width = look.width - 2
    shown = clean(title, max(8, width - cell_len(corner) - 2), ascii=look.ascii)
    gap = " " * max(2, width - cell_len(shown) - cell_len(corner))
    line = Text.assemble((shown, style.TITLE), gap, corner)
    return [indented(line), Text(look.rule * look.width, style.QUIET)]


def facts(chart: Chart, double_time: bool, look: Look, *first: str) -> str:
    """Return the chart's meter and feel on one line, after what is to stand first."""
    feel = ["double time"] if double_time else []
    return f" {look.dot} ".join([*first, chart.meter.text(), *feel])


def counting(count: int, sounding: Sounding | None, look: Look) -> str:
    """Return the count-in so far, ``1 2 3 ·``, or nothing outside of it."""
    if not count or sounding is None:
        return ""
    beats = range(1, sounding.beats + 1)
    return "   " + " ".join(str(n) if n <= count else look.dot for n in beats)


def body(lines: Sequence[Text], said: Sequence[str], look: Look) -> Body:
    """Return the lines of a chart, and below them what is said, wrapped."""
    return Body(
        [indented(line) for line in lines], [indented(Text(line)) for line in _wrapped(said, look)]
    )


def _wrapped(said: Sequence[str], look: Look) -> list[str]:
    return [part for line in said for part in wrapped(line, look.width - 2)]


def large_body(
    chart: Chart,
    headings: Sequence[Sequence[Text]],
    said: Sequence[str],
    foot: Sequence[Text],
    look: Look,
    sounding: Sounding | None,
) -> Body | None:
    """Return the body in large letters under the first heading that leaves room for them.

    None where the chart doesn't fit under any.
    """
    below = len(_wrapped(said, look)) + (1 if said else 0)
    room = look.height - HEAD - len(foot) - below
    for above in headings:
        drawn = large_lines(chart, look, look.width - 2, room - len(above), sounding)
        if drawn is not None:
            return body([*above, *chords(drawn)], said, look)
    return None


def chords(lines: Sequence[str]) -> list[Text]:
    """Return a chart's lines in the weight of chord symbols."""
    return [Text(line, style.CHORD, no_wrap=True) for line in lines]


def fitted(
    top: Sequence[Text], middle: Body, foot: Sequence[Text], short: Sequence[Text], look: Look
) -> list[Text]:
    """Return the screen's lines; on a low terminal the ratings stay and the rest gives way."""
    said = [*middle.said, Text("")] if middle.said else []
    if len(top) + len(middle.chart) + len(said) + len(foot) > look.height:
        foot = short
    room = look.height - len(top) - len(foot)
    lines = [*middle.chart, *said]
    if len(lines) > room:
        lines = [line for line in lines if line.plain.strip()][:room]
    return [*top, *lines, *foot]


def indented(text: Text) -> Text:
    """Return a line a cell away from the terminal's edge."""
    return Text(" ", no_wrap=True).append_text(text)
