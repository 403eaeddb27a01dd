"""Instruments: what they sound, and what their players read of a phrase, and the way back.

And a line's octave broken where it is wider than an instrument. The rule: each note stays where
it is or moves by whole octaves into the range. Of all ways that one is taken in which the fewest
intervals from note to note turn round (up becomes down or the other way), then the one with the
fewest breaks, then the one with the fewest notes moved, by as few octaves as can be. Common
practice among horn players: a line that runs out at the bottom goes on an octave up.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from drillbox.errors import BadInput
from drillbox.music.keys import USUAL, Key, Spelling, conventional_key
from drillbox.music.moving.transposition import (
    OCTAVE,
    Fit,
    Range,
    as_meant,
    as_players_write,
    phrase_to,
    strictly_moved,
)
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import (
    MAJOR_SCALE,
    NAME,
    UNISON,
    Interval,
    Name,
    Pitch,
    parse_name,
    parse_pitch,
)

# Where a row is from. Ranges are those of a capable player, not of a virtuoso.
_HANDOUT = "common practice; lowest notes as in music21.instrument"
_TABLES = "instrument tables of Abjad and music21, partly computed from the written range"
_RANGES = "common practice in orchestration"
_TUNING = "open strings and frets"


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument; ``above`` is how far its written notes stand above the sounding ones.

    ``sounding_range`` holds the lowest and highest sounding pitch, None where any will do.
    ``source`` says where the row is from.
    """

    name: str
    above: Interval = UNISON
    sounding_range: Range | None = None
    aliases: tuple[str, ...] = ()
    source: str = ""


CONCERT = Instrument("concert", aliases=("c", "none"), source="charts at concert pitch")

# name | other names | written above sounding | sounding range | source
_TABLE = f"""
flute           | fl                          | P1  | C4 D7   | {_TABLES}
clarinet        | cl                          | M2  | D3 Bb6  | {_TABLES}
bass clarinet   | bcl                         | M9  | Db2 F5  | {_RANGES}
soprano sax     | ss, soprano saxophone       | M2  | Ab3 Eb6 | {_HANDOUT}
alto sax        | as, alto saxophone          | M6  | Db3 A5  | {_TABLES}
tenor sax       | ts, tenor saxophone         | M9  | Ab2 E5  | {_TABLES}
baritone sax    | bs, bari, baritone saxophone | M13 | Db2 Ab4 | {_HANDOUT}
trumpet         | tp, tpt                     | M2  | E3 Bb5  | music21; written high C
cornet          | crt                         | M2  | E3 Bb5  | as the trumpet
flugelhorn      | flh                         | M2  | E3 Bb5  | as the trumpet
horn            | hn, french horn             | P5  | B1 F5   | written F#2 to C6
trombone        | tb, tbn                     | P1  | E2 Eb5  | {_TABLES}
violin          | vn, fiddle                  | P1  | G3 A7   | open string; {_RANGES}
viola           | va                          | P1  | C3 E6   | open string; {_RANGES}
cello           | vc, violoncello             | P1  | C2 A5   | open string; {_RANGES}
double bass     | b, bass, contrabass         | P8  | E1 G4   | {_TABLES}
bass guitar     | bg, electric bass           | P8  | E1 G4   | {_TUNING}: 24 on a G string
guitar          | g, gtr                      | P8  | E2 E6   | {_TUNING}: 24 on an E string
piano           | p, keyboard, keys           | P1  | A0 C8   | {_TABLES}
vibraphone      | vib, vibes                  | P1  | F3 F6   | three octaves, by its bars
"""

_PERFECT, _MAJOR = (1, 4, 5), (2, 3, 6, 7)
_CUSTOM = re.compile(r"(\S+?)[\s,:]+(\S+?)\s*(?:-|–|to|\s)\s*([A-G]\S+)")
_C = Name("C")


def _row(line: str) -> Instrument:
    name, aliases, above, ends, source = (part.strip() for part in line.split("|"))
    low, high = map(parse_pitch, ends.split())
    others = tuple(alias.strip() for alias in aliases.split(","))
    return Instrument(name, parse_interval(above), (low, high), others, source)


def parse_interval(text: str) -> Interval:
    """Read an interval such as ``M2``, ``m3``, ``P5``, ``M13`` or, downward, ``-P8``.

    Raise ValueError if it isn't one.
    """
    match = re.fullmatch(r"(-?)([MmP])([1-9]|1[0-9]|2[0-2])", text)
    steps = int(match[3]) - 1 if match else 0
    number = steps % 7 + 1
    if not match or number not in (_PERFECT if match[2] == "P" else _MAJOR):
        raise ValueError(f"{text!r} isn't an interval")
    semitones = MAJOR_SCALE[number - 1] + 12 * (steps // 7) - (match[2] == "m")
    interval = Interval(steps, semitones)
    return -interval if match[1] else interval


def find_instrument(name: str) -> Instrument:
    """Return the instrument of that name, or the one described as ``Bb E3-Bb5``.

    A name may be shortened: each word must begin a word of the instrument's. A description
    is what the written C sounds (``Bb``, ``Eb``, ``F``: within the octave below) or how far
    the written notes stand above the sounding ones (``M9``), then the sounding range. Its
    ``name`` finds it again. Raise BadInput, with near names, for anything else.
    """
    wanted = " ".join(name.lower().split())
    for instrument in INSTRUMENTS:
        if wanted in (instrument.name, *instrument.aliases):
            return instrument
    if match := _CUSTOM.fullmatch(name.strip()):
        return custom_instrument(match[1], match[2], match[3])
    found = [each for each in INSTRUMENTS if wanted and _begins(wanted, each)]
    if len(found) == 1:
        return found[0]
    near = [each.name for each in found] or _near(wanted)
    wrong = "may be several instruments" if found else "isn't a known instrument"
    raise BadInput(
        f"{name[:30]!r} {wrong}",
        f"Write one of {', '.join(near)}; or a transposition and the sounding range, such as "
        "Bb E3-Bb5.",
    )


def custom_instrument(transposition: str, low: str, high: str) -> Instrument:
    """Return an instrument by its transposition and the ends of its sounding range.

    Raise BadInput for what isn't a transposition, a pitch or a range.
    """
    try:
        named = NAME.fullmatch(transposition)
        above = (
            parse_name(transposition).interval_to(_C) if named else parse_interval(transposition)
        )
        ends = parse_pitch(low), parse_pitch(high)
    except ValueError as error:
        raise BadInput(
            f"No instrument: {error}",
            "Write what the written C sounds and the sounding range, such as Bb E3-Bb5.",
        ) from error
    if ends[1].midi - ends[0].midi < OCTAVE.semitones:
        raise BadInput(f"{low}-{high} isn't a range", "Use at least an octave, lowest note first.")
    return Instrument(f"{transposition} {low}-{high}", above, ends, source="the player")


def written_key(key: Key, instrument: Instrument, spelling: Spelling = USUAL) -> Key:
    """Return the key that the player reads when this key sounds, conventionally spelled."""
    if instrument.above.semitones % 12 == 0:
        return key
    return conventional_key(key.up(instrument.above), spelling)


def _begins(wanted: str, instrument: Instrument) -> bool:
    return any(
        all(any(each.startswith(word) for each in name.split()) for word in wanted.split())
        for name in (instrument.name, *instrument.aliases)
    )


def _near(wanted: str) -> list[str]:
    from difflib import get_close_matches  # only a refusal needs it

    names = [each.name for each in INSTRUMENTS]
    return get_close_matches(wanted[:30], names, n=3, cutoff=0.5) or names


INSTRUMENTS = (CONCERT, *map(_row, _TABLE.strip().splitlines()))


def at_concert_pitch(phrase: Phrase, instrument: Instrument, spelling: Spelling = USUAL) -> Phrase:
    """Return what sounds when a phrase that is written for an instrument is played on it.

    The key is spelled as players write it, and so are the chords where they read again as they
    were written when the key is moved back; others follow the key strictly, even as Fb7.
    """
    down = -instrument.above
    key, written = phrase.key, phrase
    if down.semitones % 12:
        key = conventional_key(key.up(down), spelling)
        phrase = as_meant(phrase)
    interval = phrase.key.interval_to(key).spanning(down.semitones)
    sounding = replace(strictly_moved(phrase, interval), key=key)
    return as_players_write(sounding, written) if down.semitones % 12 else sounding


class Break(NamedTuple):
    """From the note at ``onset`` on the line lies so many octaves higher than before."""

    onset: Fraction
    octaves: int


Breaks = tuple[tuple[Key, tuple[Break, ...]], ...]
"""Keys as the player reads them, each with the places where its line breaks the octave."""

Cost = tuple[int, int, int]
"""Intervals that turn round, breaks, octaves that notes are moved, all notes together."""


def range_fit(line: Sequence[LineNote], sounding_range: Range) -> Fit:
    """Return by how much a line, as it lies, sticks out of a range."""
    midis = [note.pitch.midi for note in line]
    if not midis:
        return Fit(0)
    low, high = (pitch.midi for pitch in sounding_range)
    return Fit(0, max(0, max(midis) - high), max(0, low - min(midis)))


def broken_to_fit(line: Sequence[LineNote], sounding_range: Range) -> tuple[LineNote, ...]:
    """Return the line with octaves broken so that it lies in the range.

    It comes back as it is where it fits, and where a note fits in no octave.
    """
    low, high = (pitch.midi for pitch in sounding_range)
    choices = [
        [octaves for octaves in range(-9, 10) if low <= note.pitch.midi + 12 * octaves <= high]
        for note in line
    ]
    if range_fit(line, sounding_range).fits or not all(choices):
        return tuple(line)
    ways: dict[int, tuple[Cost, tuple[int, ...]]] = {
        octaves: ((0, 0, abs(octaves)), (octaves,)) for octaves in choices[0]
    }
    for before, note, here in zip(line, line[1:], choices[1:], strict=False):
        step = note.pitch.midi - before.pitch.midi
        ways = {
            octaves: min(
                (_sum(cost, _cost(step, octaves - way[-1], octaves)), (*way, octaves))
                for cost, way in ways.values()
            )
            for octaves in here
        }
    _, best = min(ways.values())
    return tuple(_up(note, octaves) for note, octaves in zip(line, best, strict=True))


def breaks_between(plain: Sequence[LineNote], laid: Sequence[LineNote]) -> tuple[Break, ...]:
    """Return where a line as laid breaks the octaves of the plain one; none where it doesn't."""
    shifts = [
        (there.pitch.midi - here.pitch.midi) // 12 for here, there in zip(plain, laid, strict=False)
    ]
    return tuple(
        Break(note.onset, now - before)
        for note, before, now in zip(laid[1:], shifts, shifts[1:], strict=False)
        if now != before
    )


def breaks_anywhere(phrase: Phrase, lines: Iterable[Sequence[LineNote]]) -> bool:
    """Return whether a phrase's line, as laid in some of its keys, breaks an octave in one."""
    return any(breaks_between(phrase.line, line) for line in lines)


def laid(phrase: Phrase, key: Key, *, breaking: bool, sounding_range: Range | None) -> Phrase:
    """Return a phrase in a key for a range, its line's octaves broken where that is wanted."""
    there = phrase_to(phrase, key, sounding_range=sounding_range)
    if not (breaking and sounding_range):
        return there
    return replace(there, line=broken_to_fit(there.line, sounding_range))


def _cost(step: int, change: int, octaves: int) -> Cost:
    moved = step + 12 * change
    return int(_sign(moved) != _sign(step)), int(change != 0), abs(octaves)


def _sum(one: Cost, other: Cost) -> Cost:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def _sign(step: int) -> int:
    return (step > 0) - (step < 0)


def _up(note: LineNote, octaves: int) -> LineNote:
    return replace(note, pitch=Pitch(note.pitch.name, note.pitch.octave + octaves))
