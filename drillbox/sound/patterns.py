"""Everything that sounds in a practice loop, as one list of events.

Chords are held as guide tones in the middle register, moving as little as they can.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, product
from typing import Literal

from drillbox.music.charts import Chart, counted_beat
from drillbox.music.chords import Chord, guide_tones, intervals, tone_above
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote
from drillbox.music.pulse import clicked
from drillbox.sound.bass import Note, Scale, bass_step, plain_bass, walking_bass
from drillbox.sound.loop_parts import LONGEST, Held, Layout, LoopOptions, LoopPart, lay_out
from drillbox.tick import Tick, silent, stage

LOWEST, HIGHEST = 52, 72
"""E3 to C5 as MIDI notes: above the bass, below most lines."""
_MIDDLE = 61
_WIDEST = 14


def voicing(chord: Chord, before: Sequence[int] = ()) -> tuple[int, ...]:
    """Return MIDI notes, low to high: the guide tones, or two tones where there is but one.

    Of all ways to lay them they take the one that moves least from ``before`` (the middle of
    the register at first).
    """
    classes = _classes(chord)
    places = [[n for n in range(LOWEST, HIGHEST + 1) if n % 12 == each] for each in classes]
    ways = [tuple(sorted(way)) for way in product(*places)]
    close = [way for way in ways if way[-1] - way[0] <= _WIDEST]
    return min(close, key=lambda way: (_movement(before, way), _off_middle(way), way))


def _classes(chord: Chord) -> list[int]:
    """Return two or more pitch classes, without doubles, where the chord has as many."""
    root_and_fifth = [each for each in intervals(chord) if each[0] in {5, 1}]
    spare = [tone_above(chord.root, *each) for each in sorted(root_and_fifth, reverse=True)]
    found: list[int] = []
    for name in guide_tones(chord):
        if name.pitch_class not in found:
            found.append(name.pitch_class)
    for name in spare:
        if len(found) < 2 and name.pitch_class not in found:
            found.append(name.pitch_class)
    return found or [chord.root.pitch_class]


def _movement(before: Sequence[int], way: Sequence[int]) -> int:
    """Return by how many semitones the notes move, each to its nearest neighbour."""
    if not before:
        return 0
    there = sum(min(abs(note - old) for old in before) for note in way)
    back = sum(min(abs(note - old) for note in way) for old in before)
    return there + back


def _off_middle(way: Sequence[int]) -> int:
    return sum(abs(note - _MIDDLE) for note in way)


Voice = Literal["accent", "plain", "bass", "chord", "line"]
_CLICK_LENGTH = Fraction(1, 8)
_NO_TIME = Fraction(0)


@dataclass(frozen=True, slots=True)
class Event:
    """One sound from ``start`` for ``length``, in exact quarters from the count-in's beginning.

    ``pitch`` is a MIDI note, 0 for the clicks (``accent`` and ``plain``). ``share`` is one
    over the number of notes struck together.
    """

    voice: Voice
    start: Fraction
    length: Fraction
    pitch: int = 0
    share: Fraction = Fraction(1)


def loop_events(
    parts: Sequence[LoopPart],
    options: LoopOptions,
    *,
    longest: int | None = LONGEST,
    tick: Tick = silent,
) -> tuple[Layout, list[Event]]:
    """Return where the parts lie, and all events in order of time.

    Every loop has the same chords and line. ``tick`` hears how far it has come.
    Raises as ``lay_out`` does.
    """
    layout = lay_out(parts, options, longest=longest)
    found = list(_clicks(layout, options))
    found += [
        Event("bass", layout.count_in + note.start, note.length, note.pitch)
        for note in _bass(parts, layout, options, stage(tick, 0, 2))
    ]
    same = [*(_chords(layout.held) if options.chords else ()), *_lines(parts, layout)]
    for loop in range(options.loops):
        stage(tick, 1, 2)(loop, options.loops)
        shift = layout.count_in + loop * layout.once
        found += [replace(each, start=each.start + shift) for each in same]
    return layout, sorted(found, key=lambda each: (each.start, each.voice, each.pitch))


def _clicks(layout: Layout, options: LoopOptions) -> Iterator[Event]:
    """Yield the clicks of the count-in and, where wanted, of the bars."""
    pulse = layout.pulse
    beat = pulse.meter.bar / pulse.beats_in_bar
    for number, position in pulse.positions():
        if not position.count_in and options.clicks is None:
            return
        kind = clicked(position, options.clicks or "every")
        if kind:
            yield Event(kind, number * beat, min(beat, _CLICK_LENGTH))


def _bass(
    parts: Sequence[LoopPart], layout: Layout, options: LoopOptions, tick: Tick
) -> list[Note]:
    """Return the bass of all loops, from 0."""
    meter, halving = layout.pulse.meter, 2 if options.doubled else 1
    beat = counted_beat(meter) / halving
    if options.bass == "plain":
        once = plain_bass(layout.held, bass_step(meter) / halving, beat)
        shifts = [loop * layout.once for loop in range(options.loops)]
        return [replace(note, start=note.start + shift) for shift in shifts for note in once]
    if options.bass == "walking":
        scales = [each for part in parts for each in _scales(part.chart, part.key_text)]
        return walking_bass(layout.held, beat, options.loops, tick, scales=scales)
    return []


@lru_cache(maxsize=64)
def _scales(chart: Chart, key_text: str) -> tuple[Scale | None, ...]:
    """Return the scale in use over each span's chord, None where it isn't known.

    Cached, as a loop repeats its parts.
    """
    # A drill never walks, so it doesn't wait for these.
    from drillbox.music.analysis.scales import SCALES
    from drillbox.music.analysis.whole import chord_facts
    from drillbox.music.heard import heard_chart

    heard = heard_chart(chart)
    if not key_text:
        return (None,) * len(heard.chords())
    return tuple(
        frozenset((chord.root.pitch_class + each) % 12 for each in SCALES[facts.pairing.scale])
        if chord and facts.pairing
        else None
        for chord, facts in zip(
            heard.chords(), chord_facts(heard, parse_key(key_text)), strict=True
        )
    )


def _lines(parts: Sequence[LoopPart], layout: Layout) -> Iterator[Event]:
    """Yield the parts' lines of one time through."""
    for part, start in zip(parts, layout.starts, strict=True):
        for at, length, pitch in _struck(part.line, -layout.count_in):
            if start + at + layout.count_in >= 0:  # a pickup may be longer than the count-in
                yield Event("line", start + at, length, pitch)


def _struck(line: Sequence[LineNote], earliest: Fraction) -> list[tuple[Fraction, Fraction, int]]:
    """Return onset, length and MIDI note of all notes of a line, grace notes in time.

    Grace notes come one after the other, each as short as a click or shorter, just before the
    note that they stand at: in the rest there, or at the end of the note before, which keeps half
    of its time. Where nothing is before, as on the first downbeat, they begin on the beat and
    take up to half of their note. Before a pickup there is room back to ``earliest``.
    """
    found: list[tuple[Fraction, Fraction, int]] = []
    for onset, group in groupby(line, key=lambda note: note.onset):
        together = list(group)
        graces = [note.pitch.midi for note in together if not note.length]
        notes = [note for note in together if note.length]
        wanted, room, begins, late = _CLICK_LENGTH * len(graces), _NO_TIME, onset, _NO_TIME
        if found:
            room = (onset - found[-1][0]) / 2
        elif onset:
            room = onset - (earliest if onset < 0 else 0)
        if graces and room > 0:
            taken = min(wanted, room)
            begins = onset - taken
            if found:
                before, length, pitch = found[-1]
                found[-1] = before, min(length, begins - before), pitch
        else:
            taken = late = min([wanted, *(note.length / 2 for note in notes)])
        each = taken / max(1, len(graces))
        found += [(begins + each * index, each, pitch) for index, pitch in enumerate(graces)]
        found += [(onset + late, note.length - late, note.pitch.midi) for note in notes]
    return found


def _chords(held: Sequence[Held]) -> Iterator[Event]:
    before: tuple[int, ...] = ()
    for each in held:
        if each.chord is None:
            continue
        before = voicing(each.chord, before)
        for pitch in before:
            yield Event("chord", each.start, each.length, pitch, Fraction(1, len(before)))
