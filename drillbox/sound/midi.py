"""Practice loops as Standard MIDI Files, format 1."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from drillbox.music.keys import parse_key
from drillbox.music.symbols.printed import symbol_text
from drillbox.sound.loop_parts import Layout, LoopOptions, LoopPart
from drillbox.sound.patterns import Event, loop_events
from drillbox.tick import Tick, silent, stage

TICKS = 960
"""Ticks a quarter note: divides by every beat, triplet and quintuplet that a chart can hold."""

# Programs and percussion keys of General MIDI level 1, counted from 0.
_ACOUSTIC_BASS, _ELECTRIC_PIANO, _VIBRAPHONE = 32, 4, 11
_HIGH_WOOD_BLOCK, _LOW_WOOD_BLOCK = 76, 77
_DRUMS = 9
_STRENGTHS = {"accent": 110, "plain": 80, "bass": 90, "chord": 64, "line": 100}
_CLICK_KEYS = {"accent": _HIGH_WOOD_BLOCK, "plain": _LOW_WOOD_BLOCK}
_TRACKS = (
    ("Click", _DRUMS, None, ("accent", "plain")),
    ("Bass", 0, _ACOUSTIC_BASS, ("bass",)),
    ("Chords", 1, _ELECTRIC_PIANO, ("chord",)),
    ("Line", 2, _VIBRAPHONE, ("line",)),
)

Timed = tuple[int, int, Any]
"""Tick, rank among messages of one tick (lower goes first), message."""


def render_midi(parts: Sequence[LoopPart], options: LoopOptions, tick: Tick = silent) -> bytes:
    """Return the loop as a MIDI file: a track of facts, then click, bass, chords and any line.

    The first track has tempo, meter, keys, a marker at each part, its cues a bar ahead, and the
    chord symbols as text. Every track ends where the last bar ends. ``tick`` hears how far it has
    come. Raises as ``lay_out`` does.
    """
    from mido import MidiFile

    stages = len(_TRACKS) + 1
    layout, sounding = loop_events(parts, options, tick=stage(tick, 0, stages))
    file = MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    end = _tick(layout.total)
    file.tracks.append(_track(_facts(parts, layout, options), end))
    for number, (name, channel, program, voices) in enumerate(_TRACKS, start=1):
        mine = [each for each in sounding if each.voice in voices]
        if name == "Line" and not mine:
            continue
        played = _played(name, channel, program, mine, end, stage(tick, number, stages))
        file.tracks.append(_track(played, end))
    data = io.BytesIO()
    file.save(file=data)
    tick(1000, 1000)
    return data.getvalue()


def _facts(parts: Sequence[LoopPart], layout: Layout, options: LoopOptions) -> list[Timed]:
    from mido import MetaMessage, bpm2tempo

    meter = layout.pulse.meter
    signature = MetaMessage("time_signature", numerator=meter.beats, denominator=meter.unit)
    found: list[Timed] = [
        (0, 0, MetaMessage("track_name", name=parts[0].title or "drillbox")),
        (0, 1, MetaMessage("set_tempo", tempo=bpm2tempo(options.tempo))),
        (0, 2, signature),
        (0, 4, MetaMessage("marker", text="count-in")),
    ]
    found += _signature(0, parts[0].key_text)
    key = parts[0].key_text
    times: Counter[str] = Counter()
    for loop in range(options.loops):
        shift = layout.count_in + loop * layout.once
        for start, part in zip(layout.starts, parts, strict=True):
            if not part.mark:
                times[part.key_text] += 1
            found.append((_tick(shift + start), 4, _marker(part, times[part.key_text])))
            found += _cues(part, shift + start, meter.bar)
            if part.key_text != key:
                key = part.key_text
                found += _signature(_tick(shift + start), key)
        for each in layout.held:
            text = MetaMessage("text", text=symbol_text(each.chord))
            found.append((_tick(shift + each.start), 5, text))
    return found


def _cues(part: LoopPart, begins: Fraction, bar: Fraction) -> list[Timed]:
    """Return the part's cues, each a bar ahead of its place."""
    from mido import MetaMessage

    return [
        (_tick(max(Fraction(0), begins + at - bar)), 4, MetaMessage("cue_marker", text=text))
        for at, text in part.cues
    ]


def _marker(part: LoopPart, time: int) -> Any:
    from mido import MetaMessage

    return MetaMessage("marker", text=f"{part.key_text} {part.mark or f'loop {time}'}".strip())


def _signature(tick: int, key_text: str) -> list[Timed]:
    """Return the key signature, or nothing where no key is known.

    The format knows major and minor only: a church mode has the signature of the major key with
    its accidentals.
    """
    from mido import MetaMessage

    if not key_text:
        return []
    key = parse_key(key_text)
    name = key.signed_like.text() if key.church else key_text
    return [(tick, 3, MetaMessage("key_signature", key=name))]


def _played(
    name: str,
    channel: int,
    program: int | None,
    sounding: Sequence[Event],
    end: int,
    tick: Tick,
) -> list[Timed]:
    """Return a track's messages; what would sound on after ``end`` stops there."""
    from mido import Message, MetaMessage

    found: list[Timed] = [(0, 0, MetaMessage("track_name", name=name))]
    if program is not None:
        found.append((0, 1, Message("program_change", channel=channel, program=program)))
    for index, each in enumerate(sounding):
        tick(index, len(sounding))
        note = _CLICK_KEYS.get(each.voice, each.pitch)
        start = _tick(each.start)
        stop = min(end, max(start + 1, _tick(each.start + each.length)))
        strength = _STRENGTHS[each.voice]
        on = Message("note_on", channel=channel, note=note, velocity=strength)
        # A note ends before the next one begins on the same tick, or it would end that one.
        found.append((stop, 2, Message("note_off", channel=channel, note=note, velocity=0)))
        found.append((start, 3, on))
    return found


def _track(timed: Iterable[Timed], end: int) -> Any:
    """Return a track of messages with the times between them, ending on tick ``end``."""
    from mido import MetaMessage, MidiTrack

    track, at = MidiTrack(), 0
    for tick, _, message in sorted(timed, key=lambda each: each[:2]):
        track.append(message.copy(time=tick - at))
        at = tick
    track.append(MetaMessage("end_of_track", time=end - at))
    return track


def _tick(quarters: Fraction) -> int:
    return round(quarters * TICKS)
