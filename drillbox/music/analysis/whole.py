"""What is in a phrase: its chords, its notes and what to mind, worked out once and kept.

An analysis holds degrees, roles and numerals but no note names, so that it is the same in
all twelve keys. For a row it is plain JSON values, exact, and quick to read back: fractions are
text (``"5/2"``), and what is empty at the end of a list is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, TypeVar

from drillbox.music.analysis.cautions import Caution, CautionKind, cautions
from drillbox.music.analysis.functions import functions_of, modal_pairing, mode_of
from drillbox.music.analysis.implied import Implied
from drillbox.music.analysis.line_in_chart import Line, line_over
from drillbox.music.analysis.motion import Enclosure, Side
from drillbox.music.analysis.numerals import Function
from drillbox.music.analysis.roles import Motion, Role, motion_of, roles_of
from drillbox.music.analysis.scales import SCALES, Pairing, paired_scale, scale_semitones
from drillbox.music.analysis.targets import arrivals
from drillbox.music.charts import Chart, counted_beat, place
from drillbox.music.chords import Chord
from drillbox.music.degrees import degree
from drillbox.music.heard import chord_begins, heard_chart
from drillbox.music.keys import Key, Mode
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import Interval

_T = TypeVar("_T")


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

    @property
    def targets(self) -> tuple[int, ...]:
        """Return the indices of the line's target notes."""
        return tuple(i for i, note in enumerate(self.notes) if Role.TARGET in note.roles)


def analyse(phrase: Phrase) -> Analysis:
    """Work out what is in a phrase, as written; its line is in order of onset.

    Slash chords that are suspended dominants are taken as such: see ``heard``.
    """
    chart = heard_chart(phrase.chart)
    chords = chord_facts(chart, phrase.key)
    if not phrase.line or not chords:
        return Analysis(chords, subdivision=counted_beat(phrase.chart.meter))
    line = line_over(phrase.line, chart)
    scales = tuple(
        _diatonic(chord, facts, phrase.key) if chord else ()
        for (_, _, chord), facts in zip(line.spans, chords, strict=True)
    )
    motion = motion_of(line, scales, phrase.key.tonic)
    return Analysis(
        chords,
        _note_facts(line, motion),
        motion.enclosures,
        cautions(phrase, line, motion.aimed),
        line.smallest,
        motion.arpeggios,
        motion.implied,
    )


def _diatonic(chord: Chord, facts: ChordFacts, key: Key) -> tuple[frozenset[int], ...]:
    """Return the scales that are diatonic over a chord, in semitones above its root.

    Its own; over the tonic of a minor key that of the signature, and Dorian, as well, whatever
    the symbol has for a sixth and a seventh.
    """
    own, function = scale_semitones(chord, facts.pairing), facts.function
    if key.mode == "minor" and function and function.roman == "i" and not function.note:
        return own, frozenset(SCALES["Aeolian"]), frozenset(SCALES["Dorian"])
    return (own,)


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
            chart.spans(), chord_begins(chart), functions_of(chart, key), strict=True
        )
    )


def _function_and_scale(
    chord: Chord | None, function: Function | None, mode: Mode | None, key: Key
) -> tuple[Function | None, Pairing | None]:
    if chord is None:
        return function, None
    pairing = paired_scale(chord, function, key.third)
    if mode is None:
        return function, pairing
    if function and chord.root.pitch_class == key.tonic.pitch_class:
        function = replace(function, note=mode)
    return function, modal_pairing(chord, mode, key) or pairing


def _note_facts(line: Line, motion: Motion) -> tuple[NoteFacts, ...]:
    late = arrivals(line, motion.aimed)
    facts = []
    for i, note in enumerate(line.notes):
        chord, found = line.chord(i), roles_of(line, i, motion)
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
    """Return a degree as the place where an arpeggio begins: ``root``, ``3rd``, ``9th``, ``b9``."""
    number = (degree or "1").lstrip("b#")
    if degree and degree != number and number in ("9", "11", "13"):
        return degree
    return {"1": "root", "2": "2nd", "3": "3rd"}.get(number, f"{number}th")


def function_text(facts: ChordFacts, key: Key, *, ascii: bool = True) -> str:
    """Return a chord's function in a key, empty where it isn't clear."""
    return facts.function.text(key, ascii=ascii) if facts.function else ""


def scale_text(facts: ChordFacts, *, ascii: bool = True) -> str:
    """Return a chord's scale, empty where no chord sounds."""
    return facts.pairing.text(ascii=ascii) if facts.pairing else ""


RULES = 14
"""What an analysis was made by: raised whenever another one would be made of the same phrase."""


def analysis_json(analysis: Analysis) -> dict[str, Any]:
    """Return the analysis as a dict of lists that ``json.dumps`` takes as it is."""
    return {
        "rules": RULES,
        "subdivision": str(analysis.subdivision),
        "chords": [_chord_json(each) for each in analysis.chords],
        "notes": [_note_json(each) for each in analysis.notes],
        "enclosures": [
            [list(each.notes), each.landing, each.chromatic] for each in analysis.enclosures
        ],
        "arpeggios": [list(run) for run in analysis.arpeggios],
        "implied": [
            [list(each.notes), each.kind, each.span, each.root, each.resolution, each.quality]
            for each in analysis.implied
        ],
        "cautions": [[str(each.kind), each.text, each.span] for each in analysis.cautions],
    }


def is_current(value: dict[str, Any]) -> bool:
    """Return whether an analysis was made by today's rules; an older one is recomputed."""
    return value.get("rules") == RULES


def analysis_from(value: dict[str, Any]) -> Analysis:
    """Return the analysis that ``analysis_json`` wrote; raise ValueError if it is none."""
    try:
        return Analysis(
            tuple(_chord_from(each) for each in value["chords"]),
            tuple(_note_from(each) for each in value["notes"]),
            tuple(
                Enclosure(tuple(notes), at, outside) for notes, at, outside in value["enclosures"]
            ),
            tuple(Caution(CautionKind(kind), text, at) for kind, text, at in value["cautions"]),
            Fraction(value["subdivision"]),
            tuple(tuple(run) for run in value["arpeggios"]),
            tuple(Implied(tuple(notes), *rest) for notes, *rest in value["implied"]),
        )
    except (LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no analysis: {error}") from error


def _chord_json(facts: ChordFacts) -> list[Any]:
    function, pairing = facts.function, facts.pairing
    return _trimmed(
        facts.bar,
        str(facts.beat),
        facts.begins,
        [pairing.scale, list(pairing.also), pairing.source] if pairing else None,
        _function_json(function) if function else None,
    )


def _chord_from(value: Sequence[Any]) -> ChordFacts:
    bar, beat, begins, pairing, function = _padded(value, 5)
    return ChordFacts(
        bar,
        Fraction(beat),
        bool(begins),
        _maybe(_function_from, function),
        _maybe(lambda it: Pairing(it[0], tuple(it[1]), it[2]), pairing),
    )


def _note_json(facts: NoteFacts) -> list[Any]:
    return _trimmed(
        facts.bar,
        str(facts.beat),
        facts.span,
        facts.degree,
        [str(role) for role in facts.roles],
        facts.chromatic,
        facts.side,
        str(facts.arrival) if facts.arrival is not None else None,
    )


def _note_from(value: Sequence[Any]) -> NoteFacts:
    bar, beat, span, degree, roles, chromatic, side, arrival = _padded(value, 8)
    return NoteFacts(
        bar,
        Fraction(beat),
        span,
        degree,
        tuple(Role(role) for role in roles or ()),
        bool(chromatic),
        side,
        _maybe(Fraction, arrival),
    )


def _function_json(function: Function) -> list[Any]:
    replaced = function.replaces
    return _trimmed(
        function.roman,
        function.role,
        function.turnaround,
        function.aims,
        [replaced.steps, replaced.semitones] if replaced else None,
        function.becomes_minor,
        function.note,
        function.from_minor,
        [function.local.steps, function.local.semitones] if function.local else None,
    )


def _function_from(value: Sequence[Any]) -> Function:
    roman, role, turnaround, aims, replaced, becomes_minor, note, dark, local = _padded(value, 9)
    return Function(
        roman or "",
        role,
        note or "",
        aims,
        _maybe(lambda it: Interval(*it), replaced),
        bool(becomes_minor),
        bool(turnaround),
        bool(dark),
        _maybe(lambda it: Interval(*it), local),
    )


def _trimmed(*values: Any) -> list[Any]:
    """Return values as a list without what is empty at its end."""
    kept = list(values)
    while kept and (kept[-1] is None or kept[-1] is False or kept[-1] in ("", [])):
        kept.pop()
    return kept


def _padded(values: Sequence[Any], size: int) -> list[Any]:
    """Return what ``_trimmed`` left out again, as None, so that there are ``size`` values."""
    return [*values, *[None] * (size - len(values))]


def _maybe(read: Callable[[Any], _T], value: Any) -> _T | None:
    """Return what is read of a value, None where there is none."""
    return None if value is None else read(value)
