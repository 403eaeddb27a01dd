"""Standard MIDI Files read: the notes of an attempt, in seconds."""

from __future__ import annotations

import io
from collections import defaultdict
from typing import Any

from drillbox.errors import BadInput
from drillbox.hearing.takes import MOST, Played

_DRUMS = 9
_REMEDY = "Save the attempt as a Standard MIDI File"
LARGEST = 1_000_000
"""Bytes of one file: so many notes with bends and breath all along come to less."""


def read_midi(data: bytes) -> tuple[Played, ...]:
    """Return every note but the drums', in order of beginning; times by the file's own tempi.

    Raises BadInput for what isn't a MIDI file, counts time in frames of film, or has no notes
    or too many.
    """
    from mido import MidiFile

    if len(data) > LARGEST:
        raise BadInput("The MIDI file is too large to be one attempt", "Cut it to the attempt.")
    try:
        file = MidiFile(file=io.BytesIO(data), clip=True)
        if file.type == 2:  # format 2: independent songs
            raise BadInput("That MIDI file holds several songs (format 2)", _REMEDY)
        if file.ticks_per_beat <= 0:
            raise BadInput("That MIDI file doesn't count its time in beats", _REMEDY)
        notes = _notes(list(file))
    except (OSError, ValueError, EOFError, IndexError, KeyError, TypeError) as problem:
        why = str(problem) or "cut short"
        raise BadInput(f"That isn't a MIDI file ({why})", _REMEDY) from problem
    if not notes:
        raise BadInput("The MIDI file has no notes", "Record the attempt again.")
    if len(notes) > MOST:
        raise BadInput(f"The MIDI file has more than {MOST} notes", "Cut it to the attempt.")
    return notes


def _notes(messages: list[Any]) -> tuple[Played, ...]:
    """Pair each note's beginning with its end; one never ended ends where the file does."""
    now, notes = 0.0, []
    open_at: dict[tuple[int, int], list[float]] = defaultdict(list)
    for message in messages:
        now += message.time
        if message.type not in {"note_on", "note_off"} or message.channel == _DRUMS:
            continue
        started = open_at[message.channel, message.note]
        if message.type == "note_on" and message.velocity:
            started.append(now)
        elif started:
            notes.append(Played(started.pop(0), now, message.note))
    notes += [Played(at, now, note) for (_, note), left in open_at.items() for at in left]
    return tuple(sorted(notes, key=lambda note: (note.start, note.pitch)))
