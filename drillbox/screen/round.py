"""The screen of a round: the key that sounds, the next one ahead, and how each went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.symbols.printed import chart_text
from drillbox.screen import style
from drillbox.screen.card import (
    Card,
    Heading,
    card_lines,
    count_in_text,
    meter_line,
    tempo_text,
    title_line,
)
from drillbox.screen.footer import NO_FOOT, Foot
from drillbox.screen.lead_sheet import Sounding, at_rest, bar_rows
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
    """Everything a round's screen shows.

    ``current`` is the place that is played or, with ``asking``, to be rated; ``late`` the key
    just played, while a rating is still for that one. ``sounding`` is
    the beat while it runs, ``count`` the beat of the count-in, from 1; 0 outside of it;
    ``foot`` what can be pressed; ``stray`` says that the line leaves the player's instrument.
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
    stray: str = ""

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
    width = look.width - 2
    plain = bar_rows(view.chart, look, width, (), view.sounding or at_rest(view.chart))
    top = title_line(view.title, _corner(view, look), look)
    said = [*_places(view, look, width), *([view.stray] if view.stray else [])]
    card = Card(
        top, _heading(view, look), view.chart, plain, said, view.message,
        view.foot, view.sounding,
    )  # fmt: skip
    return Group(*card_lines(card, look))


def _corner(view: RoundView, look: Look) -> str:
    if view.late:
        return f"a rating now is for {view.late.text(ascii=look.ascii)}"
    return _left_to_rate(view) if view.asking else f"key {view.current + 1} of {len(view.places)}"


def _left_to_rate(view: RoundView) -> str:
    return f"{sum(each.mark == 'to rate' for each in view.places)} to rate"


def _heading(view: RoundView, look: Look) -> Heading:
    """Return the key with the next one ahead, the tempo, and the count-in while it lasts."""
    key, tempo = view.key.text(ascii=look.ascii), tempo_text(view.tempo)
    counted = count_in_text(view.count, view.sounding, look)
    ahead = view.following.text(ascii=look.ascii) if view.following else ""
    stated = meter_line(view.chart, view.double_time, look)
    small = Text.assemble((f"How was {key}?" if view.asking else key, style.TITLE))
    small.append(f"   then {ahead}" if ahead else "").append(f"   {counted}".rstrip())
    small.append(f"   {meter_line(view.chart, view.double_time, look, f'tempo {view.tempo}')}")
    if view.asking:
        return Heading((key, tempo), f"How was this key?   {stated}", small)
    return Heading((key, tempo), stated, small, ahead, str(view.count or ""), counted)


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
    chart = f"  {chart_text(view.chart, ascii=look.ascii)}"
    return [", ".join(stated), chart, *([f"  {view.stray}"] if view.stray else [])]
