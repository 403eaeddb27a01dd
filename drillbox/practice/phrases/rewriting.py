"""The phrase as an edit would have it, from what was typed or read from a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drillbox.errors import BadInput
from drillbox.music.charts import Chart
from drillbox.music.checking import check_line
from drillbox.music.chords import Chord
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed_chart import chart_text
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.titles import check_title
from drillbox.music.turnarounds import propose_turnaround, with_turnaround, without_turnaround
from drillbox.practice.phrases.as_read import as_read
from drillbox.practice.phrases.intake import sounding
from drillbox.practice.phrases.typed_or_file import check_tempo
from drillbox.practice.settings.preferences import Preferences

TAKE, DECLINE = "take", "decline"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the player wants changed, as typed; None or empty where it is to stay.

    ``page`` is a phrase read from a file, whose key, chart and line are taken; it sounds as
    it is written where ``concert`` says so. ``turnaround`` is ``take``, ``decline`` or chords.
    """

    title: str | None = None
    goal: str | None = None
    order: str | None = None
    key: str | None = None
    meter: str | None = None
    chart: str | None = None
    turnaround: str | None = None
    double_time: bool | None = None
    tags: Sequence[str] = ()
    untag: Sequence[str] = ()
    aside: Sequence[str] = ()
    back: Sequence[str] = ()
    page: Phrase | None = None
    concert: bool = False
    afresh: bool = False


def rewritten(stored: Phrase, wanted: Wanted, preferences: Preferences) -> Phrase:
    """Return the phrase as it would be, at concert pitch."""
    content = stored
    if wanted.page is not None:
        page = wanted.page if wanted.concert else sounding(wanted.page, preferences)
        content = replace(stored, key=page.key, chart=page.chart, line=page.line)
    if wanted.key or wanted.chart or wanted.meter:
        content = _typed(content, wanted, preferences)
    content = replace(
        content,
        title=check_title(wanted.title) if wanted.title is not None else stored.title,
        tempo=check_tempo(wanted.goal) if wanted.goal is not None else stored.tempo,
        double_time=stored.double_time if wanted.double_time is None else wanted.double_time,
    )
    if wanted.turnaround is not None:
        content = replace(content, chart=_turned(content, wanted, preferences))
    try:
        check_line(content.line, content.chart)
    except ValueError as problem:
        raise BadInput(
            f"The line doesn't fit that chart: {problem}",
            "Bring line and chart in together, from a file: --file lines.abc",
        ) from None
    return content


def _typed(content: Phrase, wanted: Wanted, preferences: Preferences) -> Phrase:
    """Return the phrase with a key, meter or chart that was typed as the player reads it."""
    read = content if wanted.concert else as_read(content, content.key, preferences)
    key = parse_key(wanted.key) if wanted.key else read.key
    meter = parse_meter(wanted.meter) if wanted.meter else read.chart.meter
    chart = read.chart
    if wanted.chart is not None:
        chart = parse_chart(wanted.chart, meter)
    elif meter != chart.meter:
        if content.line:
            raise BadInput(
                "A line can't be counted in another meter by itself",
                "Bring line and chart in together, from a file: --file lines.abc",
            )
        chart = parse_chart(chart_text(chart, ascii=True), meter)
    page = Phrase(content.title, key, content.tempo, chart)
    page = page if wanted.concert else sounding(page, preferences)
    return replace(
        content,
        key=page.key if wanted.key else content.key,
        chart=content.chart if chart == read.chart else page.chart,
    )


def _turned(content: Phrase, wanted: Wanted, preferences: Preferences) -> Chart:
    """Return the chart with its turnaround taken, declined or replaced."""
    plain = without_turnaround(content.chart)
    text = (wanted.turnaround or "").strip()
    if text.casefold() == DECLINE:
        return plain
    if text.casefold() == TAKE:
        return propose_turnaround(plain, content.key, preferences.turnaround) or content.chart
    chords = _chords(text, content, wanted, preferences)
    found = with_turnaround(content.chart, chords)
    if found is None:
        raise BadInput(
            "The last chord is too short to share its time with a turnaround",
            "Write the whole chart again with --chart.",
        )
    return found


def _chords(
    text: str, content: Phrase, wanted: Wanted, preferences: Preferences
) -> tuple[Chord, ...]:
    chart = parse_chart(text, content.chart.meter)
    key = preferences.shown_key(content.key, content.key)
    page = Phrase(content.title, content.key if wanted.concert else key, content.tempo, chart)
    chords = (page if wanted.concert else sounding(page, preferences)).chart.sounding()
    if len(chart.bars) > 1 or not 1 <= len(chords) <= 2:
        raise BadInput(
            f"{text[:40]!r} isn't a turnaround",
            f"Write one or two chords, '{TAKE}' for the proposed one, or '{DECLINE}' for none.",
        )
    return tuple(chords)
