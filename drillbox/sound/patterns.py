"""Everything that sounds in a practice loop, as one list of events."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from drillbox.music.pulse import clicked
from drillbox.sound.bass import Note, bass_step, plain_bass, walking_bass
from drillbox.sound.loops import Held, Layout, LoopOptions, LoopPart, lay_out
from drillbox.sound.voicings import voicing

Voice = Literal["accent", "plain", "bass", "chord"]
_CLICK_LENGTH = Fraction(1, 8)


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


def events(parts: Sequence[LoopPart], options: LoopOptions) -> tuple[Layout, list[Event]]:
    """Return where the parts lie, and all events in order of time; every loop sounds the same.

    Raises as ``lay_out`` does.
    """
    layout = lay_out(parts, options)
    once = list(_once(layout, options))
    found = list(_clicks(layout, options))
    for loop in range(options.loops):
        shift = layout.count_in + loop * layout.once
        found += [
            Event(each.voice, each.start + shift, each.length, each.pitch, each.share)
            for each in once
        ]
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


def _once(layout: Layout, options: LoopOptions) -> Iterator[Event]:
    """Yield bass and chords of one time through, from 0."""
    for note in _bass(layout, options):
        yield Event("bass", note.start, note.length, note.pitch)
    if options.chords:
        yield from _chords(layout.held)


def _bass(layout: Layout, options: LoopOptions) -> list[Note]:
    meter, halving = layout.pulse.meter, 2 if options.doubled else 1
    if options.bass == "plain":
        return plain_bass(layout.held, bass_step(meter) / halving)
    if options.bass == "walking":
        return walking_bass(layout.held, meter.beat / halving)
    return []


def _chords(held: Sequence[Held]) -> Iterator[Event]:
    before: tuple[int, ...] = ()
    for each in held:
        if each.chord is None:
            continue
        before = voicing(each.chord, before)
        for pitch in before:
            yield Event("chord", each.start, each.length, pitch, Fraction(1, len(before)))
