"""What each chord does in the key: numeral, dominant and its target, substitute, turnaround.

A chart is read as the loop that it is: the chord after the last one is the first one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from drillbox.music.analysis.numerals import (
    BORROWED,
    NUMERALS,
    PLAIN,
    Function,
    Loop,
    dominant_at,
    has_ii,
    resolves_on_its_root,
    root_motion,
)
from drillbox.music.analysis.scales import PRACTICE, SCALES, Pairing, scale_fits
from drillbox.music.charts import Chart
from drillbox.music.chords import Chord, chord_semitones, family_of, own_degrees
from drillbox.music.heard import chord_begins, heard_chart
from drillbox.music.keys import Key, Mode, Third, conventional_key
from drillbox.music.pitch import FIFTH, Interval, interval_of

_MODES: dict[Third, tuple[Mode, ...]] = {
    "major": ("Mixolydian", "Lydian"),
    "minor": ("Dorian", "Phrygian"),
}
# A minor key lends itself the leading note.
_PLAIN = {"major": {*SCALES["Ionian"]}, "minor": {*SCALES["Aeolian"], 11}}
_ROTATIONS = ("Ionian", "Dorian", "Phrygian", "Lydian", "Mixolydian", "Aeolian", "Locrian")


def mode_of(chart: Chart, key: Key) -> Mode | None:
    """Return the mode of the key, or else that a chart keeps to; None for major and minor.

    It begins on its tonic chord and has another one; all tones of all chords belong to the
    mode, and some to neither the major nor the minor scale (with its leading note): a tone of
    the tonic chord counts in Mixolydian alone, so that Cm6 in C minor isn't Dorian. A dominant
    that falls a fifth makes it a key (common practice); one on the tonic only where the tonic
    stands as a major chord as well (C6 C7 F6).
    """
    if key.church:
        return key.mode
    chords = chart.sounding()
    roots = {(each.root.pitch_class - key.tonic.pitch_class) % 12 for each in chords}
    if len(roots) < 2 or chords[0].root.pitch_class != key.tonic.pitch_class:
        return None
    loop = Loop(chords, key)
    if any(_makes_a_key(loop, index) for index in range(len(chords))):
        return None
    everything = {at for chord in chords for at in _in_key(chord, key)}
    for mode in _MODES[key.third]:
        told = {
            at
            for chord in chords
            for at in _in_key(chord, key)
            if mode == "Mixolydian" or chord.root.pitch_class != key.tonic.pitch_class
        }
        if everything <= {*SCALES[mode]} and told - _PLAIN[key.third]:
            return mode
    return None


def modal_pairing(chord: Chord, mode: Mode, key: Key) -> Pairing | None:
    """Return the mode begun on a chord's root as its scale, None where it doesn't fit."""
    root = (chord.root.pitch_class - key.tonic.pitch_class) % 12
    notes = tuple(sorted((each - root) % 12 for each in SCALES[mode]))
    name = next((each for each in _ROTATIONS if SCALES[each] == notes), None)
    return Pairing(name, (), PRACTICE) if name and scale_fits(name, chord) else None


def belongs_to_mode(chord: Chord, mode: Mode, key: Key) -> bool:
    """Return whether all tones of a chord lie in a mode on the key's tonic."""
    return _in_key(chord, key) <= {*SCALES[mode]}


def _in_key(chord: Chord, key: Key) -> set[int]:
    above = chord.root.pitch_class - key.tonic.pitch_class
    return {(above + each) % 12 for each in chord_semitones(chord)}


def _makes_a_key(loop: Loop, index: int) -> bool:
    chord = loop.at(index)
    falls = family_of(chord) == "dominant" and root_motion(chord, loop.at(index + 1)) == 5
    return falls and (loop.degree(chord) != 0 or loop.has_tonic("major"))


def functions_of(chart: Chart, key: Key) -> tuple[Function | None, ...]:
    """Return the function of each span's chord, None where it isn't clear or no chord sounds.

    Where the chart keeps to a church mode, its chords go by that as if it were the key.
    """
    spans = [span for _, span in chart.spans()]
    groups: list[list[int]] = []
    for index, begins in enumerate(chord_begins(chart)):
        if spans[index].chord is None:
            continue
        if begins or not groups or groups[-1][-1] != index - 1:
            groups.append([])
        groups[-1].append(index)
    chords = tuple(chord for group in groups if (chord := spans[group[0]].chord))
    found: list[Function | None] = [None] * len(spans)
    mode = mode_of(chart, key)
    key = replace(key, mode=mode) if mode else key
    for at, group in enumerate(groups):
        function = function_at(chords, at, key)
        last = group[-1] == len(spans) - 1
        turns = spans[group[0]].turnaround or (last and _leads_back(function))
        if turns:
            function = replace(function or Function(""), turnaround=True)
        for index in group:
            found[index] = function
    return tuple(found)


def function_at(chords: Sequence[Chord], index: int, key: Key) -> Function | None:
    """Return the function of one chord in a loop of chords, or None where it isn't clear.

    In this order: a chord of the key's church mode; a dominant by where it leads, or would lead;
    a suspended chord by what it resolves to on its own root; the ii of a local tonic; a chord of
    the key; a ii by the dominant that follows it; a diminished chord by where it leads; a borrowed
    chord; the goal of a secondary dominant just before it. The goal of a ii and V is a local tonic
    if it isn't a chord of the key: nor is a major seventh on its fifth (Am7 D7 Gmaj7 in C).
    """
    loop = Loop(tuple(chords), key)
    chord = loop.at(index)
    found = _modal(loop, index) or dominant_at(loop, index)
    if not found and resolves_on_its_root(loop, index):
        found = function_at(chords, index + 1, key)
    if found:
        return found
    place = loop.place(chord)
    if place in PLAIN:
        return _ii_of_local(loop, index) or Function(PLAIN[place], local=_local(loop, index))
    found = _related_ii(loop, index) or _diminished(loop, index)
    if found:
        return found
    if place in BORROWED:
        return Function(BORROWED[place], "borrowed", local=_local(loop, index))
    before = _led_by(loop, index)
    if before and before.role == "secondary":
        return Function(loop.roman(chord), "borrowed", local=_local(loop, index))
    return None


def _modal(loop: Loop, index: int) -> Function | None:
    """A chord of the key's church mode goes by its degree, but a dominant that falls a fifth."""
    chord, key = loop.at(index), loop.key
    if not key.church or not belongs_to_mode(chord, key.mode, key):
        return None
    if family_of(chord) != "dominant":
        return Function(loop.roman(chord))
    if loop.degree(chord) and root_motion(chord, loop.at(index + 1)) == 5:
        return None
    return Function(f"{loop.roman(chord)}7")


def _led_by(loop: Loop, index: int) -> Function | None:
    """Return the dominant that falls a fifth to a chord, standing before it."""
    falls = root_motion(loop.at(index - 1), loop.at(index)) == 5
    return dominant_at(loop, index - 1) if falls else None


def _local(loop: Loop, index: int) -> Interval | None:
    """Return the root above the tonic of a chord that ii and V have made a local tonic.

    A chord of the key is none, but for a major seventh on its fifth.
    """
    chord = loop.at(index)
    if family_of(chord) not in ("major", "minor") or not has_ii(loop, index - 1):
        return None
    if not _led_by(loop, index):
        return None
    local = interval_of(loop.degree(chord))
    own = local == FIFTH and (7, 0) in own_degrees(chord).values()
    return local if own or loop.place(chord) not in PLAIN else None


def _ii_of_local(loop: Loop, index: int) -> Function | None:
    """A chord of the key may be the ii of a local tonic, after the dominant that follows it."""
    found, goal = _related_ii(loop, index), index + 2
    if found is None or "/" not in found.roman or not _local(loop, goal):
        return None
    leads_on = _modal(loop, goal) or dominant_at(loop, goal) or _related_ii(loop, goal)
    return None if leads_on else found


def _related_ii(loop: Loop, index: int) -> Function | None:
    """A minor seventh or half-diminished chord before the dominant a fifth below is its ii.

    So it is before that dominant's substitute, a semitone below: Gm7 Gb7 Fmaj7.
    """
    chord, after = loop.at(index), loop.at(index + 1)
    motion = root_motion(chord, after)
    if family_of(chord) not in ("minor", "half-diminished") or motion not in (5, 11):
        return None
    dominant = dominant_at(loop, index + 1)
    if dominant is None or dominant.role not in ("dominant", "secondary", "substitute"):
        return None
    if motion == 11 and dominant.role != "substitute":
        return None
    if motion == 5 and dominant.role == "substitute":
        return Function(f"ii/{dominant.roman}", "related ii")
    _, _, goal = dominant.roman.partition("/")
    note = dominant.note if dominant.note == "side-step" else ""
    return Function(f"ii/{goal}" if goal else "ii", "related ii", note)


def _diminished(loop: Loop, index: int) -> Function | None:
    """A diminished chord leads up a semitone, passes down one, or stays on its root.

    It may pass to the bass of an inversion as well, up or down: D#dim7 C/E.
    """
    chord, after = loop.at(index), loop.at(index + 1)
    if family_of(chord) != "diminished":
        return None
    own = loop.roman(chord)
    match root_motion(chord, after):
        case 1:
            roman = "viidim" if loop.degree(after) == 0 else f"viidim/{loop.roman(after)}"
            return Function(roman, "diminished", aims=family_of(after))
        case 11:
            return Function(f"{own}dim", "diminished", "passing")
        case 0 if len(loop.chords) > 1:
            return Function(f"{own}dim", "diminished", "common tone")
        case 6 if loop.degree(after) == 0:
            return Function(f"{own}dim", "diminished")
        case _:
            return _passing_to_bass(loop, chord, after)


def _passing_to_bass(loop: Loop, chord: Chord, after: Chord) -> Function | None:
    degree = loop.degree(chord)
    motion = (after.bass.pitch_class - chord.root.pitch_class) % 12 if after.bass else 0
    if motion not in (1, 11):
        return None
    raised = motion == 1 and NUMERALS[degree].startswith("b")
    numeral = f"#{NUMERALS[degree - 1]}".lower() if raised else loop.roman(chord)
    return Function(f"{numeral}dim", "diminished", "passing")


def _leads_back(function: Function | None) -> bool:
    """A secondary dominant or substitute that ends the chart turns round without parentheses."""
    resolves = function is not None and not function.note
    return resolves and function is not None and function.role in ("secondary", "substitute")


_TONICS = {"major": {"I", "I7"}, "minor": {"i"}}


def key_it_moves_as(chart: Chart, key: Key) -> Key | None:
    """Return the minor key, or the major one, on the same tonic where the chart moves as that.

    It does where its tonic chords are all of the other mode, as in Dm7b5 G7 Cm6 given as C; a
    Cm7 that is the ii of B flat isn't a tonic chord. None where the key is right or can't be told,
    as in a church mode.
    """
    if key.church:
        return None
    found = {each.roman for each in functions_of(heard_chart(chart), key) if each}
    other = replace(key, mode="minor" if key.mode == "major" else "major")
    if found & _TONICS[other.third] and not found & _TONICS[key.third]:
        return conventional_key(other)
    return None
