"""What is in a phrase: its chords, its notes and what to mind, worked out once and kept.

An analysis holds degrees, roles and numerals but no note names, so that it is the same in
all twelve keys.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from drillbox.music.analysis.cautions import Caution, cautions
from drillbox.music.analysis.functions import (
    changes,
    functions,
    heard_chart,
    modal_pairing,
    mode_of,
)
from drillbox.music.analysis.implied import Implied
from drillbox.music.analysis.line_in_chart import Line, line_over, place
from drillbox.music.analysis.motion import Enclosure, Side
from drillbox.music.analysis.numerals import Function
from drillbox.music.analysis.roles import Motion, Role, motion_of, roles
from drillbox.music.analysis.scales import Pairing, pair, scale_semitones
from drillbox.music.analysis.targets import arrivals
from drillbox.music.charts import Chart, counted_beat
from drillbox.music.chords import Chord
from drillbox.music.degrees import degree
from drillbox.music.keys import Key
from drillbox.music.phrases import Phrase


@dataclass(frozen=True, slots=True)
class ChordFacts:
    """One span of the chart: bar and beat from 1, function and scale where clear.

    ``begins`` is False where the chord is held from the span before.
    """

    bar: int
    beat: Fraction
    begins: bool
    function: Function | None
    pairing: Pairing | None


@dataclass(frozen=True, slots=True)
class NoteFacts:
    """One note of the line: where it begins, its chord, its degree and what it is.

    ``span`` counts the chart's spans from 0; ``degree`` is None where no chord sounds. Of
    ``roles`` the first is the main one. ``side`` is set for approach notes. ``arrival`` is
    how many of the line's subdivisions a chord's first target is late (negative: early).
    """

    bar: int
    beat: Fraction
    span: int
    degree: str | None
    roles: tuple[Role, ...]
    chromatic: bool = False
    side: Side | None = None
    arrival: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything known about a phrase; ``notes`` runs parallel to the phrase's line.

    ``subdivision`` is the line's smallest common note value in quarter notes.
    """

    chords: tuple[ChordFacts, ...]
    notes: tuple[NoteFacts, ...] = ()
    enclosures: tuple[Enclosure, ...] = ()
    cautions: tuple[Caution, ...] = ()
    subdivision: Fraction = Fraction(1)
    arpeggios: tuple[tuple[int, ...], ...] = ()
    implied: tuple[Implied, ...] = ()


def analyse(phrase: Phrase) -> Analysis:
    """Work out what is in a phrase, as written; its line is in order of onset.

    Slash chords that are suspended dominants are taken as such: see ``slash.heard_as``.
    """
    chart = heard_chart(phrase.chart)
    chords = chord_facts(chart, phrase.key)
    if not phrase.line or not chords:
        return Analysis(chords, subdivision=counted_beat(phrase.chart.meter))
    line = line_over(phrase.line, chart)
    scales = tuple(
        scale_semitones(chord, facts.pairing) if chord else frozenset[int]()
        for (_, _, chord), facts in zip(line.spans, chords, strict=True)
    )
    motion = motion_of(line, scales)
    return Analysis(
        chords,
        _note_facts(line, motion),
        motion.enclosures,
        cautions(phrase, line, motion.aimed),
        line.smallest,
        motion.arpeggios,
        motion.implied,
    )


def chord_facts(chart: Chart, key: Key) -> tuple[ChordFacts, ...]:
    """Return what is known of each span's chord, in a mode where the chart keeps to one."""
    mode = mode_of(chart, key)
    return tuple(
        ChordFacts(
            *place(chart.meter, start),
            begins,
            *_function_and_scale(span.chord, function, mode, key),
        )
        for (start, span), begins, function in zip(
            chart.spans(), changes(chart), functions(chart, key), strict=True
        )
    )


def _function_and_scale(
    chord: Chord | None, function: Function | None, mode: str | None, key: Key
) -> tuple[Function | None, Pairing | None]:
    if chord is None:
        return function, None
    pairing = pair(chord, function, key.third)
    if mode is None:
        return function, pairing
    if function and chord.root.pitch_class == key.tonic.pitch_class:
        function = replace(function, note=mode)
    return function, modal_pairing(chord, mode, key) or pairing


def _note_facts(line: Line, motion: Motion) -> tuple[NoteFacts, ...]:
    late = arrivals(line, motion.aimed)
    facts = []
    for i, note in enumerate(line.notes):
        chord, found = line.chord(i), roles(line, i, motion)
        facts.append(
            NoteFacts(
                *place(line.chart.meter, note.onset),
                line.heard[i],
                degree(chord, note.pitch.name) if chord else None,
                found,
                i in motion.chromatic,
                motion.approaches[i] if Role.APPROACH in found else None,
                late.get(i),
            )
        )
    return tuple(facts)


def role_text(analysis: Analysis, index: int) -> str:
    """Return what a note is, in words: ``target, guide tone; 1 early``.

    An approach says whether it is diatonic or chromatic and from where, a part of an
    enclosure of what kind and size, an arpeggio on which degree it begins; a subdivision is the
    unit of early and late.
    """
    note = analysis.notes[index]
    kind = "chromatic" if note.chromatic else "diatonic"
    words = []
    for role in note.roles:
        if role is Role.APPROACH:
            words.append(f"{kind} approach from {note.side}")
        elif role is Role.ENCLOSURE:
            inside = next(each for each in analysis.enclosures if index in each.notes)
            words.append(f"part of a {inside.text()}")
        elif role is Role.PASSING:
            words.append(f"{kind} passing")
        elif role is Role.IMPLIED:
            stated = next(each for each in analysis.implied if index in each.notes)
            words.append(f"part of an implied {stated.text()}")
        elif role is Role.ARPEGGIO:
            run = next(each for each in analysis.arpeggios if index in each)
            words.append(f"arpeggio from the {_ordinal(analysis.notes[run[0]].degree)}")
        elif role is not Role.CHORD_TONE or Role.GUIDE_TONE not in note.roles:
            words.append(str(role))
    text = ", ".join(words)
    if not note.arrival:
        return text
    return f"{text}; {abs(note.arrival)} {'late' if note.arrival > 0 else 'early'}"


def _ordinal(degree: str | None) -> str:
    """Return a degree as the place where an arpeggio begins: ``root``, ``3rd``, ``9th``."""
    number = (degree or "1").lstrip("b#")
    return {"1": "root", "2": "2nd", "3": "3rd"}.get(number, f"{number}th")


def function_text(facts: ChordFacts, key: Key, *, ascii: bool = True) -> str:
    """Return a chord's function in a key, empty where it isn't clear."""
    return facts.function.text(key, ascii=ascii) if facts.function else ""


def scale_text(facts: ChordFacts, *, ascii: bool = True) -> str:
    """Return a chord's scale, empty where no chord sounds."""
    return facts.pairing.text(ascii=ascii) if facts.pairing else ""
