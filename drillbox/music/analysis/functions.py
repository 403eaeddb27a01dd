"""What each chord does in the key: numeral, dominant and its target, substitute, turnaround.

A chart is read as the loop that it is: the chord after the last one is the first one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from drillbox.music.analysis.dominants import Loop, dominant_at, fall, has_ii
from drillbox.music.analysis.modal import belongs
from drillbox.music.analysis.numerals import BORROWED, NUMERALS, PLAIN, Function
from drillbox.music.charts import Chart
from drillbox.music.chords import Chord
from drillbox.music.degrees import alike, family
from drillbox.music.keys import Key
from drillbox.music.pitch import interval_of


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
    loop = Loop(chords, key)
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

    In this order: a chord of the key's church mode; a dominant by where it leads, or would lead;
    a chord of the key; a ii by the dominant that follows it; a diminished chord by where it
    leads; a borrowed chord; the goal of a secondary dominant just before it. The goal of a ii
    and V that isn't a chord of the key is a local tonic.
    """
    loop = Loop(tuple(chords), key)
    chord = loop.at(index)
    found = _modal(loop, index) or dominant_at(loop, index)
    if found:
        return found
    place = (key.third, loop.degree(chord), family(chord))
    if place in PLAIN:
        return Function(PLAIN[place])
    found = _related_ii(loop, index) or _diminished(loop, index)
    if found:
        return found
    before = dominant_at(loop, index - 1)
    led = before is not None and fall(loop.at(index - 1), chord) == 5
    local = None
    if led and has_ii(loop, index - 1) and family(chord) in ("major", "minor"):
        local = interval_of(loop.degree(chord))
    if place in BORROWED:
        return Function(BORROWED[place], "borrowed", local=local)
    if before and led and before.role == "secondary":
        return Function(loop.roman(chord), "borrowed", local=local)
    return None


def _modal(loop: Loop, index: int) -> Function | None:
    """A chord of the key's church mode goes by its degree, but a dominant that falls a fifth."""
    chord, key = loop.at(index), loop.key
    if not key.church or not belongs(chord, key.mode, key):
        return None
    if family(chord) != "dominant":
        return Function(loop.roman(chord))
    if loop.degree(chord) and fall(chord, loop.at(index + 1)) == 5:
        return None
    return Function(f"{loop.roman(chord)}7")


def _related_ii(loop: Loop, index: int) -> Function | None:
    """A minor seventh or half-diminished chord before the dominant a fifth below is its ii."""
    chord, after = loop.at(index), loop.at(index + 1)
    if family(chord) not in ("minor", "half-diminished") or fall(chord, after) != 5:
        return None
    dominant = dominant_at(loop, index + 1)
    if dominant is None or dominant.role not in ("dominant", "secondary", "substitute"):
        return None
    if dominant.role == "substitute":
        return Function(f"ii/{dominant.roman}", "related ii")
    _, _, goal = dominant.roman.partition("/")
    note = dominant.note if dominant.note == "side-step" else ""
    return Function(f"ii/{goal}" if goal else "ii", "related ii", note)


def _diminished(loop: Loop, index: int) -> Function | None:
    """A diminished chord leads up a semitone, passes down one, or stays on its root."""
    chord, after = loop.at(index), loop.at(index + 1)
    if family(chord) != "diminished":
        return None
    own = NUMERALS[loop.degree(chord)].lower()
    match fall(chord, after):
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
    resolves = function is not None and not function.note
    return resolves and function is not None and function.role in ("secondary", "substitute")
