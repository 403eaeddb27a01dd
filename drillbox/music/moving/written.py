"""What an instrument's player reads of a phrase that sounds at concert pitch, and the way back."""

from __future__ import annotations

from dataclasses import replace

from drillbox.music.keys import USUAL, Key, Spelling, conventional
from drillbox.music.moving.instruments import Instrument
from drillbox.music.moving.meant import hidden, meant
from drillbox.music.moving.transposition import OCTAVE, respelled_in
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import Interval
from drillbox.music.roots import chord_up


def read_in(phrase: Phrase, key: Key) -> Phrase:
    """Return the phrase as it reads in a key: the written one, wherever it sounds.

    The names of the line's notes count, not their octaves. Give it the phrase as it came in,
    since respelling forgets the strict spelling.
    """
    if key == phrase.key:
        return phrase
    return respelled_in(phrase, key)


def at_concert_pitch(phrase: Phrase, instrument: Instrument, spelling: Spelling = USUAL) -> Phrase:
    """Return what sounds when a phrase that is written for an instrument is played on it.

    The key is spelled as players write it, and so are the chords where they read again as they
    were written when the key is moved back; others follow the key strictly, even as Fb7.
    """
    down = -instrument.above
    key = phrase.key
    if down.semitones % 12:
        key = conventional(Key(key.tonic.up(down), key.mode), spelling)
        phrase = meant(phrase)
    interval = _exactly(phrase.key.interval_to(key), down.semitones)
    chart = phrase.chart.with_chords(
        chord_up(chord, interval) if chord else None for chord in phrase.chart.chords()
    )
    line = tuple(replace(note, pitch=note.pitch.up(interval)) for note in phrase.line)
    sounding = replace(phrase, key=key, chart=chart, line=line)
    return hidden(sounding) if down.semitones % 12 else sounding


def _exactly(interval: Interval, semitones: int) -> Interval:
    """Return the interval in the octave in which it spans so many semitones."""
    octaves = (semitones - interval.semitones) // 12
    return interval + Interval(OCTAVE.steps * octaves, OCTAVE.semitones * octaves)
