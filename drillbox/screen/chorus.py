"""The screen of a tune that is played: the bars around the beat, and which phrase comes when."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.keys import Key
from drillbox.music.symbols.printed import chart_text
from drillbox.music.tunes import Tune
from drillbox.output import counted
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

BARS = 8  # that are shown: those of the beat's line and of the next


@dataclass(frozen=True, slots=True)
class Line:
    """A phrase at a place: its title, its key, and the bars until it comes (0: it is there)."""

    title: str
    key: Key
    away: int = 0

    def text(self, look: Look) -> str:
        """Return title and key."""
        return f"{clean(self.title, ascii=look.ascii)} in {self.key.text(ascii=look.ascii)}"


@dataclass(frozen=True, slots=True)
class ChorusView:
    """Everything the screen shows.

    ``bar`` is the bar of the tune that sounds, ``chorus`` which time through, of ``choruses``;
    ``now`` and ``coming`` the phrases that are and that come; ``asking`` the phrase to be
    rated, with how often it came and at what tempo.
    """

    tune: Tune
    bar: int
    chorus: int
    choruses: int
    tempo: int
    now: Line | None = None
    coming: Line | None = None
    asking: tuple[Line, int, int] | None = None
    left: int = 0
    message: str = ""
    sounding: Sounding | None = None
    count: int = 0
    foot: Foot = NO_FOOT


def chorus_screen(view: ChorusView, look: Look) -> RenderableType:
    """Draw the bars around the beat, with the phrase that is, and the next a bar ahead."""
    if view.asking:
        return Group(*card_lines(_asking(view, look), look))
    first = view.bar - view.bar % 4
    chart = replace(view.tune.chart, bars=view.tune.chart.bars[first : first + BARS])
    sounding = at_rest(chart)
    if view.sounding and not view.count:
        sounding = replace(view.sounding, bar=view.bar - first)
    plain = bar_rows(chart, look, look.width - 2, (), sounding)
    corner = f"bar {view.bar + 1} {look.dot} chorus {view.chorus} of {view.choruses}"
    card = Card(
        title_line(view.tune.title, corner, look), _heading(view, look), chart, plain,
        [phrase_words(view, look)], view.message, view.foot, sounding, large=False,
        first=first + 1,
    )  # fmt: skip
    return Group(*card_lines(card, look))


def _heading(view: ChorusView, look: Look) -> Heading:
    """Return the key of the phrase that is, or that comes within a bar, with the tempo."""
    near = view.coming if view.coming and view.coming.away <= 1 else None
    keys = [line.key.text(ascii=look.ascii) for line in (view.now, near) if line]
    counted = count_in_text(view.count, view.sounding, look)
    stated = meter_line(view.tune.chart, False, look)
    small = Text("  then ".join(keys), style.TITLE).append(f"  tempo {view.tempo}  {counted}")
    return Heading(
        (*keys[:1], tempo_text(view.tempo)), stated, small,
        keys[1] if len(keys) > 1 else "", str(view.count or ""), counted,
    )  # fmt: skip


def phrase_words(view: ChorusView, look: Look) -> str:
    """Say which phrase is played now, and which comes when."""
    now = f"now {view.now.text(look)}" if view.now else ""
    coming = ""
    if view.coming:
        away = view.coming.away
        when = "next" if away <= 1 else f"in {away} bars"
        coming = f"{when} {view.coming.text(look)}"
    return f" {look.dot} ".join(each for each in (now, coming) if each) or "no more phrases"


def _asking(view: ChorusView, look: Look) -> Card:
    assert view.asking
    line, times, tempo = view.asking
    came = f"It came {counted(times, 'time')}."
    asked = [f"How was {line.text(look)}?", came]
    texts = (line.key.text(ascii=look.ascii), tempo_text(tempo))
    heading = Heading(texts, meter_line(view.tune.chart, False, look), Text(texts[0], style.TITLE))
    top = title_line(view.tune.title, f"{view.left} to rate", look)
    return Card(
        top, heading, view.tune.chart, [], asked, view.message, view.foot, None, large=False
    )


def tune_lines(view: ChorusView, look: Look) -> list[str]:
    """Say the tune and its chart line by line, for a pipe or a screen reader."""
    tune = view.tune
    title = clean(tune.title, ascii=look.ascii)
    stated = [title, f"tempo {view.tempo}", tune.chart.meter.text()]
    return [", ".join(stated), f"  {chart_text(tune.chart, ascii=look.ascii)}"]


def asked_lines(view: ChorusView, look: Look) -> list[str]:
    """Ask for the phrase to be rated, where there is one."""
    if view.asking is None:
        return []
    line, times, tempo = view.asking
    came = counted(times, "time")
    return [f"How was {line.text(look)}? It came {came}, tempo {tempo}."]
