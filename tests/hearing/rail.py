"""A line of four bars for tests, ways of playing it in quarters, and what is said of them."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from drillbox.hearing.expected import Expected
from drillbox.hearing.judging import judge
from drillbox.hearing.reasons import Reading, proposal_text
from drillbox.hearing.takes import Beat, Played, Take
from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote
from drillbox.music.symbols.typed import parse_chart
from tests.hearing.attempts import listened, pitched

Sounded = list[tuple[float, float, int]]
"""Onset and length in quarters, and pitch."""

CHART = parse_chart("Dm7 | G7 | Cmaj7 | %", Meter(4, 4))
_EIGHTHS = [62, 65, 69, 72, 76, 74, 72, 69, 71, 68, 65, 62, 59, 62, 65, 64]
RAIL: Sounded = [(n / 2, 0.5, pitch) for n, pitch in enumerate(_EIGHTHS)]
RAIL += [(8, 1, 67), (9, 0.5, 64), (9.5, 0.5, 67), (10, 1, 71), (11, 1, 69), (12, 4, 67)]
WRITTEN = tuple(LineNote(Fraction(at), Fraction(long), pitched(midi)) for at, long, midi in RAIL)
LINE = listened(WRITTEN, CHART)
LOOP = 16.0
START, TEMPO = 1.0, 160
CLICK = Beat(START, 60 / TEMPO)
FLUENT = "fluent? all 22 notes, in time"


def later(notes: Sounded, quarters: float, first: int = 0) -> Sounded:
    """Return the notes, from one of them on, so many quarters later."""
    return [(at + quarters * (n >= first), long, p) for n, (at, long, p) in enumerate(notes)]


def transposed(notes: Sounded, semitones: int) -> Sounded:
    """Return the notes in another key."""
    return [(at, long, pitch + semitones) for at, long, pitch in notes]


def moved(quarters: float, *which: int) -> Sounded:
    """Return the line with single notes later, or below 0 earlier."""
    return [(at + quarters * (n in which), 0.3, p) for n, (at, _, p) in enumerate(RAIL)]


def in_seconds(notes: Sounded, tempo: float = TEMPO) -> tuple[Played, ...]:
    """Return what was played, begun with the click."""
    quarter = 60 / tempo
    return tuple(
        Played(START + at * quarter, START + (at + long) * quarter, pitch)
        for at, long, pitch in sorted(notes)
    )


def said(
    notes: Sounded, beat: Beat | None = CLICK, *, loops: int | None = 2, tempo: float = TEMPO,
    keys_tempo: int | None = None, line: Expected = LINE,
) -> str:  # fmt: skip
    """Return the proposal for what was played, to the click or in the player's own time."""
    found = judge(line, Take(in_seconds(notes, tempo), "midi", beat), loops)
    reading = Reading(parse_key("C"), CHART, WRITTEN)
    if keys_tempo:
        reading = replace(reading, tempo=keys_tempo)
    return proposal_text(line, found, reading)
