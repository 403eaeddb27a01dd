"""The screen of a round: the key that sounds, the next one ahead, and how each went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.printed_chart import chart_text
from drillbox.screen import style
from drillbox.screen.bars import Sounding, at_rest, bar_lines
from drillbox.screen.card import Body, body, chords, counting, facts, fitted, head, large_body
from drillbox.screen.footer import NO_FOOT, Foot, footer, short_footer
from drillbox.screen.large import LEAST_WIDTH, large_heading
from drillbox.screen.look import Look, clean

Mark = Literal["", "lost", "rough", "clean", "fluent", "to rate", "left"]
"""What has become of a key: how it was rated, that it waits for that or was left, or nothing."""


@dataclass(frozen=True, slots=True)
class Place:
    """One key in the list of a round, and what has become of it."""

    key: Key
    mark: Mark = ""


@dataclass(frozen=True, slots=True)
class RoundView:
    """All that a round's screen says.

    ``current`` is the place that is played or, with ``asking``, to be rated; ``late`` the key
    just played, while a rating is still for that one. ``sounding`` is
    the beat while it runs, ``count`` the beat of the count-in, from 1; 0 outside of it;
    ``foot`` what can be pressed.
    """

    title: str
    places: tuple[Place, ...]
    current: int
    chart: Chart
    tempo: int
    double_time: bool
    late: Key | None = None
    asking: bool = False
    message: str = ""
    sounding: Sounding | None = None
    count: int = 0
    foot: Foot = NO_FOOT

    @property
    def key(self) -> Key:
        """Return the key that is played or to be rated."""
        return self.places[self.current].key

    @property
    def following(self) -> Key | None:
        """Return the key that is played next, None in the last one and while asking."""
        last = self.current + 1 == len(self.places)
        return None if self.asking or last else self.places[self.current + 1].key


def round_screen(view: RoundView, look: Look) -> RenderableType:
    """Draw one key of a round, in large letters where they fit."""
    middle = (look.width >= LEAST_WIDTH and _large(view, look)) or _compact(view, look)
    corner = _left_to_rate(view) if view.asking else f"key {view.current + 1} of {len(view.places)}"
    top = head(view.title, corner, look)
    return Group(*fitted(top, middle, footer(view.foot, look), short_footer(view.foot, look), look))


def _left_to_rate(view: RoundView) -> str:
    return f"{sum(each.mark == 'to rate' for each in view.places)} to rate"


def _compact(view: RoundView, look: Look) -> Body:
    chart = bar_lines(view.chart, look, look.width - 2, (), view.sounding or at_rest(view.chart))
    lines = [
        _key_line(view, look),
        Text(facts(view.chart, view.double_time, look, f"tempo {view.tempo}")),
        Text(""),
        *chords(chart),
        Text(""),
    ]
    return body(lines, _said(view, look, look.width - 2), look)


def _late_line(late: Key, look: Look) -> str:
    return f"a rating now is for {late.text(ascii=look.ascii)}"


def _key_line(view: RoundView, look: Look) -> Text:
    """Return the key with the next one ahead, and the count-in while it lasts."""
    key = view.key.text(ascii=look.ascii)
    told = Text.assemble((f"How was {key}?" if view.asking else key, style.TITLE))
    if view.late:
        return told.append(f"   {_late_line(view.late, look)}")
    if view.following:
        told.append(f"   then {view.following.text(ascii=look.ascii)}")
    return told.append(counting(view.count, view.sounding, look))


def _large(view: RoundView, look: Look) -> Body | None:
    """Return the body in large letters, key and next key too where they fit, or None."""
    said = _said(view, look, look.width - 2)
    stated = facts(view.chart, view.double_time, look, f"tempo {view.tempo}")
    texts = [view.key.text(ascii=look.ascii)]
    if view.count:
        texts.append(str(view.count))
    elif view.following:
        texts += [">", view.following.text(ascii=look.ascii)]
    first = f"How was this key?   {stated}" if view.asking else stated
    if view.late:
        first = f"{stated}   {_late_line(view.late, look)}"
    heading = [
        Text(first, style.QUIET),
        *(Text(line, style.TITLE) for line in large_heading(texts, look)),
        Text(""),
    ]
    low = [_key_line(view, look).append(f"   {stated}")]
    return large_body(
        view.chart, (heading, low), said, footer(view.foot, look), look, view.sounding
    )


def _said(view: RoundView, look: Look, width: int) -> list[str]:
    message = [clean(view.message, ascii=look.ascii)] if view.message else []
    return [*_places(view, look, width), *message]


def _places(view: RoundView, look: Look, width: int) -> list[str]:
    """Return the keys in order, the present one in brackets, each with what became of it."""
    lines, line = [], ""
    for index, each in enumerate(view.places):
        text = each.key.text(ascii=look.ascii)
        sign = {"": "", "to rate": "?", "left": look.dash}.get(each.mark, each.mark[:1])
        item = f"{f'[{text}]' if index == view.current else text} {sign}".strip()
        if line and cell_len(line) + cell_len(item) + 3 > width:
            lines.append(line)
            line = ""
        line += f"{'   ' if line else ''}{item}"
    return [*lines, line]


def round_lines(view: RoundView, look: Look) -> list[str]:
    """Say the same line by line, for a pipe or a screen reader."""
    key = view.key.text(ascii=look.ascii)
    following = view.following
    stated = [
        clean(view.title, ascii=look.ascii),
        f"how was {key}?" if view.asking else f"key {key}",
        f"{view.current + 1} of {len(view.places)}",
        f"tempo {view.tempo}",
        view.chart.meter.text(),
        *(["double time"] if view.double_time else []),
        *([f"then {following.text(ascii=look.ascii)}"] if following else []),
    ]
    return [", ".join(stated), f"  {chart_text(view.chart, ascii=look.ascii)}"]
