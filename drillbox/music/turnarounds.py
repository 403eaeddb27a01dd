"""The turnaround: the chord that leads the last bar back to the first, or on to the next key.

Any chord may be approached by its dominant, a fifth above it; by that dominant with the ii
before it; or by the dominant's tritone substitute, a semitone above it (common practice).
The marked spans at the end of a chart are its turnaround.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from drillbox.music.analysis.functions import functions_of, mode_of
from drillbox.music.analysis.scales import scale_semitones
from drillbox.music.analysis.whole import chord_facts
from drillbox.music.charts import Bar, Chart, Span, counted_beat
from drillbox.music.chords import (
    Chord,
    chord_up,
    family_of,
    has_minor_third,
    intervals,
    is_dominant,
    is_written,
)
from drillbox.music.degrees import above_root
from drillbox.music.heard import heard_chart
from drillbox.music.keys import SCALES, Key
from drillbox.music.moving.spelling import respelling_interval
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import FIFTH, LETTER_DOWN, LETTER_UP, UNISON, Interval, Name

Style = Literal["dominant", "two-five", "substitute"]

_SECOND, _SEMITONE = Interval(1, 2), Interval(1, 1)


def propose_turnaround(chart: Chart, key: Key, style: Style = "dominant") -> Chart | None:
    """Return the chart with a turnaround that leads to its first chord.

    It takes the second half, in whole beats, of the last chord. A two-five needs two beats;
    with one it is the dominant alone. None where there is a turnaround already, where no chord
    sounds, in a mode, named or kept to, which a dominant would make a key, where the last chord
    leads home anyway, and where it holds less than two beats: no bar is added.
    """
    aim = aim_of(chart)
    if chart.turnaround or aim is None or mode_of(heard_chart(chart), key):
        return None
    if not _room(chart) or leads_home(chart, key):
        return None
    return lead_to(chart, aim, key, style)


def aim_of(chart: Chart) -> Chord | None:
    """Return the chord that a turnaround to the top of a chart leads to; None where none sounds.

    It is the first chord as it is heard: F/G is G9sus4. A diminished chord has no dominant of
    its own. One that leads up a semitone, to a root or a bass, stands for the dominant with a
    flat ninth whose root it leaves out (C#dim7 Dm7 for A7b9); any other decorates the chord that
    comes after it (common practice).
    """
    spans = [span for _, span in heard_chart(chart).spans() if not span.turnaround]
    chords = [span.chord for span in spans if span.chord]
    for before, chord in pairwise(chords):
        if family_of(before) != "diminished":
            break
        if family_of(chord) != "diminished":
            goals = (chord.root, chord.bass or chord.root)
            up = (e for e in goals if (e.pitch_class - before.root.pitch_class) % 12 == 1)
            goal = next(up, None)  # the dominant goes by its letter: C#7 for Fdim7 F#m7
            return Chord(goal.up(FIFTH), "dominant") if goal else chord
    return chords[0] if chords else None


def leads_home(chart: Chart, key: Key) -> bool:
    """Return whether the last chord leads to the first, or to the tonic of the key.

    A dominant or its substitute does, by a fifth or a semitone; else what the analysis of its
    function finds to: the V of the key, suspended or not, and a secondary dominant, a backdoor
    dominant or a diminished chord that resolves into the first chord.
    """
    heard = heard_chart(chart)
    last, first = heard.bars[-1].spans[-1].chord, aim_of(chart)
    if last is None or first is None:
        return False
    if is_dominant(last) and any(_leads(last, to) for to in (first.root, key.tonic)):
        return True
    function = functions_of(heard, key)[-1]
    if function is None:
        return False
    plain = function.roman == "V" and last.kind == "major"
    if plain or function.role in ("dominant", "backdoor"):
        return True
    resolves = function.role in ("secondary", "substitute", "diminished")
    resolves = resolves and function.note in ("", "passing")
    return resolves or function.roman.startswith("viidim")


def leaves_room(line: Sequence[LineNote], chart: Chart, key: Key) -> bool:
    """Return whether a line rests over the turnaround of a chart, holds, or plays what belongs
    to it.

    To a chord belong its tones and the tensions of its scale, but no fourth over a third. A
    pickup leads to the first chord as the turnaround does, and is left out.
    """
    facts = chord_facts(heard_chart(chart), key)
    for (start, span), fact in zip(chart.spans(), facts, strict=True):
        if not (span.turnaround and span.chord):
            continue
        own = scale_semitones(span.chord, fact.pairing)
        own -= {5} if (3, 0) in intervals(span.chord) else set()
        over = (each for each in line if start <= each.onset < start + span.length and each.length)
        if any(above_root(span.chord, each.pitch.name) not in own for each in over):
            return False
    return True


def with_turnaround(chart: Chart, chords: Sequence[Chord]) -> Chart | None:
    """Return the chart with these one or two chords as its turnaround.

    They take the place of the turnaround there is, or the second half of the last chord; None
    where that holds less than two beats.
    """
    if not chart.turnaround and not _room(chart):
        return None
    return _with_chords(chart, tuple(chords))


def without_turnaround(chart: Chart) -> Chart:
    """Return the chart without its turnaround: the chord before it holds on instead."""
    bars, held = [], None
    for bar in chart.bars:
        spans: list[Span] = []
        for span in bar.spans:
            chord = held if span.turnaround else span.chord
            if span.turnaround and spans:
                spans[-1] = replace(spans[-1], length=spans[-1].length + span.length)
            else:
                spans.append(replace(span, chord=chord, turnaround=False))
            held = chord
        bars.append(Bar(tuple(spans)))
    return replace(chart, bars=tuple(bars))


def lead_to(chart: Chart, to: Chord, key: Key, style: Style | None = None) -> Chart:
    """Return the chart with a turnaround that leads to a chord, as ``aim_of`` the next key has it.

    It stands in the place of the turnaround there is; in a chart without one, where
    ``propose_turnaround`` puts it. ``key`` is the key that ``to`` belongs to. ``style``
    defaults to that of the turnaround there is.
    """
    return _with_chords(chart, _approach(to, key, style or turnaround_style(chart)))


def _with_chords(chart: Chart, chords: tuple[Chord, ...]) -> Chart:
    roomy = chart if chart.turnaround else _with_room(chart)
    rooms = {
        index: marked
        for index, bar in enumerate(roomy.bars)
        if (marked := [span for span in bar.spans if span.turnaround])
    }
    bars = list(roomy.bars)
    filled = _filled(list(rooms.values()), chords, counted_beat(chart.meter))
    for index, spans in zip(rooms, filled, strict=True):
        kept = tuple(span for span in bars[index].spans if not span.turnaround)
        bars[index] = Bar(kept + spans)
    return replace(roomy, bars=tuple(bars))


def turnaround_style(chart: Chart) -> Style:
    """Return how the chart's turnaround leads back; the dominant where it isn't clear."""
    chords = [span.chord for span in chart.turnaround if span.chord]
    aim = aim_of(chart)
    if len(chords) > 1 and chords[-2] != chords[-1]:
        return "two-five"
    if chords and aim and chords[-1].root.pitch_class == (aim.root.pitch_class + 1) % 12:
        return "substitute"
    return "dominant"


def _leads(chord: Chord, to: Name) -> bool:
    return (chord.root.pitch_class - to.pitch_class) % 12 in (1, 7)


def _approach(to: Chord, key: Key, style: Style) -> tuple[Chord, ...]:
    """Return the one or two chords that lead to a chord, spelled as players write them."""
    plain = Chord(to.root, "dominant")
    if style == "substitute":
        return (chord_up(plain, respelling_interval(plain, _SEMITONE)),)
    if style == "dominant":
        return (chord_up(plain, respelling_interval(plain, FIFTH)),)
    two = chord_up(replace(plain, kind=_two_kind(to, key)), _SECOND)
    five = chord_up(plain, FIFTH)
    # Both together, so that they still lie a fifth apart: Fm7b5 Bb7 to D#m, not Fm7b5 A#7.
    letters = (UNISON, LETTER_UP, LETTER_DOWN)
    ways = [(chord_up(two, letter), chord_up(five, letter)) for letter in letters]
    return min(ways, key=lambda way: sum(not is_written(chord.root) for chord in way))


def _two_kind(to: Chord, key: Key) -> str:
    """Return the kind of the ii: half-diminished before a minor chord, unless its perfect
    fifth (the sixth above that chord) belongs to the key, as in Em7 A7 to Dm7 in C."""
    sixth = (to.root.pitch_class + 9 - key.tonic.pitch_class) % 12
    return (
        "half-diminished"
        if has_minor_third(to) and sixth not in SCALES[key.mode]
        else "minor-seventh"
    )


def _room(chart: Chart) -> Fraction:
    """Return how much of the last chord a turnaround may take: half of it, in whole beats."""
    beat = counted_beat(chart.meter)
    return chart.bars[-1].spans[-1].length / beat // 2 * beat


def _with_room(chart: Chart) -> Chart:
    """Return the chart with the place for a turnaround marked at its end."""
    bar = chart.bars[-1]
    last = bar.spans[-1]
    free = _room(chart)
    if not free:
        new = Bar((Span(Fraction(0), chart.meter.bar, last.chord, turnaround=True),))
        return replace(chart, bars=(*chart.bars, new))
    end = last.start + last.length
    spans = (
        *bar.spans[:-1],
        replace(last, length=last.length - free),
        Span(end - free, free, last.chord, turnaround=True),
    )
    return replace(chart, bars=(*chart.bars[:-1], Bar(spans)))


def _filled(
    rooms: Sequence[Sequence[Span]], chords: Sequence[Chord], beat: Fraction
) -> Iterable[tuple[Span, ...]]:
    """Yield the spans that fill each bar's room, the ii in the first half of it all.

    Two chords in a bar change where two did before, else on a beat.
    """
    for place, room in enumerate(rooms):
        start = room[0].start
        length = sum((span.length for span in room), Fraction(0))
        beats = length / beat
        if len(rooms) > 1 or (beats < 2 and len(room) != 2):
            # With a bar to each, or less than two beats to both, no chord shares its room.
            chord = chords[0] if place < len(rooms) // 2 else chords[-1]
            yield (Span(start, length, chord, turnaround=True),)
        elif len(chords) == 1:
            yield (Span(start, length, chords[0], turnaround=True),)
        else:
            half = start + -(-beats // 2) * beat
            change = room[1].start if len(room) == 2 else half - half % beat
            yield (
                Span(start, change - start, chords[0], turnaround=True),
                Span(change, start + length - change, chords[1], turnaround=True),
            )
