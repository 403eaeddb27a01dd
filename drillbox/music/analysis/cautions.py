"""What a player may want to change in a phrase before drilling it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from drillbox.music.analysis.line_in_chart import Line
from drillbox.music.analysis.targets import is_guide_tone
from drillbox.music.charts import beat_text, place
from drillbox.music.degrees import guide_semitones
from drillbox.music.heard import is_chord_tone
from drillbox.music.phrases import LineNote, Phrase

FASTEST = 10
"""Notes a second at which timing perception itself is at its limit (Repp 2003)."""
_RUN = 4  # notes in a row over which speed is counted: a beat of sixteenths


class CautionKind(StrEnum):
    """What is cautioned against."""

    NO_GUIDE_TONE = "no guide tone"
    OPEN_LOOP = "open loop"
    TOO_FAST = "too fast"


@dataclass(frozen=True, slots=True)
class Caution:
    """One warning; ``text`` is a full sentence in ASCII, ``span`` the chord it is about."""

    kind: CautionKind
    text: str
    span: int | None = None


def cautions(phrase: Phrase, line: Line, aimed: frozenset[int]) -> tuple[Caution, ...]:
    """Return the warnings about a line.

    Its range isn't among them, since that depends on the player's instrument.
    """
    found = [*_without_guide_tone(line, aimed), *_open_loop(line)]
    rate = notes_a_second(phrase.line, phrase.tempo)
    if rate > FASTEST:
        text = (
            f"At {phrase.tempo} the line has {float(rate):.1f} notes a second: "
            f"above {FASTEST} a second, time is hard to hear."
        )
        found.append(Caution(CautionKind.TOO_FAST, text))
    return tuple(found)


def notes_a_second(line: Sequence[LineNote], tempo: int) -> Fraction:
    """Return how many notes a second the fastest four notes in a row make, 0 for a single note.

    One short note between longer ones, as in a dotted pair, is no fast run. A line of fewer notes
    is counted as a whole, over a quarter note at least. Subdivision times tempo over 60:
    sixteenths at 120 are 8 a second. Grace notes don't count.
    """
    onsets = sorted({note.onset for note in line if note.length > 0})
    steps = min(_RUN, len(onsets)) - 1
    if steps < 1:
        return Fraction(0)
    time = min(last - first for first, last in zip(onsets, onsets[steps:], strict=False))
    if len(onsets) < _RUN:
        time = max(time, Fraction(1))
    return steps * Fraction(tempo, 60) / time


def leads_into_next_pass(line: Line) -> bool:
    """Return whether the line's end leads into its next pass.

    From the last note to the first it moves by a step at most (two semitones), or from a
    chord tone to a chord tone, each judged on the chord that it's heard with; a pickup also
    on the chord at the loop's end, over which it sounds.
    """
    struck = [i for i, note in enumerate(line.notes) if note.length > 0]
    if not struck:
        return True
    ends = struck[-1], struck[0]
    return abs(line.move(*ends)) <= 2 or all(_is_at_home(line, i) for i in ends)


def _is_at_home(line: Line, index: int) -> bool:
    note = line.notes[index]
    under = line.chart.span_at(note.onset) if index in line.pickup else None
    return any(
        is_chord_tone(chord, note) for chord in (line.chord(index), under.chord if under else None)
    )


def _without_guide_tone(line: Line, aimed: frozenset[int]) -> list[Caution]:
    """Return a warning for each chord that the line plays over without aiming at its quality.

    A chord held over a bar line counts once. Not blamed are chords that have no guide tones
    (C5), those over which no note begins by the middle of a span, and, where the player has
    marked none of its notes, a chord with a guide tone no later than a beat after the change.
    """
    found = []
    every = range(len(line.notes))
    chord_of = [line.chord_starts[span] for span in line.heard]
    played = {chord_of[i] for i in every if line.in_time(i)}
    marked = {chord_of[i] for i in every if line.notes[i].target}
    near = {
        i
        for i in every
        if line.offset(i) <= line.beat and chord_of[i] not in marked and i not in line.pickup
    }
    heard = {chord_of[i] for i in aimed | near if is_guide_tone(line, i)}
    for span in sorted(played - heard):
        start, _, chord = line.spans[span]
        if chord is None or not guide_semitones(chord):
            continue
        bar, beat = place(line.chart.meter, start)
        text = f"Bar {bar}, beat {beat_text(beat)}: no 3rd or 7th among the chord's targets."
        found.append(Caution(CautionKind.NO_GUIDE_TONE, text, span))
    return found


def _open_loop(line: Line) -> list[Caution]:
    if leads_into_next_pass(line):
        return []
    return [Caution(CautionKind.OPEN_LOOP, "The last note doesn't lead back to the first.")]
