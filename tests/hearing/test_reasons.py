"""What is said of an attempt: the word, and what a listener beside the player would name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from drillbox.hearing.expected import expected
from drillbox.hearing.judging import judge
from drillbox.hearing.reasons import Reading, features_kept, proposal_text
from drillbox.hearing.takes import Beat, Played, Take
from drillbox.music.charts import Meter
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart

CHART = parse_chart("Cm7 F7 | Bbmaj7 (G7)", Meter(4, 4))
# Eighths over the first bar and a half: C Eb G Bb  A G F Eb | D C Bb.
NAMES = ["C5", "Eb5", "G5", "Bb5", "A5", "G5", "F5", "Eb5", "D5", "C5", "Bb4"]
LINE = tuple(
    LineNote(Fraction(i, 2), Fraction(1, 2), parse_pitch(name)) for i, name in enumerate(NAMES)
)
QUARTER = 0.5
Notes = list[Played]


def played() -> Notes:
    """Return the line as written, at 120 after two seconds of count-in."""
    at = [2 + float(note.onset) * QUARTER for note in LINE]
    return [Played(t, t + 0.24, n.pitch.midi) for t, n in zip(at, LINE, strict=True)]


def later(notes: Notes, first: int, seconds: float, last: int | None = None) -> Notes:
    """Return the notes with some of them moved."""
    return [
        replace(n, start=n.start + seconds, end=n.end + seconds)
        if first <= i < (last or len(notes)) else n
        for i, n in enumerate(notes)
    ]  # fmt: skip


def repitched(notes: Notes, at: int, pitch: int) -> Notes:
    """Return the notes with one of another pitch."""
    return [*notes[:at], replace(notes[at], pitch=pitch), *notes[at + 1 :]]


def said(notes: Notes, *, click: bool = True, reading: Reading | None = None) -> str:
    """Return the proposal for what was played."""
    line = expected(LINE, CHART)
    beat = Beat(2.0, QUARTER) if click else None
    found = judge(line, Take(tuple(notes), "midi", beat), loops=1)
    assert features_kept(line, found)["notes"] == 11
    return proposal_text(line, found, reading or Reading(parse_key("Bb"), CHART, LINE))


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda notes: notes, "fluent? all 11 notes, in time"),
        (lambda notes: later(notes, 0, 0.09), "fluent? all 11 notes, in time"),
        (lambda notes: [replace(n, pitch=n.pitch - 12) for n in notes],
         "fluent? all 11 notes, in time"),
        (lambda notes: repitched(notes, 8, 73), "clean? Db for D in bar 2"),
        (lambda notes: repitched(notes, 1, 76), "clean? E for Eb in bar 1"),
        (lambda notes: notes[:9] + notes[10:], "clean? C missed in bar 2"),
        (lambda notes: repitched(notes[:1] + notes[2:3] + notes[4:], 6, 73),
         "rough? 2 of 11 notes missed, Db for D in bar 2"),
        (lambda notes: later(notes, 4, 0.2, 5), "clean? target of F7 an eighth late"),
        (lambda notes: later(notes, 6, 0.5), "rough? paused for a quarter in bar 1"),
        (lambda notes: later(notes, 0, 0.5), "rough? came in a quarter late"),
        (lambda notes: notes[:5], "lost? stopped in bar 1"),
        (lambda notes: [replace(n, pitch=n.pitch + 2) for n in notes], "lost? played in C"),
        (lambda notes: [], "lost? nothing heard"),
    ],
)  # fmt: skip
def test_what_is_named(change: Callable[[Notes], Notes], text: str):
    """Each kind of fault is named with its place, and what isn't a fault isn't."""
    assert said(change(played())) == text


def test_it_is_told_in_the_players_written_pitch():
    """A tenor player reads this line a tone higher: D-flat for D sounds, E-flat for E is read."""
    up = {"C": "D", "Eb": "F", "G": "A", "Bb": "C", "A": "B", "F": "G", "D": "E"}
    line = tuple(
        replace(note, pitch=parse_pitch(up[name[:-1]] + name[-1]))
        for note, name in zip(LINE, NAMES, strict=True)
    )
    chart = parse_chart("Dm7 G7 | Cmaj7 (A7)", Meter(4, 4))
    reading = Reading(parse_key("C"), chart, line, above=2, ascii=False)
    assert said(repitched(played(), 8, 73), reading=reading) == "clean? E♭ for E in bar 2"


def test_in_the_players_own_time_no_tempo_is_wrong():
    """Half as fast and nobody counting: still all of it, in time."""
    slow = [replace(n, start=n.start * 1.7 + 3, end=n.end * 1.7 + 3) for n in played()]
    assert said(slow, click=False) == "fluent? all 11 notes, in time"


def test_once_of_two_loops_is_enough_and_a_second_go_counts_too():
    """A clean loop after a lost one makes rough: the line wasn't there at the first go."""
    line, beat = expected(LINE, CHART), Beat(2.0, QUARTER)
    second = [replace(n, start=n.start + 4, end=n.end + 4) for n in played()]
    for notes, word in (
        (played(), "fluent"), (second, "fluent"), (played() + second, "fluent"),
        (played() + second[:5], "fluent"), (played()[:4] + second, "rough"),
    ):  # fmt: skip
        assert judge(line, Take(tuple(notes), "midi", beat), loops=2).word == word
