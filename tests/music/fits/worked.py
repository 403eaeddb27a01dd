"""Invented phrases and tunes, and by hand, before there was a matcher, where which one fits.

The first run of the matcher missed none of these 70 places and 9 parts, and offered four places
more, which the hand had overlooked: they are marked "overlooked". Two parts then gave way to them.

A place is ``phrase bar key kind``; a bar such as 7.3 says the beat. The phrases stand in C or
C minor (``vamp`` in D minor). ``long`` and ``minor`` have a line, whose notes on the beats are
5 9 b3 b7 | 3 b7 1 13 | 3 9 and b3 b5 b7 1 | 3 b9 b7 5 | b3 5; the others are charts alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form


def line(words: str) -> tuple[LineNote, ...]:
    """Return a line of eighths, one after another; ``E4:4`` lasts four of them."""
    notes, at = [], Fraction(0)
    for word in words.split():
        pitch, _, eighths = word.partition(":")
        length = Fraction(int(eighths or 1), 2)
        notes.append(LineNote(at, length, parse_pitch(pitch)))
        at += length
    return tuple(notes)


def phrase(title: str, key: str, chart: str, notes: str = "", *, double: bool = False) -> Phrase:
    """Return a phrase in 4/4."""
    read = parse_chart(chart, parse_meter("4/4"))
    return Phrase(title, parse_key(key), 160, read, line(notes), double)


PHRASES = (
    phrase(
        "long", "C", "Dm7 | G7 | Cmaj7 | %",
        "A4 F4 E4 G4 F4 D4 C4 A3 B3 D4 F4 A4 G4 F4 E4 D4 E4:4 D4:4",
    ),
    phrase("short", "C", "Dm7 G7 | Cmaj7 (A7)"),
    phrase(
        "minor", "Cm", "Dm7b5 | G7b9 | Cm6 | %",
        "F4 G4 Ab4 Bb4 C5 Ab4 D4 C4 B3 C4 Ab4 G4 F4 Eb4 D4 F4 Eb4:4 G4:4",
    ),
    phrase("turn", "C", "Cmaj7 A7 | Dm7 G7"),
    phrase("cycle", "C", "D7 | % | G7 | %"),
    phrase("vamp", "Dm", "Dm7 | % | % | %"),
)  # fmt: skip

# A line that goes on over its turnaround: 6 3 and 5 over Cmaj7 are A E and G.
OVER_TURNAROUND = phrase(
    "on", "C", "Dm7 G7 | Cmaj7 (A7)", "D4 F4 A4 C5 B4 A4 G4 F4 E4 G4 B4 G4 A4 B4 G4 E4"
)


@dataclass(frozen=True, slots=True)
class Worked:
    """A tune and the places in it, those for the beginning or end of a phrase in ``parts``."""

    tune: Tune
    places: frozenset[str]
    parts: frozenset[str] | None = None


def worked(
    title: str, key: str, chart: str, places: str, *,
    parts: str | None = None, meter: str = "4/4", form: str = "",
) -> Worked:  # fmt: skip
    """Return a worked tune; places are parted by semicolons."""
    read = parse_chart(chart, parse_meter(meter))
    tune = Tune(title, parse_key(key), 120, read, parse_form(form, len(read.bars)))
    return Worked(tune, _places(places), None if parts is None else _places(parts))


def _places(text: str) -> frozenset[str]:
    return frozenset(" ".join(each.split()) for each in text.split(";") if each.strip())


WORKED = (
    worked(
        "Plain cadences", "Eb",
        "Ebmaj7 | % | Fm7 | Bb7 | Ebmaj7 | C7 | Fm7 Bb7 | Ebmaj7",
        "long 3 Eb exact; long 7 Eb double time; short 7 Eb exact; short 3 Eb half time;"
        "minor 3 Ebm minor for major",
    ),
    worked(
        # Bar 7 is the trap: for a major cadence its Gm7 is no i, but the ii of C7.
        "Home and on to IV7", "G",
        "Am7 | D7 | Gmaj7 | C7 | Am7 | D7 | Gm7 | C7",
        "long 1 G exact; minor 1 Gm minor for major; short 1 G half time; minor 5 Gm ii and iiø",
    ),
    worked(
        # Bars 9-12 are the trap: a minor ii-V with a major I is no place for the minor phrase.
        "Minor with a major I", "Gm",
        "Gm6 | Am7b5 D7b9 | Gm6 | % | Cm7 | F7 | Bbmaj7 | % |"
        "Am7b5 | D7b9 | Gmaj7 | % | Am7b5 | D7 | Gm7 | Am7b5 D7",
        "long 5 Bb exact; long 9 G ii and iiø; long 13 G minor for major; short 5 Bb half time;"
        "minor 2 Gm double time; minor 16 Gm double time; minor 13 Gm tensions;"
        "minor 5 Bbm minor for major;"
        "short 10 G V and ii-V",  # overlooked
    ),
    worked(
        # Dominants that never come home: nothing that ends on a major seventh belongs here.
        "Bridge of dominants", "F",
        "A7 | % | D7 | % | G7 | % | C7 | Gm7 C7",
        "cycle 1 G exact; cycle 3 C exact; cycle 6 F double time",
    ),
    worked(
        # I7 is no I, so the cadences of a blues take no phrase that ends on a major seventh.
        "Blues", "F",
        "F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | Am7b5 D7 | Gm7 | C7 | F7 D7 | Gm7 C7",
        "minor 8 Gm double time; cycle 1 Eb double time",
    ),
    worked(
        "Two chords a bar", "Ab",
        "Abmaj7 F7 | Bbm7 Eb7 | Cm7 F7 | Bbm7 Eb7 | Abmaj7 | Bbm7 Eb7 | Abmaj7 Db7 | Abmaj7",
        "turn 1 Ab exact; turn 3 Ab iii or vi for I; short 4 Ab exact;"
        "short 2 Ab iii or vi for I; short 6 Ab exact; long 4 Ab double time;"
        "long 6 Ab double time",
    ),
    worked(
        "Substitutes", "F",
        "Fmaj7 | Gm7 | Gb7 | Fmaj7 | Bbm7 | Eb7 | Fmaj7 | D7 | Gm7 Gb7 | Fmaj7 | Gm7 C7 | Fmaj7",
        "long 2 F tritone substitute; long 5 F backdoor; long 11 F double time;"
        "short 9 F tritone substitute; short 11 F exact",
    ),
    worked(
        # Bars 2 and 5-6 are traps: what follows is the ii of the next key, not a iii.
        "On to the next key", "D",
        "Dmaj7 | Em7 A7 | F#m7 B7 | Emaj7 | Am7 | D7 | Bm7 E7 | Amaj7 | Em7 | A7 |"
        "Cm7 F7 | Bbmaj7",
        "short 3 E exact; short 7 A exact; short 11 Bb exact; long 3 E double time;"
        "long 7 A double time; long 11 Bb double time",
        parts="long 5 G beginning; long 9 D beginning; short 2 D beginning; turn 2 D end;"
        "turn 3 E end; turn 7 A end; turn 11 Bb end",
    ),
    worked(
        # Bars 2-4 and 5-7 have the roots of a ii-V-I and are none.
        "Same roots, other function", "G",
        "Gmaj7 | A7 | D7 | Gmaj7 | Am7 | D7 | G7 | Cmaj7 | Am6 | D7 | Gmaj7 | Amaj7 Dmaj7",
        "long 9 G tensions; short 9 G half time; minor 9 Gm minor for major;"
        "cycle 2 G double time; cycle 6 C double time;"
        "short 3 G V and ii-V; short 7 C V and ii-V",  # overlooked
        parts="long 5 G beginning; long 3 G end; long 7 C end",
    ),
    worked(
        "Modal", "Dm",
        "Dm7 | % | % | % | % | % | Em7 | A7 | Dm7 | Dm9 | Dm7 | % | Gm7 | % | % | %",
        "vamp 1 Dm exact; vamp 9 Dm tensions; vamp 13 Gm exact; minor 7 Dm ii and iiø",
    ),
    worked(
        # The last bar's diminished chord keeps a note and leads nowhere.
        "Diminished", "Bb",
        "Bbmaj7 | Gm7 | Cm7 | Adim7 | Bbmaj7 | G7 | Cm7 Adim7 | Bbmaj7 | Cm7 | Ebdim7 |"
        "Bbmaj7 | Dbdim7",
        "long 3 Bb diminished for V; long 9 Bb diminished for V; short 7 Bb diminished for V",
    ),
    worked(
        "One chord for two", "A",
        "Amaj7 | E7 | % | Amaj7 | E9sus4 | E7 | Amaj7 | Bm7 | E7 | Amaj7 | E7 | Amaj7",
        "long 2 A V and ii-V; long 5 A V and ii-V; long 8 A exact; short 8 A half time;"
        "short 11 A V and ii-V; short 3 A V and ii-V; short 6 A V and ii-V;"
        "minor 8 Am minor for major",
    ),
    worked("Waltz", "F", "Fmaj7 | Gm7 | C7 | Fmaj7 | Gm7 | C7 | Fmaj7 | C7", "", meter="3/4"),
    worked(
        "Off the bar line", "Db",
        "Dbmaj7 Ebm7 | Ab7 Dbmaj7 | Dbmaj7 / Ebm7 Ab7 | Dbmaj7 | Ebm7 / / Ab7 | Dbmaj7 |"
        "Bbm7 / / Ebm7 | Ab7",
        "short 1.3 Db exact; short 3.3 Db double time; short 8 Db V and ii-V;"
        "long 1.3 Db double time;"
        "short 5.3 Db double time",  # overlooked
    ),
    worked(
        # The chorus is bars 3-10: its end leads back to bar 3, and on to the coda once.
        "Intro and coda", "Eb",
        "Bb7sus4 | % | Ebmaj7 | Fm7 Bb7 | Gm7 C7 | Fm7 Bb7 | Ebmaj7 | Abmaj7 | Fm7 | Bb7 |"
        "Fm7 E7 | Ebmaj7",
        "long 9 Eb exact; long 1 Eb V and ii-V; long 6 Eb double time;"
        "short 4 Eb iii or vi for I; short 6 Eb exact; short 9 Eb half time;"
        "short 2 Eb V and ii-V; short 11 Eb tritone substitute; turn 5 Eb iii or vi for I;"
        "minor 9 Ebm minor for major",
        form="intro2 A8 coda2",
    ),
)  # fmt: skip
