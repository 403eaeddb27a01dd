"""Harmony that a line states over the chart's own: the soloist's, not the band's (common practice).

A dominant before it resolves. Its notes are heard with one chord, and the next note, a semitone
or a whole tone on, is a chord tone of the goal: that same chord, or the one after it. The notes
are foreign to the chord: no scale that is diatonic over it has them all, nor the blues scale on
its root or on the tonic of the key. Over the goal's own V only four notes or more of V7alt or
sub V7 in a run count, over its substitute nothing. Above the goal's fifth:

- V7: an arpeggio with the 3, and 1, 5, b7, 9 or 13 besides; with 3 and b7 it may be diatonic over
  that same chord (B D F over Cmaj7);
- V7b9: four notes in any order, or an arpeggio, with 3, b7 and b9, and 1 and 5 besides; an
  arpeggio without the 3 only on the way to a major goal; or a scale with 3, b7 and b9 within
  Mixolydian b9 b13;
- V7alt: four notes or more of the altered scale in any order, or an arpeggio, with two altered
  tones and the 3, or the b5 on the way to a goal that isn't a dominant;
- sub V7: root, third and fifth of the tritone substitute (b5, b7 and b9) as an arpeggio, and its
  seventh and ninth (3 and #9) besides; with the seventh in any order.

Over a chord, resolved or not:

- upper-structure triad: a major or minor triad with two tensions of the chord or three, and
  nothing that clashes (over a dominant no 11 and no major seventh);
- minor line: over a dominant, the minor or half-diminished ii played on. An arpeggio with b7 and
  11 of the dominant, and its 5, 9 or b9 and 13 besides; or 1 2 b3 5 of that ii, up or down.
  Likewise the minor chord with a major seventh a semitone above the dominant.

An arpeggio is three notes or more by thirds and fourths in one direction (a minor line by thirds
alone), a scale four or more by at most three semitones in one direction.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from drillbox.music.analysis.line_in_chart import Line, Scales
from drillbox.music.chords import (
    Chord,
    Degree,
    Family,
    chord_semitones,
    chord_up,
    degree_semitones,
    family_of,
    is_written,
    played_degrees,
)
from drillbox.music.degrees import above_root
from drillbox.music.heard import is_chord_tone
from drillbox.music.pitch import Interval, Name, interval_of
from drillbox.music.symbols.printed import ALTERED, chord_of

ImpliedKind = Literal["V7", "V7b9", "V7alt", "sub V7", "upper-structure triad", "minor line"]

_ALTERED = frozenset({1, 3, 6, 8})
_ALTERED_SCALE = _ALTERED | {0, 4, 10}
_B9_B13 = frozenset({0, 1, 4, 5, 7, 8, 10})
_BLUES = frozenset({0, 3, 5, 6, 7, 10})
_OVER_V = ("V7alt", "sub V7")
_CELLS = ((7, 9, 10, 2), (2, 10, 9, 7))  # 1 2 b3 5 of the ii, up and down
_TRIADS: dict[tuple[int, ...], str] = {(0, 4, 7): "major", (0, 3, 7): "minor"}
_TENSIONS: dict[Family, frozenset[int]] = {
    "dominant": frozenset({1, 2, 3, 6, 8, 9}),
    "major": frozenset({2, 6, 9}),
    "minor": frozenset({2, 5, 9}),
}
_NAMES = ("1", "b9", "9", "b3", "3", "11", "#11", "5", "b13", "13", "b7", "7")


@dataclass(frozen=True, slots=True)
class Implied:
    """The ``notes`` that state a harmony (indices in the line), over the chord of ``span``.

    ``root`` lies so many semitones above the root of that chord or, for a dominant, of the
    chord of the note ``resolution``; ``quality`` is that of a triad.
    """

    notes: tuple[int, ...]
    kind: ImpliedKind
    span: int
    root: int
    resolution: int | None = None
    quality: str = ""

    def text(self) -> str:
        """Return ``V7b9`` or ``upper-structure triad on the 13``."""
        if self.resolution is not None:
            return self.kind
        return f"{self.kind} on the {_NAMES[self.root]}"

    def chord(self, reference: Chord) -> Chord:
        """Return what is implied, spelled as players write it; ``root`` counts from a chord."""
        made = Chord(reference.root, self.quality or "dominant")
        if self.kind == "V7alt":
            made = chord_of(reference.root, ALTERED) or made
        elif self.kind == "V7b9":
            made = replace(made, degrees=(Degree("add", 9, -1),))
        made = chord_up(made, interval_of(self.root))
        near = (made, *(chord_up(made, Interval(letter, 0)) for letter in (1, -1)))
        return next((each for each in near if is_written(each.root)), made)


def implied_harmony(line: Line, scales: Scales, tonic: Name) -> tuple[Implied, ...]:
    """Return what a line implies, in order; no note is part of two, and runs come first.

    ``tonic`` is that of the key.
    """
    scales = _with_blues(line, scales, tonic)
    found: list[Implied] = []
    used: set[int] = set()
    for runs in (True, False):
        for start in range(len(line.notes)):
            one = _dominant_from(line, start, scales, runs)
            one = one or (_upper_from(line, start) if runs else None)
            if one and not used & set(one.notes):
                found.append(one)
                used.update(one.notes)
    return tuple(sorted(found, key=lambda each: each.notes))


def _with_blues(line: Line, scales: Scales, tonic: Name) -> Scales:
    """Return the scales that are diatonic over each chord and the blues scales in use there."""
    roots = ((chord.root if chord else tonic).pitch_class for _, _, chord in line.spans)
    return tuple(
        (*each, _BLUES, frozenset((tonic.pitch_class - root + at) % 12 for at in _BLUES))
        for each, root in zip(scales, roots, strict=True)
    )


def _groups(line: Line, start: int) -> Iterator[tuple[int, ...]]:
    """Yield the runs of notes from one on that are heard with its chord, without wide leaps."""
    run = [start]
    while True:
        last = run[-1]
        after = line.next(last)
        if after is None or after <= last or line.heard[after] != line.heard[start]:
            return
        move = line.move(last, after)
        if not 1 <= abs(move) <= 9:
            return
        run.append(after)
        yield tuple(run)


def _sizes(line: Line, group: tuple[int, ...]) -> set[int]:
    """Return the intervals of a run that goes one way, in semitones; none where it turns."""
    moves = [line.move(one, two) for one, two in pairwise(group)]
    return {abs(move) for move in moves} if min(moves) * max(moves) > 0 else set()


def _dominant_from(line: Line, start: int, scales: Scales, runs: bool) -> Implied | None:
    if line.chord(start) is None or line.notes[start].length == 0:
        return None
    for group in _groups(line, start):
        after = line.next(group[-1])
        if len(group) < 3 or after is None or after in group:
            continue
        goal, foreign = line.chord(after), _is_foreign(line, group, scales)
        if goal is None or not _resolves(line, group, after, foreign):
            continue
        kind = _dominant_kind(line, group, goal, foreign, runs)
        stands_out = runs and kind in _OVER_V and len(group) > 3
        if kind and (stands_out or not _is_over_v(line, group, goal)):
            root = 1 if kind == "sub V7" else 7
            return Implied(group, kind, line.heard[start], root, after)
    return None


def _is_foreign(line: Line, group: tuple[int, ...], scales: Scales) -> bool:
    """Return whether no scale over its chord holds a group."""
    chord = line.chord(group[0])
    assert chord, "a group has a chord"
    held = {*_tones(line, chord, group)}
    return not any(held <= scale for scale in scales[line.heard[group[0]]])


def _resolves(line: Line, group: tuple[int, ...], after: int, foreign: bool) -> bool:
    """Return whether the next note is a chord tone of a goal that the group's chord allows."""
    over, goal = line.chord(group[0]), line.chord(after)
    if not 1 <= abs(line.move(group[-1], after)) <= 2 or not is_chord_tone(goal, line.notes[after]):
        return False
    if line.heard[after] == line.heard[group[0]]:
        return True
    assert over, "a group has a chord"
    assert goal, "a chord tone has a chord"
    substitute = (over.root.pitch_class - goal.root.pitch_class) % 12 == 1
    return foreign and not substitute


def _is_over_v(line: Line, group: tuple[int, ...], goal: Chord) -> bool:
    over = line.chord(group[0])
    return over is not None and (over.root.pitch_class - goal.root.pitch_class) % 12 == 7


def _dominant_kind(
    line: Line, group: tuple[int, ...], goal: Chord, foreign: bool, runs: bool
) -> ImpliedKind | None:
    """Return what a group states; ``runs``: as an arpeggio or scale, else in any order.

    What isn't ``foreign`` states nothing but a V7 with 3 and b7.
    """
    held = {(above_root(goal, line.notes[i].pitch.name) - 7) % 12 for i in group}
    sizes, kind = _sizes(line, group), family_of(goal)
    stacked = bool(sizes) and sizes <= {3, 4, 5}
    scale = not stacked and len(group) >= 4 and bool(sizes) and sizes <= {1, 2, 3}
    seventh = stacked and 4 in held and held <= {0, 2, 4, 7, 9, 10}
    told = foreign or (seventh and 10 in held)
    if not told or runs != (stacked or scale) or not (runs or len(held) >= 4):
        return None
    if {1, 6, 10} <= held <= {1, 3, 4, 6, 10} and (stacked or 4 in held):
        return "sub V7"
    bare = stacked and kind == "major" and bool({4, 10} & held)
    if ({4, 10} <= held or bare) and 1 in held and held <= {0, 1, 4, 7, 10}:
        return "V7b9"
    leading = 4 in held or (6 in held and kind != "dominant")
    if leading and len(held & _ALTERED) >= 2 and held <= _ALTERED_SCALE:
        return "V7alt"
    if seventh:
        return "V7"
    return "V7b9" if scale and {1, 4, 10} <= held <= _B9_B13 else None


def _upper_from(line: Line, start: int) -> Implied | None:
    """Return the longest triad or minor line from a note on that isn't part of a longer run."""
    chord = line.chord(start)
    groups = [run for run in _groups(line, start) if len(run) >= 3 and _sizes(line, run)]
    if chord is None or line.notes[start].length == 0 or not groups:
        return None
    over_dominant = family_of(chord) == "dominant" and not _has_eleventh(chord)
    for run in groups if over_dominant else ():
        if _tones(line, chord, run) in _CELLS and _sizes(line, run) == {1, 2, 4}:
            return Implied(run, "minor line", line.heard[start], 7, None, "minor-seventh")
    stacked = [run for run in groups if _sizes(line, run) <= {3, 4, 5}]
    if not stacked or _runs_into(line, start):
        return None
    found = _minor_line(line, chord, stacked[-1]) if over_dominant else None
    return found or _triad(line, chord, stacked[-1])


def _has_eleventh(chord: Chord) -> bool:
    """Return whether a dominant names an 11 that is played."""
    return any(degree_semitones(each) == 5 for each in played_degrees(chord))


def _tones(line: Line, chord: Chord, run: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(above_root(chord, line.notes[i].pitch.name) for i in run)


def _minor_line(line: Line, chord: Chord, run: tuple[int, ...]) -> Implied | None:
    held, span = set(_tones(line, chord, run)), line.heard[run[0]]
    colour = {2, 9} if 2 in held else {1}
    if {5, 10} <= held <= {5, 7, 10} | colour and _sizes(line, run) <= {3, 4}:
        quality = "half-diminished" if 1 in held else "minor-seventh"
        return Implied(run, "minor line", span, 7, None, quality)
    if held == {0, 1, 4, 8}:
        return Implied(run, "minor line", span, 1, None, "major-minor")
    return None


def _runs_into(line: Line, start: int) -> bool:
    """Return whether a note goes on with an arpeggio that has begun before it."""
    run = next((e for e in _groups(line, start) if len(e) == 2), None)
    before = start - 1
    if run is None or before < 0 or line.heard[before] != line.heard[start]:
        return False
    move = line.move(before, start)
    return move * line.move(*run) > 0 and abs(move) in (3, 4, 5)


def _triad(line: Line, chord: Chord, run: tuple[int, ...]) -> Implied | None:
    held, own = set(_tones(line, chord, run)), chord_semitones(chord)
    tensions = _TENSIONS.get(family_of(chord), frozenset()) - own
    if len(held) != 3 or len(held & tensions) < 2 or not held <= tensions | own:
        return None
    for root in held:
        quality = _TRIADS.get(tuple(sorted((each - root) % 12 for each in held)))
        if quality:
            span = line.heard[run[0]]
            return Implied(run, "upper-structure triad", span, root, None, quality)
    return None
