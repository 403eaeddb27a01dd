"""The notes that a line aims at, and how early or late each arrives."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from drillbox.music.analysis.implied import Implied
from drillbox.music.analysis.line_in_chart import Line
from drillbox.music.degrees import above_root, guide_semitones
from drillbox.music.heard import is_chord_tone


def targets(line: Line, stated: Sequence[Implied] = ()) -> frozenset[int]:
    """Return the indices of the target notes.

    Under a chord where the player has marked a note, the marked ones and no others. Under
    any other chord one for each span of the chart (a chord held over a bar line has one in
    each bar), the first of these that there is among the chord tones heard with it:

    1. the resolution of a dominant that the line implies;
    2. a guide tone that begins on the change or arrives early;
    3. the first guide tone no later than half a beat after the change;
    4. the first guide tone on a pulse, no later than a beat after the change;
    5. a chord tone that begins on the change or arrives early;
    6. the first guide tone on a pulse, the first chord tone on a pulse, the first chord tone.

    What belongs to an implied harmony (``stated``) is on its way: no target unless marked. A
    note that begins past the middle of its span isn't a target either, unless marked or such a
    resolution: what comes so late leads on, and so does a pickup. A span may have no target.
    """
    marked = frozenset(i for i, note in enumerate(line.notes) if note.target)
    decided = {line.chord_starts[line.heard[i]] for i in marked - line.pickup}
    moving = {i for each in stated for i in each.notes}
    ends = [each.resolution for each in stated if each.resolution is not None]
    by_span: dict[int, list[int]] = {}
    for index, note in enumerate(line.notes):
        if index in moving:
            continue
        span = line.heard[index]
        fits = note.length > 0 and is_chord_tone(line.chord(index), note)
        in_time = line.in_time(index) or index in ends
        if fits and in_time and line.chord_starts[span] not in decided:
            by_span.setdefault(span, []).append(index)
    return marked | frozenset(_aim(line, those, ends) for those in by_span.values())


def arrivals(line: Line, aimed: frozenset[int]) -> dict[int, Fraction]:
    """Return for the first target of each chord how late it is, in the line's subdivisions.

    Negative is early, 0 on the change. Later targets of the same chord, and those in a span
    that only holds the chord before it, have no arrival.
    """
    first: dict[int, int] = {}
    for index in sorted(aimed - line.pickup):
        span = line.heard[index]
        if line.begins[span] and line.chord(index):
            held = first.setdefault(span, index)
            if line.offset(index) < line.offset(held):
                first[span] = index
    return {index: line.offset(index) / line.smallest for index in first.values()}


_PLAIN = {
    Fraction(1): "quarter",
    Fraction(1, 2): "eighth",
    Fraction(1, 4): "sixteenth",
    Fraction(1, 8): "thirty-second",
}
_TRIPLETS = {Fraction(1, 3): "triplet eighth", Fraction(1, 6): "triplet sixteenth"}
_LONGER = {
    Fraction(2): "half",
    Fraction(3, 2): "dotted quarter",
    Fraction(3, 4): "dotted eighth",
}


def arrival_text(arrival: Fraction, subdivision: Fraction) -> str:
    """Return in words how early or late a target is: ``1 eighth early``.

    ``arrival`` counts ``subdivision``s, which are the unit where they are plain note values and
    the number is whole. Else it is the longest plain value that divides the time, or that of
    triplets: in a line of triplets an eighth is an eighth. What no value divides is told in
    quarter notes.
    """
    time = abs(arrival * subdivision)
    own = _PLAIN | _LONGER
    first = {subdivision: own[subdivision]} if subdivision in own else {}
    units = [*first.items(), *_PLAIN.items(), *_TRIPLETS.items()]
    way = "late" if arrival > 0 else "early"
    for unit, value in units:
        count = time / unit
        if count.denominator == 1:
            return f"{count} {value}{'s' if count > 1 else ''} {way}"
    return f"{time} of a quarter {way}"


def is_guide_tone(line: Line, index: int) -> bool:
    """Return whether a note is a guide tone of the chord that it's heard with."""
    chord = line.chord(index)
    return chord is not None and (
        above_root(chord, line.notes[index].pitch.name) in guide_semitones(chord)
    )


def _aim(line: Line, those: list[int], ends: Sequence[int]) -> int:
    those = sorted(those, key=line.offset)
    beat = line.beat
    guides = [i for i in those if is_guide_tone(line, i)]
    ranks = (
        [i for i in those if i in ends],
        [i for i in guides if line.offset(i) <= 0],
        [i for i in guides if line.offset(i) * 2 <= beat],
        [i for i in guides if line.strong(i) and line.offset(i) <= beat],
        [i for i in those if line.offset(i) <= 0],
        [i for i in guides if line.strong(i)],
        [i for i in those if line.strong(i)],
        those,
    )
    return next(rank[0] for rank in ranks if rank)
