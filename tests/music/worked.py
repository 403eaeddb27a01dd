"""Lines worked by hand: a table of notes with what each is, read into a phrase."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart

FOUR = Meter(4, 4)
PARTS = {"e": Fraction(1, 4), "&": Fraction(1, 2), "a": Fraction(3, 4)}


@dataclass(frozen=True)
class Worked:
    """A phrase and, note by note, (place, degree, what it is)."""

    phrase: Phrase
    rows: tuple[tuple[str, str, str], ...]


def onset(place: str, meter: Meter = FOUR) -> Fraction:
    """Read ``2.3&`` (bar 2, the and of 3) as quarter notes from the first full bar."""
    bar, beat = place.split(".")
    whole = beat.rstrip("e&a")
    beats = Fraction(whole) - 1 + PARTS.get(beat[len(whole) :], Fraction(0))
    return (int(bar) - 1) * meter.bar + beats * meter.beat


def phrase(
    chart: str, line: str = "", *, key: str = "C", tempo: int = 120, meter: Meter = FOUR
) -> Phrase:
    """Read ``place pitch length`` notes, separated by commas; ``!`` after a pitch marks it."""
    notes = []
    for each in filter(None, (part.strip() for part in line.split(","))):
        place, pitch, length = each.split()
        marked = pitch.endswith("!")
        at = onset(place, meter)
        notes.append(LineNote(at, Fraction(length), parse_pitch(pitch.rstrip("!")), marked))
    return Phrase("invented", parse_key(key), tempo, parse_chart(chart, meter), tuple(notes))


def worked(chart: str, table: str, *, key: str = "C", tempo: int = 120) -> Worked:
    """Read rows ``place | pitch | length | degree | what it is``."""
    rows = [[cell.strip() for cell in row.split("|")] for row in table.strip().splitlines()]
    line = ",".join(" ".join(row[:3]) for row in rows)
    expected = tuple((row[0], row[3], row[4]) for row in rows)
    return Worked(phrase(chart, line, key=key, tempo=tempo), expected)
