"""Octaves broken so that a line lies in a range, with as much of its contour as can be kept."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.moving.octave_breaks import Break, breaks, broken, range_fit
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import Pitch, parse_name, parse_pitch

NAMES = [parse_name(name) for name in ("C", "D", "E", "F", "G", "A", "B", "Bb", "F#")]
PITCHES = st.builds(Pitch, st.sampled_from(NAMES), st.integers(2, 6))


def line(names: str) -> tuple[LineNote, ...]:
    """Return a line of quarter notes."""
    return tuple(
        LineNote(Fraction(at), Fraction(1), parse_pitch(name))
        for at, name in enumerate(names.split())
    )


def names(notes) -> str:
    return " ".join(note.pitch.text() for note in notes)


RANGE = parse_pitch("Ab2"), parse_pitch("E5")  # the tenor saxophone, as in the table of instruments


def test_a_line_that_runs_out_at_the_bottom_goes_on_an_octave_up():
    """A scale down past the tenor's lowest note: one break, at its turn, and one interval turns."""
    down = line("E3 D3 C3 Bb2 A2 G2 A2 Bb2 C3")
    found = broken(down, RANGE)
    assert range_fit(found, RANGE).fits
    assert names(found) == "E4 D4 C4 Bb3 A3 G3 A3 Bb3 C4"  # as it fits whole, nothing turns


def test_a_line_wider_than_the_range_breaks_where_least_turns_round():
    """A leap up takes the break: what rose an eleventh rises a fourth, and still rises."""
    wide = line("G2 A2 E5 D5 C5")
    found = broken(wide, (parse_pitch("G2"), parse_pitch("G4")))
    assert names(found) == "G2 A2 E4 D4 C4"
    assert breaks(wide, found) == (Break(Fraction(2), -1),)


def test_a_line_that_fits_stays():
    """So does one of which a note fits nowhere: there is nothing to break then."""
    fits = line("C4 E4 G4")
    assert broken(fits, RANGE) == fits
    narrow = parse_pitch("C4"), parse_pitch("E4")
    assert broken(line("C4 G4"), narrow) == line("C4 G4")
    assert breaks(fits, fits) == ()
    assert broken((), RANGE) == ()


def turned(notes, ways) -> tuple[int, int, int]:
    """Return what the rule counts, straight from its words."""
    midis = [note.pitch.midi for note in notes]
    moved = [midi + 12 * way for midi, way in zip(midis, ways, strict=True)]

    def sign(step: int) -> int:
        return (step > 0) - (step < 0)

    pairs = range(len(midis) - 1)
    turns = sum(sign(midis[n + 1] - midis[n]) != sign(moved[n + 1] - moved[n]) for n in pairs)
    return turns, sum(ways[n] != ways[n + 1] for n in pairs), sum(map(abs, ways))


@given(st.lists(PITCHES, min_size=1, max_size=5))
@settings(deadline=None, max_examples=200)
def test_no_other_way_keeps_more_of_the_contour(pitches: list[Pitch]):
    """Against all ways to move each note by up to four octaves, counted one by one."""
    notes = tuple(LineNote(Fraction(at), Fraction(1), pitch) for at, pitch in enumerate(pitches))
    low, high = parse_pitch("C3").midi, parse_pitch("F4").midi
    found = broken(notes, (parse_pitch("C3"), parse_pitch("F4")))
    assert all(low <= note.pitch.midi <= high for note in found)
    chosen = [
        (there.pitch.midi - here.pitch.midi) // 12 for here, there in zip(notes, found, strict=True)
    ]
    each = [
        [way for way in range(-4, 5) if low <= note.pitch.midi + 12 * way <= high] for note in notes
    ]
    best = min(turned(notes, ways) for ways in product(*each))
    if not range_fit(notes, (parse_pitch("C3"), parse_pitch("F4"))).fits:
        assert turned(notes, chosen) == best
