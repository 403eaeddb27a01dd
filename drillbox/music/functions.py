"""What each chord does in the key: numeral, dominant and its target, substitute, turnaround.

A chart is read as the loop that it is: the chord after the last one is the first one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drillbox.music.charts import Chart
from drillbox.music.chords import Chord
from drillbox.music.degrees import alike, family
from drillbox.music.keys import Key
from drillbox.music.numerals import BORROWED, NUMERALS, PLAIN, STEPS, UNRESOLVED, Function
from drillbox.music.pitch import Interval

_MINORS = ("minor", "half-diminished", "diminished")


@dataclass(frozen=True, slots=True)
class _Loop:
    """The chords of a chart, each once where it is held, and the key that they are in."""

    chords: tuple[Chord, ...]
    key: Key

    def at(self, index: int) -> Chord:
        return self.chords[index % len(self.chords)]

    def degree(self, chord: Chord) -> int:
        return (chord.root.pitch_class - self.key.tonic.pitch_class) % 12

    def roman(self, chord: Chord) -> str:
        numeral = NUMERALS[self.degree(chord)]
        return numeral.replace("V", "v").replace("I", "i") if _is_minor(chord) else numeral


def changes(chart: Chart) -> tuple[bool, ...]:
    """Return for each span whether a chord begins there (False: held from the span before)."""
    spans = [span for _, span in chart.spans()]
    held = (
        alike(before.chord, span.chord) and before.turnaround == span.turnaround
        for before, span in pairwise(spans)
    )
    return (True, *(not each for each in held)) if spans else ()


def functions(chart: Chart, key: Key) -> tuple[Function | None, ...]:
    """Return the function of each span's chord, None where it isn't clear or no chord sounds."""
    spans = [span for _, span in chart.spans()]
    groups: list[list[int]] = []
    for index, begins in enumerate(changes(chart)):
        if spans[index].chord is None:
            continue
        if begins or not groups or groups[-1][-1] != index - 1:
            groups.append([])
        groups[-1].append(index)
    chords = tuple(chord for group in groups if (chord := spans[group[0]].chord))
    found: list[Function | None] = [None] * len(spans)
    loop = _Loop(chords, key)
    for at, group in enumerate(groups):
        function = function_at(loop.chords, at, key)
        last = group[-1] == len(spans) - 1
        turns = spans[group[0]].turnaround or (last and _leads_back(function))
        if turns:
            function = replace(function or Function(""), turnaround=True)
        for index in group:
            found[index] = function
    return tuple(found)


def function_at(chords: Sequence[Chord], index: int, key: Key) -> Function | None:
    """Return the function of one chord in a loop of chords, or None where it isn't clear.

    In this order: a dominant by where it leads; a chord of the key; a ii by the dominant that
    follows it; a diminished chord by where it leads; a borrowed chord; the goal of a
    secondary dominant just before it.
    """
    loop = _Loop(tuple(chords), key)
    chord = loop.at(index)
    dominant = _dominant(loop, index)
    if dominant:
        return dominant
    place = (key.mode, loop.degree(chord), family(chord))
    if place in PLAIN:
        return Function(PLAIN[place])
    found = _related_ii(loop, index) or _diminished(loop, index)
    if found:
        return found
    if place in BORROWED:
        return Function(BORROWED[place], "borrowed")
    before = _dominant(loop, index - 1)
    if before and before.role == "secondary" and _falls(loop.at(index - 1), chord) == 5:
        return Function(loop.roman(chord), "borrowed")
    return None


def _falls(chord: Chord, following: Chord) -> int:
    """Return the way up from one root to the next; 5 is a fourth up, a fifth down."""
    return (following.root.pitch_class - chord.root.pitch_class) % 12


def _is_minor(chord: Chord) -> bool:
    return family(chord) in _MINORS


def _may_lead(loop: _Loop, chord: Chord) -> bool:
    """Tell whether a chord can be a dominant: by its sound, or a triad foreign to the key."""
    kind = family(chord)
    if kind in ("dominant", "augmented"):
        return True
    if kind == "suspended":
        return chord.kind != "suspended-second"
    place = (loop.key.mode, loop.degree(chord), kind)
    return chord.kind == "major" and place not in PLAIN and place not in BORROWED


def _target(loop: _Loop, index: int) -> tuple[Chord, bool]:
    """Return the chord that a dominant leads to, and whether it becomes a minor seventh first.

    Chords on its own root are passed over (G7sus G7, D7 Dm7), and so is the ii that comes
    between a dominant and its own return (A7 Em7 A7).
    """
    chord = loop.at(index)
    becomes_minor = False
    ahead = index + 1
    while ahead < index + len(loop.chords):
        after = loop.at(ahead)
        if _falls(chord, after) == 0:
            becomes_minor = becomes_minor or family(after) == "minor"
        elif not (
            _falls(chord, after) == 7
            and _is_minor(after)
            and _falls(chord, loop.at(ahead + 1)) == 0
            and family(loop.at(ahead + 1)) == "dominant"
        ):
            return after, becomes_minor
        ahead += 1
    return chord, becomes_minor


def _dominant(loop: _Loop, index: int) -> Function | None:
    chord = loop.at(index)
    if not _may_lead(loop, chord):
        return None
    degree, (target, becomes_minor) = loop.degree(chord), _target(loop, index)
    aims = family(target)
    falls, from_minor = _falls(chord, target), _comes_from_minor(loop, index)
    if degree == 7:
        return Function(
            "V",
            "dominant",
            aims=aims if falls == 5 else None,
            becomes_minor=becomes_minor,
            from_minor=from_minor,
        )
    if degree == 0 and falls == 5 and aims == "dominant" and not _has_ii(loop, index):
        return Function("I7")  # the blues: its home is a dominant, and doesn't lead to IV7
    if falls == 5 or (becomes_minor and degree == 2):
        goal, aims = (loop.roman(target), aims) if falls == 5 else ("V", "dominant")
        return Function(
            f"V/{goal}",
            "secondary",
            aims=aims,
            becomes_minor=becomes_minor,
            from_minor=from_minor,
        )
    if family(chord) == "dominant":
        return _substitute(loop, falls, target) or _unresolved(loop, degree, target)
    return None


def _comes_from_minor(loop: _Loop, index: int) -> bool:
    """Tell whether a half-diminished ii or a minor iv of its goal stands before a dominant."""
    before = next(
        (
            each
            for back in range(1, len(loop.chords))
            if _falls(each := loop.at(index - back), loop.at(index)) != 0
        ),
        loop.at(index),
    )
    return (family(before), _falls(before, loop.at(index))) in (
        ("half-diminished", 5),
        ("minor", 2),
    )


def _has_ii(loop: _Loop, index: int) -> bool:
    before = loop.at(index - 1)
    return family(before) in ("minor", "half-diminished") and _falls(before, loop.at(index)) == 5


def _substitute(loop: _Loop, falls: int, target: Chord) -> Function | None:
    """A dominant a semitone above its goal stands for the one a tritone away."""
    if falls != 11:
        return None
    home = loop.degree(target)
    replaced = (home + 7) % 12
    roman = "sub V" if home == 0 else f"sub V/{loop.roman(target)}"
    return Function(
        roman,
        "substitute",
        aims=family(target),
        replaces=Interval(STEPS[replaced], replaced),
    )


def _unresolved(loop: _Loop, degree: int, target: Chord) -> Function | None:
    mode, home = loop.key.mode, loop.degree(target)
    if mode == "major" and degree == 10 and home in (0, 4):
        return Function("bVII7", "backdoor", note="backdoor")
    roman = UNRESOLVED.get((mode, degree))
    return Function(roman) if roman else None


def _related_ii(loop: _Loop, index: int) -> Function | None:
    """A minor seventh or half-diminished chord before the dominant a fifth below is its ii."""
    chord, after = loop.at(index), loop.at(index + 1)
    if family(chord) not in ("minor", "half-diminished") or _falls(chord, after) != 5:
        return None
    dominant = _dominant(loop, index + 1)
    if dominant is None or dominant.role not in ("dominant", "secondary", "substitute"):
        return None
    if dominant.role == "substitute":
        return Function(f"ii/{dominant.roman}", "related ii")
    _, _, goal = dominant.roman.partition("/")
    return Function(f"ii/{goal}" if goal else "ii", "related ii")


def _diminished(loop: _Loop, index: int) -> Function | None:
    """A diminished chord leads up a semitone, passes down one, or stays on its root."""
    chord, after = loop.at(index), loop.at(index + 1)
    if family(chord) != "diminished":
        return None
    own = NUMERALS[loop.degree(chord)].replace("V", "v").replace("I", "i")
    match _falls(chord, after):
        case 1:
            roman = "viidim" if loop.degree(after) == 0 else f"viidim/{loop.roman(after)}"
            return Function(roman, "diminished", aims=family(after))
        case 11:
            return Function(f"{own}dim", "diminished", "passing")
        case 0 if len(loop.chords) > 1:
            return Function(f"{own}dim", "diminished", "common tone")
        case 6 if loop.degree(after) == 0:
            return Function(f"{own}dim", "diminished")
        case _:
            return None


def _leads_back(function: Function | None) -> bool:
    """A secondary dominant or substitute that ends the chart turns round without parentheses."""
    return function is not None and function.role in ("secondary", "substitute")
