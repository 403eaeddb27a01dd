"""Attempts made up for tests: a line, a way of playing it, and the rating that is meant."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from drillbox.hearing.expected import Expected, expected
from drillbox.hearing.judging import Word
from drillbox.hearing.takes import Beat, Ear, Played, Take
from drillbox.music.analysis.whole import analyse
from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Name, Pitch
from drillbox.music.symbols.typed import parse_chart
from drillbox.sound.bass import walking_bass
from drillbox.sound.loop_parts import Held

FOUR = Meter(4, 4)
CHARTS = {
    2: ("Dm7 G7 | Cmaj7 (A7)", "Cm7 F7 | Bbmaj7 (G7)", "Fm7 Bb7 | Ebmaj7 (C7)"),
    4: ("Dm7 | G7 | Cmaj7 | Cmaj7 (A7)", "Em7b5 | A7b9 | Dm6 | Dm6 (B7)"),
}
CLASSES = [Name(each[0], len(each) - 1) for each in
           ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")]  # fmt: skip


class Tone(NamedTuple):
    """One note as played: onset and length in quarters, MIDI number; ``index`` in the line."""

    onset: float
    length: float
    pitch: int
    index: int | None = None


@dataclass(frozen=True)
class Score:
    """A line over its chart, and how fast it is to be played."""

    chart: Chart
    line: tuple[LineNote, ...]
    tempo: int


def pitched(midi: int) -> Pitch:
    """Return a pitch, spelled with sharps."""
    return Pitch(CLASSES[midi % 12], midi // 12 - 1)


def score(dice: random.Random, kind: str = "eighths", low: int = 58, high: int = 80) -> Score:
    """Return a line of 10 to 30 notes of invented melody in eighths, triplets or sixteenths."""
    bars = 2 if kind == "sixteenths" else dice.choice((2, 4))
    chart = parse_chart(dice.choice(CHARTS[bars]), FOUR)
    tempo = dice.randrange(70, 130) if kind == "sixteenths" else dice.randrange(100, 281)
    scale = [0, 2, 4, 5, 7, 9, 11]
    at, step, notes = Fraction(0), dice.randrange(18, 26), []
    end = Fraction(4 * bars - dice.choice((1, 2)))
    while at < end and len(notes) < 30:
        value = Fraction(1, 4) if kind == "sixteenths" else Fraction(1, 2)
        if kind == "triplets" and at.denominator == 1 and dice.random() < 0.4:
            group = [Fraction(1, 3)] * 3
        else:
            group = [value * dice.choice((1, 1, 1, 1, 1, 2))]
        for length in group:
            step += dice.choice((-3, -2, -1, -1, 1, 1, 2, 3, 0 if kind == "repeated" else 1))
            octave, degree = divmod(step, 7)
            midi = 24 + 12 * octave + scale[degree] + (dice.random() < 0.15)
            while midi < low:
                midi, step = midi + 12, step + 7
            while midi > high:
                midi, step = midi - 12, step - 7
            if notes and kind != "repeated" and notes[-1].pitch.midi == midi:
                midi += 1
            notes.append(LineNote(at, length, pitched(midi)))
            at += length
        if dice.random() < 0.08 and len(notes) > 4:
            at += value
    if len(notes) < 10:
        return score(dice, kind, low, high)
    return Score(chart, tuple(notes), tempo)


@cache  # lines are analysed for longer than attempts at them are judged, and many come again
def listened(line: tuple[LineNote, ...], chart: Chart, key: str = "C") -> Expected:
    """Return what is listened for in a line, with the targets of its analysis."""
    phrase = Phrase("Tin rail", parse_key(key), 120, chart, line)
    return expected(line, chart, analyse(phrase).targets)


def straight(line: Sequence[LineNote]) -> list[Tone]:
    """Return a line as written."""
    return [Tone(float(n.onset), float(n.length), n.pitch.midi, i) for i, n in enumerate(line)]


Way = Callable[[Score, list[Tone], random.Random], list[Tone]]


def as_written(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    return tones


def swung(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    late = dice.uniform(0.05, 0.2)
    return [t._replace(onset=t.onset + late * (abs(t.onset % 1 - 0.5) < 1e-6)) for t in tones]


def laid_back(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    late = dice.uniform(0.1, 0.25)
    return [t._replace(onset=t.onset + late) for t in tones]


def octave_up(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    return [t._replace(pitch=t.pitch + 12) for t in tones]


def octave_dropped(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    cut = dice.randrange(2, len(tones) - 1)
    return [t._replace(pitch=t.pitch - 12 * (i >= cut)) for i, t in enumerate(tones)]


def mordent(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    """Main note, its neighbour, main note again; the first two quick."""
    quick = 0.055 * score.tempo / 60
    long = [i for i, t in enumerate(tones) if t.length >= 3 * quick] or [0]
    at = dice.choice(long)
    t = tones[at]
    turned = [
        t._replace(length=quick, index=None),
        Tone(t.onset + quick, quick, t.pitch + dice.choice((1, 2))),
        t._replace(onset=t.onset + 2 * quick, length=max(quick, t.length - 2 * quick)),
    ]
    return tones[:at] + turned + tones[at + 1 :]


def grace(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    quick = 0.06 * score.tempo / 60
    out = list(tones)
    for at in dice.sample(range(1, len(tones)), 2):
        t = tones[at]
        out.append(Tone(t.onset - quick, quick, t.pitch - dice.choice((1, 2))))
    return sorted(out)


def glissando(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    """Slide up by semitones into a note that has room before it."""
    quick = 0.05 * score.tempo / 60
    at = max(range(1, len(tones)), key=lambda i: tones[i].onset - tones[i - 1].onset)
    t = tones[at]
    room = min(3, int((t.onset - tones[at - 1].onset) / quick) - 1)
    slide = [Tone(t.onset - k * quick, quick, t.pitch - k) for k in range(room, 0, -1)]
    return sorted([*tones, *slide])


def _changed(tones: list[Tone], at: int, dice: random.Random) -> Tone:
    return tones[at]._replace(pitch=tones[at].pitch + dice.choice((-2, -1, 1, 2)))


def wrong(count: int) -> Way:
    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        out = list(tones)
        for at in dice.sample(range(len(tones)), count):
            out[at] = _changed(tones, at, dice)
        return out

    return way


def missed(count: int) -> Way:
    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        gone = set(dice.sample(range(len(tones)), count))
        return [t for i, t in enumerate(tones) if i not in gone]

    return way


def extra(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    """Put one note in halfway to the next, a third or more from both neighbours."""
    gaps = [i for i in range(len(tones) - 1) if tones[i + 1].onset - tones[i].onset >= 0.5]
    at = dice.choice(gaps)
    a, b = tones[at], tones[at + 1]
    between = (a.onset + b.onset) / 2
    pitches = [p for p in range(a.pitch - 5, a.pitch + 6)
               if abs(p - a.pitch) >= 3 and abs(p - b.pitch) >= 3]  # fmt: skip
    put = Tone(between, (b.onset - a.onset) / 2, dice.choice(pitches or [a.pitch + 6]))
    return [*tones[:at], a._replace(length=between - a.onset), put, *tones[at + 1 :]]


def wrong_and_missed(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    one, other = dice.sample(range(len(tones)), 2)
    out = list(tones)
    out[one] = _changed(tones, one, dice)
    return [t for i, t in enumerate(out) if i != other]


def pause(quarters: float) -> Way:
    """Stand still before a note in the middle; everything after it is later by as much."""

    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        cut = dice.randrange(3, len(tones) - 3)
        return [t._replace(onset=t.onset + quarters * (i >= cut)) for i, t in enumerate(tones)]

    return way


def late(count: int) -> Way:
    """Bring target notes nearly an eighth late; what follows at once gives way a little."""

    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        aims = sorted(listened(score.line, score.chart).targets - {len(tones) - 1})
        others = [i for i in range(2, len(tones) - 3) if i not in aims]
        chosen: list[int] = []
        for at in (*dice.sample(aims, len(aims)), *dice.sample(others, len(others))):
            if len(chosen) < count and all(abs(at - each) >= 4 for each in chosen):
                chosen.append(at)
        out = list(tones)
        for at in chosen:
            out[at] = out[at]._replace(onset=out[at].onset + 0.45, length=0.2)
            for k in range(at + 1, len(out)):
                least = out[k - 1].onset + 0.15
                out[k] = out[k]._replace(onset=max(out[k].onset, least))
        return out

    return way


def slowing(share: float) -> Way:
    """Slow down (or, below 0, hurry) evenly, by so much from beginning to end."""

    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        sign = dice.choice((-1, 1))
        total = tones[-1].onset or 1.0

        def moved(onset: float) -> float:
            return onset + sign * share * onset * onset / (2 * total)

        return [t._replace(onset=moved(t.onset)) for t in tones]

    return way


def off_tempo(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    """Keep another tempo than the click's."""
    by = dice.choice((0.82, 1.2))
    return [t._replace(onset=t.onset * by, length=t.length * by) for t in tones]


def start_late(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    return [t._replace(onset=t.onset + 1.0) for t in tones]


def ragged(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    """Scatter every note by about a quarter of the line's subdivision."""
    small = float(listened(score.line, score.chart).smallest)
    spread = 0.26 * small
    return [
        t._replace(onset=t.onset + max(-0.4 * small, min(0.4 * small, dice.gauss(0, spread))))
        for t in tones
    ]


def other_key(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    by = dice.choice((-5, -4, -3, -2, -1, 1, 2, 3, 4, 5))
    return [t._replace(pitch=t.pitch + by) for t in tones]


def noodling(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    at, out, step = 0.0, [], 30
    while at < tones[-1].onset + 1:
        step += dice.choice((-2, -1, 1, 2, 3, -3))
        octave, degree = divmod(step, 7)
        length = dice.choice((0.5, 0.5, 0.5, 1.0))
        out.append(Tone(at, length, 12 + 12 * octave + (0, 2, 4, 5, 7, 9, 11)[degree]))
        at += length
    return out


def another_line(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    other = globals()["score"](dice)
    return straight(other.line)


def stopping(share: float) -> Way:
    def way(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
        return tones[: max(3, round(len(tones) * share))]

    return way


def half_wrong(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    out = list(tones)
    for at in dice.sample(range(len(tones)), len(tones) // 2):
        out[at] = _changed(tones, at, dice)
    return out


def half_missed(score: Score, tones: list[Tone], dice: random.Random) -> list[Tone]:
    return missed(len(tones) // 2)(score, tones, dice)


KINDS: dict[str, tuple[Word, Way]] = {
    "as written": ("fluent", as_written),
    "swung": ("fluent", swung),
    "laid back": ("fluent", laid_back),
    "octave up": ("fluent", octave_up),
    "octave dropped within": ("fluent", octave_dropped),
    "mordent": ("fluent", mordent),
    "grace notes": ("fluent", grace),
    "glissando": ("fluent", glissando),
    "one wrong": ("clean", wrong(1)),
    "one missed": ("clean", missed(1)),
    "one extra": ("clean", extra),
    "one late target": ("clean", late(1)),
    "two wrong": ("rough", wrong(2)),
    "two missed": ("rough", missed(2)),
    "wrong and missed": ("rough", wrong_and_missed),
    "three wrong": ("rough", wrong(3)),
    "a beat's pause": ("rough", pause(1.0)),
    "a longer pause": ("rough", pause(2.0)),
    "late targets": ("rough", late(2)),
    "slowing or hurrying": ("rough", slowing(0.3)),
    "a beat late": ("rough", start_late),
    "another tempo": ("rough", off_tempo),
    "ragged": ("clean", ragged),
    "other key": ("lost", other_key),
    "noodling": ("lost", noodling),
    "another line": ("lost", another_line),
    "stopping at half": ("lost", stopping(0.5)),
    "stopping at two thirds": ("lost", stopping(0.66)),
    "half wrong": ("lost", half_wrong),
    "half missed": ("lost", half_missed),
}
ONLY_WITH_A_CLICK = {"a beat late", "another tempo"}


@dataclass(frozen=True)
class Attempt:
    """One attempt: what was meant, and the notes in seconds from the count-in's end."""

    score: Score
    kind: str
    meant: Word
    notes: tuple[Played, ...]
    beat: Beat | None

    def take(self, ear: Ear = "midi") -> Take:
        return Take(self.notes, ear, self.beat)


def attempt(
    kind: str, dice: random.Random, *, click: bool = True, line: str = "eighths", loops: int = 1,
    lead: float = 1.0, low: int = 58, high: int = 80,
) -> Attempt:  # fmt: skip
    """Make one attempt; a human's unevenness of 8 to 16 ms is in all of them."""
    made = score(dice, line, low, high)
    meant, way = KINDS[kind]
    quarter = 60 / made.tempo
    if not click:
        quarter *= dice.uniform(0.7, 1.2)
    spread = dice.uniform(0.008, 0.016)
    lag = dice.uniform(0.0, 0.02)
    notes = []
    for loop in range(loops):
        for tone in way(made, straight(made.line), dice):
            at = lead + lag + (tone.onset + loop * float(made.chart.length)) * quarter
            at += min(2 * spread, max(-2 * spread, dice.gauss(0, spread)))
            long = max(0.04, tone.length * quarter * dice.uniform(0.8, 1.0))
            notes.append(Played(at, at + long, tone.pitch))
    notes.sort(key=lambda note: note.start)
    ended = [
        replace(n, end=min(n.end, notes[i + 1].start) if i + 1 < len(notes) else n.end)
        for i, n in enumerate(notes)
    ]
    return Attempt(made, kind, meant, tuple(ended), Beat(lead, 60 / made.tempo) if click else None)


def over_a_bass(made: Attempt, dice: random.Random, loops: int = 1, lead: float = 1.0) -> Attempt:
    """Return the attempt with a bass of single notes that walks under it, up to 30 ms ahead."""
    held = [Held(at, span.length, span.chord) for at, span in made.score.chart.spans()]
    quarter, ahead = 60 / made.score.tempo, dice.uniform(-0.01, 0.03)
    notes = list(made.notes)
    for each in walking_bass(held, Fraction(1), loops):
        at = lead + float(each.start) * quarter - ahead + dice.gauss(0, 0.012)
        notes.append(Played(at, at + float(each.length) * quarter * 0.9, each.pitch))
    return replace(made, notes=tuple(sorted(notes, key=lambda note: note.start)))
