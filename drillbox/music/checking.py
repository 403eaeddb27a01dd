"""Whether a chart and a line that come from a document are such as ``add`` would take."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from drillbox.music.charts import MOST_BARS, Bar, Chart
from drillbox.music.chords import Chord
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import Name
from drillbox.music.tones import KINDS

MOST_NOTES = 8192
HIGHEST_MIDI = 127
MOST_BEATS, UNITS = 64, (1, 2, 4, 8, 16, 32, 64)
_FINEST = 10**12  # parts of a quarter note: tuplets within tuplets come to many
_MOST_DEGREES, _HIGHEST_DEGREE, _MOST_ALTER = 20, 15, 6
_ACTIONS = frozenset({"add", "alter", "subtract"})


def check_chart(chart: Chart, most_bars: int = MOST_BARS) -> Chart:
    """Return the chart; raise ValueError where it isn't one that a file or a player could give."""
    if not 1 <= chart.meter.beats <= MOST_BEATS or chart.meter.unit not in UNITS:
        raise ValueError(f"the meter {chart.meter.text():.20} can't be played")
    if not 1 <= len(chart.bars) <= most_bars:
        raise ValueError(f"a chart has 1 to {most_bars} bars, not {len(chart.bars)}")
    for number, bar in enumerate(chart.bars, start=1):
        if (wrong := _wrong_in(bar, chart.meter.bar)) is not None:
            raise ValueError(f"bar {number}: {wrong}")
    return chart


def _wrong_in(bar: Bar, length: Fraction) -> str | None:
    at = Fraction(0)
    for span in bar.spans:
        if span.start != at or span.length <= 0 or span.length.denominator > _FINEST:
            return "its chords don't follow one another"
        at += span.length
        if span.chord is not None and (wrong := _wrong_chord(span.chord)):
            return wrong
    return None if at == length else "its chords don't fill it"


def _wrong_chord(chord: Chord) -> str | None:
    if not isinstance(chord.kind, str) or chord.kind not in KINDS or chord.kind == "none":
        return f"{chord.kind!r:.40} isn't a chord kind of MusicXML"
    if not all(_is_spelled(name) for name in (chord.root, chord.bass) if name is not None):
        return "a root or a bass has too many accidentals"
    if len(chord.degrees) > _MOST_DEGREES:
        return "a chord has too many degrees"
    for degree in chord.degrees:
        whole = type(degree.number) is int and type(degree.alter) is int
        if not whole or not isinstance(degree.action, str) or degree.action not in _ACTIONS:
            return "a chord has a degree that can't be read"
        if not 1 <= degree.number <= _HIGHEST_DEGREE or abs(degree.alter) > _MOST_ALTER:
            return "a chord has a degree out of range"
    return None


def _is_spelled(name: Name) -> bool:
    return abs(name.alter) <= _MOST_ALTER


def check_line(line: Sequence[LineNote], chart: Chart) -> None:
    """Raise ValueError unless the line lies over the chart, note after note.

    A pickup is shorter than a bar; what begins on the chart may sound on past its end.
    """
    if len(line) > MOST_NOTES:
        raise ValueError(f"a line has at most {MOST_NOTES} notes, not {len(line)}")
    before = -chart.meter.bar
    for number, note in enumerate(line, start=1):
        if not before <= note.onset < chart.length:
            raise ValueError(f"note {number} isn't in order, or not over the chart")
        if not 0 <= note.length <= 2 * chart.length:
            raise ValueError(f"note {number} has no usable length")
        if max(note.onset.denominator, note.length.denominator) > _FINEST:
            raise ValueError(f"note {number} is too finely divided")
        if not _is_spelled(note.pitch.name) or not 0 <= note.pitch.midi <= HIGHEST_MIDI:
            raise ValueError(f"note {number} is beyond any instrument")
        before = note.onset
